"""The files that pulls were taken from: how they are kept, and the one way to read their bytes.

A file is kept as it is, compressed, or as its outline (see `outline`), where the trace taken from
it says its numbers. Then it is only ever read through the hash that it came with.
"""

from __future__ import annotations

import hashlib
import sqlite3
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from logbook.store import codec, packed
from logbook.store.outline import written
from logbook.store.printing import StoredChannel

# Of 300 × 12 noisy samples 0.39 stays, of 0.36 at level 6, which takes four times as long.
_LEVEL = 4
# No copy is as small as this share of the file, but of tables in which nothing happens.
_SURELY_SMALLER = 16


@dataclass(frozen=True, slots=True)
class Kept:
    """A file as the book keeps it: a copy, or the outline over the trace of the pull named."""

    id: str
    name: str
    sha256: str
    size: int
    content: bytes
    trace_pull_id: str | None

    @classmethod
    def of(cls, row: Mapping[str, Any]) -> Kept:
        """What a row of `sources` says; that of an older book knows of no outlines."""
        return cls(
            row["id"], row["name"], row["sha256"], row["size_bytes"], row["content_zlib"],
            row.get("trace_pull_id"),
        )  # fmt: skip


def kept(db: sqlite3.Connection, source_id: str | None = None) -> Iterator[Kept]:
    """Every file of the book, also of an older one, or the one of this id."""
    where, ids = ("", ()) if source_id is None else (" WHERE id = ?", (source_id,))
    cursor = db.execute(f"SELECT * FROM sources{where} ORDER BY id", ids)
    names = [column[0] for column in cursor.description]
    for row in cursor:
        yield Kept.of(dict(zip(names, row, strict=True)))


def channels_of(db: sqlite3.Connection, pull_id: str | None) -> list[StoredChannel]:
    """The channels of a trace as they are stored; none where a file needs none."""
    if pull_id is None:
        return []
    rows = db.execute(
        "SELECT base, width, digits, listed, decimals FROM channels WHERE pull_id = ?"
        " ORDER BY position",
        (pull_id,),
    )
    return [(codec.Stored(*stored), decimals) for *stored, decimals in rows]


def content_of(kept: Kept, channels: Sequence[StoredChannel]) -> bytes:
    """The bytes of a file; `channels` are those of its trace, if it has one.

    Raises ``ValueError`` where they cannot be had, or are not those that came in.
    """
    if kept.trace_pull_id is None:
        try:
            return packed.unpacked(kept.content, kept.size)
        except zlib.error as error:
            raise ValueError(str(error)) from error
    packed.check_size(kept.size)
    try:
        content = written(kept.content, channels, kept.size)
        if hashlib.sha256(content).hexdigest() != kept.sha256:
            raise ValueError("it does not have the hash that the file was stored with")
    except ValueError as error:
        raise ValueError(
            f"its numbers are those of the trace of pull {kept.trace_pull_id}: {error}"
        ) from error
    return content


def check(kept: Kept, channels: Sequence[StoredChannel]) -> None:
    """Raise ``ValueError`` unless the file's bytes can be had and have their hash."""
    if kept.trace_pull_id is not None:
        content_of(kept, channels)
        return
    try:
        digest = packed.measured(kept.content, kept.size)
    except (zlib.error, ValueError) as error:
        raise ValueError(f"it cannot be unpacked ({error})") from error
    if digest != kept.sha256:
        raise ValueError("its bytes do not have the hash they were stored with")


def copy_of(content: bytes) -> bytes:
    """A file's bytes as a copy of them is kept."""
    return zlib.compress(content, _LEVEL)


def outline_or_copy(
    content: bytes, sha256: str, channels: Sequence[StoredChannel]
) -> tuple[bytes, bool]:
    """What is kept of a file with that trace: whichever is smaller, and whether the outline is."""
    from logbook.store.outlining import outline_of  # no start of the app waits for it

    outline = None
    if hashlib.sha256(content).hexdigest() == sha256:
        outline = outline_of(content, channels)
    if outline is not None and _SURELY_SMALLER * len(outline) < len(content):
        return outline, True
    copy = copy_of(content)
    return (copy, False) if outline is None or len(copy) <= len(outline) else (outline, True)


def outline_kept(db: sqlite3.Connection, source_id: str, content: bytes, pull_id: str,
                 channels: Sequence[StoredChannel]) -> bool:  # fmt: skip
    """Let the outline take the place of a file's copy where it is smaller; gives whether it did.

    `content` are the file's bytes; the pull is one of this file, and its trace is in the book.
    """
    from logbook.store.outlining import outline_of

    sha256, size, before = db.execute(
        "SELECT sha256, length(content_zlib), trace_pull_id FROM sources WHERE id = ?",
        (source_id,),
    ).fetchone()
    if before is not None or hashlib.sha256(content).hexdigest() != sha256:
        return False
    outline = outline_of(content, channels)
    if outline is None or len(outline) >= size:
        return False
    db.execute(
        "UPDATE sources SET content_zlib = ?, trace_pull_id = ? WHERE id = ?",
        (outline, pull_id, source_id),
    )
    return True


def columns_for(
    db: sqlite3.Connection, source_id: str, sha256: str, content: bytes
) -> dict[str, bytes | str]:
    """The columns that keep a file, its pulls and their traces being in the book already."""
    pull_id = _only_pull(db, source_id) if _knows_outlines(db) else None
    kept_as, outlined = outline_or_copy(content, sha256, channels_of(db, pull_id))
    told: dict[str, bytes | str] = {"content_zlib": kept_as}
    if outlined and pull_id is not None:
        told["trace_pull_id"] = pull_id
    return told


def _knows_outlines(db: sqlite3.Connection) -> bool:
    return any(row[1] == "trace_pull_id" for row in db.execute("PRAGMA table_info(sources)"))


def _only_pull(db: sqlite3.Connection, source_id: str) -> str | None:
    """The pull that has a trace of this file, where there is one only."""
    rows = db.execute(
        "SELECT p.id FROM pulls p JOIN traces t ON t.pull_id = p.id WHERE p.source_id = ? LIMIT 2",
        (source_id,),
    ).fetchall()
    return str(rows[0][0]) if len(rows) == 1 else None


def outline_again(db: sqlite3.Connection, source_id: str, pull_id: str) -> None:
    """Outline a copy over the trace of a pull, if the book has one."""
    for one in kept(db, source_id):
        outline_kept(db, source_id, content_of(one, []), pull_id, channels_of(db, pull_id))


def outline_all(db: sqlite3.Connection) -> None:
    """Outline every copy that is the source of one pull, over the trace of that."""
    for (source_id,) in db.execute("SELECT id FROM sources WHERE trace_pull_id IS NULL").fetchall():
        pull_id = _only_pull(db, source_id)
        if pull_id is not None:
            outline_again(db, source_id, pull_id)
