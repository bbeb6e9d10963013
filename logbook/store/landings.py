"""Watched folders and what has landed in them. None of it is in the audit trail."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import fields
from typing import TYPE_CHECKING, Any

from logbook.records.landing import IGNORED, WAITING, Landing
from logbook.store.tables import encode

if TYPE_CHECKING:
    from logbook.store.change import Change
    from logbook.store.reader import Reader

_COLUMNS = tuple(field.name for field in fields(Landing))
_SELECT = f"SELECT {', '.join(_COLUMNS)} FROM landings"


def _landings(rows: Iterator[tuple[Any, ...]]) -> list[Landing]:
    return [Landing(*row) for row in rows]


def waiting(read: Reader, limit: int = 100) -> list[Landing]:
    """What waits to become a pull, the earliest first."""
    return _landings(read.rows(f"{_SELECT} WHERE state = ? ORDER BY id LIMIT ?", (WAITING, limit)))


def landing(read: Reader, landing_id: str) -> Landing | None:
    """The landing of this id."""
    found = _landings(read.rows(f"{_SELECT} WHERE id = ?", (landing_id,)))
    return found[0] if found else None


def newest_by_name(read: Reader, folder: str) -> dict[str, Landing]:
    """The last landing of every name in a folder."""
    rows = read.rows(f"{_SELECT} WHERE folder = ? ORDER BY id", (folder,))
    return {one.name: one for one in _landings(rows)}


def of_content(read: Reader, sha256: str) -> list[Landing]:
    """The landings of these bytes, the earliest first."""
    return _landings(read.rows(f"{_SELECT} WHERE sha256 = ? ORDER BY id", (sha256,)))


def put(change: Change, new: Landing) -> None:
    """Enter a landing."""
    marks = ", ".join("?" * len(_COLUMNS))
    values = [encode(getattr(new, name), field=name) for name in _COLUMNS]
    change.rows(f"INSERT INTO landings ({', '.join(_COLUMNS)}) VALUES ({marks})", values)


def moved(change: Change, landing_id: str, *, name: str, size: int, modified_ns: int) -> None:
    """The same file under another name, or touched."""
    change.rows(
        "UPDATE landings SET name = ?, size = ?, modified_ns = ? WHERE id = ?",
        (encode(name, field="name"), size, modified_ns, landing_id),
    )


def read_anew(change: Change, landing_id: str, *, parts: int) -> None:
    """A file that waited for its columns to be named could now be read."""
    change.rows("UPDATE landings SET parts = ?, reason = '' WHERE id = ?", (parts, landing_id))


def set_aside(change: Change, landing_id: str, reason: str) -> bool:
    """A landing that waits is not wanted; gives whether it still waited."""
    found = change.rows(
        "UPDATE landings SET state = ?, reason = ? WHERE id = ? AND state = ? RETURNING id",
        (IGNORED, encode(reason, field="reason"), landing_id, WAITING),
    )
    return bool(list(found))


def began_at(read: Reader, folder: str) -> str | None:
    """When this folder was first watched; ``None`` where it never was."""
    row = next(read.rows("SELECT began_at FROM watched_folders WHERE folder = ?", (folder,)), None)
    return None if row is None else str(row[0])


def begin(change: Change, folder: str, at: str) -> None:
    """The folder is watched from now on."""
    change.rows(
        "INSERT INTO watched_folders (folder, began_at) VALUES (?, ?) ON CONFLICT DO NOTHING",
        (folder, at),
    )


def app_folder(read: Reader) -> str | None:
    """The folder that the app watches, as chosen in it."""
    row = next(read.rows("SELECT folder FROM watched_folders WHERE in_app = 1"), None)
    return None if row is None else str(row[0])


def choose_app_folder(change: Change, folder: str | None) -> None:
    """The app watches this folder, begun before, from now on, or none."""
    change.rows("UPDATE watched_folders SET in_app = (folder IS ?)", (folder,))
