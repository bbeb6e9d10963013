"""Attached files: photos, sheets, receipts, each on an engine, build, inspection or session."""

from __future__ import annotations

import mimetypes
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from logbook.cases.builds import build_of
from logbook.cases.by_id import by_id
from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of
from logbook.cases.fields import LONGEST_NOTE, LONGEST_WORD
from logbook.cases.inspections import inspection_of
from logbook.cases.sessions import session_of
from logbook.plain import plain
from logbook.records.attachment import Attachment
from logbook.records.engine import Build, Engine
from logbook.records.ids import new_id
from logbook.records.inspection import Inspection
from logbook.records.session import Session
from logbook.refusals import BadInput
from logbook.store import attached
from logbook.store.labels import called_in
from logbook.store.reader import Reader

# What files begin with; a name may say anything.
_BEGINNINGS = (
    (b"\xff\xd8\xff", "image/jpeg"),
    (b"\x89PNG\r\n\x1a\n", "image/png"),
    (b"GIF8", "image/gif"),
    (b"%PDF-", "application/pdf"),
)
_UNKNOWN = "application/octet-stream"


@dataclass(frozen=True, slots=True)
class Owner:
    """What a file belongs to: an engine alone, its build, a session, or an inspection."""

    engine: str | None = None
    build: str | None = None
    session: str | None = None
    inspection: str | None = None


@dataclass(frozen=True, slots=True)
class AttachedView:
    """An attached file, what it belongs to in words, and whether it stands in its folder."""

    attachment: Attachment
    of: str
    path: Path
    there: bool


def attach(desk: Desk, file: Path, owner: Owner, *, name: str = "", note: str = "") -> AttachedView:
    """Keep a file beside the book and name it on what it belongs to.

    `name` is shown and searched, else the file's own. Raises `BadFile` where it cannot be read.
    """
    shown = " ".join(plain(name or file.name).split())
    if not shown or len(shown) > LONGEST_WORD:
        raise BadInput(f"{shown[:40]!r} is not usable as a name", where="Name",
                       wanted=f"at most {LONGEST_WORD} characters")  # fmt: skip
    if len(note) > LONGEST_NOTE:
        raise BadInput("too long for a note", where="Note")
    with desk.book.reading() as read:
        _owner(read, owner)  # refused before anything is copied
    file = file.expanduser()
    sha256, size = attached.keep(desk.book.path, file)
    with desk.book.changing(who=desk.who, what=f"{shown} attached") as change:
        attachment = Attachment(
            id=new_id(),
            name=shown,
            sha256=sha256,
            size_bytes=size,
            media_type=_media_type(attached.place_of(desk.book.path, sha256), shown),
            attached_at=desk.timestamp(),
            notes=note.strip(),
            **_owner(change, owner),
        )
        change.insert(attachment)
        return _view(change, desk, attachment)


def _owner(read: Reader, owner: Owner) -> dict[str, Any]:
    """The one reference that names what a file belongs to."""
    if owner.inspection is not None:
        return {"inspection_id": inspection_of(read, owner.inspection).id}
    if owner.session is not None:
        return {"session_id": session_of(read, owner.session, tag=owner.engine).id}
    if owner.engine is None:
        raise BadInput("nothing was named that it belongs to", where="Attached file",
                       wanted="an engine, a build, a session or an inspection")  # fmt: skip
    engine = engine_of(read, owner.engine)
    if owner.build is not None:
        return {"build_id": build_of(read, engine, owner.build).id}
    return {"engine_id": engine.id}


def _media_type(kept: Path, name: str) -> str:
    with kept.open("rb") as file:
        head = file.read(16)
    for beginning, media_type in _BEGINNINGS:
        if head.startswith(beginning):
            return media_type
    return mimetypes.guess_type(name)[0] or _UNKNOWN


def list_attached(desk: Desk, tag: str) -> list[AttachedView]:
    """Everything attached to an engine, its builds, inspections and sessions, newest first."""
    with desk.book.reading() as read:
        engine = engine_of(read, tag)
        owned: list[dict[str, Any]] = [
            {"engine_id": {engine.id}},
            {"build_id": {one.id for one in read.where(Build, engine_id=engine.id)}},
            {"inspection_id": {one.id for one in read.where(Inspection, engine_id=engine.id)}},
            {"session_id": {one.id for one in read.where(Session, engine_id=engine.id)}},
        ]
        found = [one for ids in owned for one in read.where(Attachment, **ids)]
        found.sort(key=lambda one: (one.attached_at, one.id), reverse=True)
        return [_view(read, desk, one) for one in found]


def save_attached(desk: Desk, attachment_id: str, target: Path) -> AttachedView:
    """Write an attached file out, byte for byte, under a new name (or into a folder, under its
    own). An existing file is never written over."""
    with desk.book.reading() as read:
        attachment = attachment_of(read, attachment_id)
        view = _view(read, desk, attachment)
    target = target.expanduser()
    if target.is_dir():
        target = target / safe_name(attachment.name)
    attached.save_as(desk.book.path, attachment.sha256, target)
    return view


def safe_name(name: str) -> str:
    """A name that is one file in one folder, whatever somebody called it."""
    kept = "".join("_" if sign in '/\\:*?"<>|' or not sign.isprintable() else sign for sign in name)
    return kept.strip(". ")[:100] or "file"


def detach(desk: Desk, attachment_id: str, *, why: str = "") -> Attachment:
    """Take an attached file off its record. The file stays, so that this can be taken back."""
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        attachment = attachment_of(change, attachment_id)
        change.withdraw(Attachment, attachment.id)
        change.what = f"{attachment.name} no longer attached"
    return attachment


def attachment_of(read: Reader, text: str) -> Attachment:
    """The attached file whose id begins so. Raises `NotFound`."""
    return by_id(read, Attachment, text, listed_by="attached list")


def _view(read: Reader, desk: Desk, one: Attachment) -> AttachedView:
    path = attached.place_of(desk.book.path, one.sha256)
    owners = (
        (Engine, one.engine_id), (Build, one.build_id),
        (Inspection, one.inspection_id), (Session, one.session_id),
    )  # fmt: skip
    of = next(called_in(read, record, owner) for record, owner in owners if owner is not None)
    return AttachedView(one, of, path, path.is_file())
