"""Typed but unsaved forms, kept outside the book so that they survive a kill.

A draft is one small JSON file. It is written beside its place, synced and renamed, so that
at any moment the file is either the old draft or the new one.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import threading
from collections.abc import Mapping
from pathlib import Path

from logbook.refusals import BadFile, BookTrouble

_UNSAFE = re.compile(r"[^A-Za-z0-9_-]+")


class Drafts:
    """The drafts in one folder, by key.

    Parameters
    ----------
    folder : made when the first draft is saved.
    book : whose drafts; those of other books in the same folder are other ones.
    """

    def __init__(self, folder: Path, book: Path | None = None) -> None:
        self._folder = folder
        self._book = "" if book is None else f"{book.absolute()}\n"

    def of(self, book: Path) -> Drafts:
        """The drafts of another book."""
        return Drafts(self._folder, book)

    def path(self, key: str) -> Path:
        """The file of a draft. Any text is a safe key; different keys have different files."""
        readable = _UNSAFE.sub("-", key).strip("-")[:60]
        whole = f"{self._book}{key}".encode("utf-8", "surrogatepass")
        digest = hashlib.sha256(whole).hexdigest()[:16]
        return self._folder / f"{readable}.{digest}.json"

    def save(self, key: str, fields: Mapping[str, str]) -> None:
        """Keep `fields` under `key`, replacing what was there, all or nothing.

        Raises `BookTrouble` when the disk does not take it; the earlier draft then stands.
        """
        place = self.path(key)
        beside = place.with_suffix(f".{os.getpid()}-{threading.get_ident()}.part")
        try:
            self._folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            try:
                _write_synced(beside, json.dumps({"key": key, "fields": dict(fields)}).encode())
                beside.replace(place)
            finally:
                beside.unlink(missing_ok=True)
            _sync_folder(self._folder)
        except OSError as trouble:
            raise BookTrouble(
                f"what was typed cannot be kept ({trouble.strerror})",
                where=f"Drafts in {self._folder}",
                wanted="a folder with room that can be written to",
            ) from trouble

    def load(self, key: str) -> dict[str, str] | None:
        """The fields kept under `key`, or ``None``.

        A damaged draft is moved aside, never deleted, and said once: this raises `BadFile`
        with its new name, and the next call finds nothing.
        """
        place = self.path(key)
        try:
            content = place.read_bytes()
        except FileNotFoundError:
            return None
        except OSError as trouble:
            raise BadFile(
                f"cannot be read ({trouble.strerror})", where=f"Draft {place}"
            ) from trouble
        fields = _fields(content)
        if fields is None:
            aside = _set_aside(place)
            raise BadFile(f"is damaged and was kept as {aside.name}", where=f"Draft {place}")
        return fields

    def clear(self, key: str) -> None:
        """Forget the draft under `key`: it was saved into the book or thrown away."""
        self.path(key).unlink(missing_ok=True)


def _write_synced(path: Path, content: bytes) -> None:
    handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    with os.fdopen(handle, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sync_folder(folder: Path) -> None:
    """Make the rename itself last; Windows has no handle for a folder and needs none."""
    if os.name != "posix":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _fields(content: bytes) -> dict[str, str] | None:
    """The fields of a draft file, or ``None`` where it is not one."""
    try:
        draft = json.loads(content)
    except ValueError:  # not JSON, or not UTF-8
        return None
    fields = draft.get("fields") if isinstance(draft, dict) else None
    if not isinstance(fields, dict):
        return None
    if not all(isinstance(k, str) and isinstance(v, str) for k, v in fields.items()):
        return None
    return fields


def _set_aside(place: Path) -> Path:
    """Rename a damaged draft to the first free ``….damaged-N``."""
    number = 1
    while (aside := place.with_suffix(f".damaged-{number}")).exists():
        number += 1
    return place.rename(aside)
