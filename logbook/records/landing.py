"""The landing: a file that has come into a watched folder, and what has become of it."""

from __future__ import annotations

from dataclasses import dataclass

WAITING, TAKEN, REFUSED, IGNORED = "waiting", "taken", "refused", "ignored"


@dataclass(frozen=True, slots=True)
class Landing:
    """A file as it lay in its folder when it had stopped growing.

    `size` in bytes and `modified_ns` (nanoseconds since 1970, the file system's clock) tell
    whether the file has been touched since; `sha256` is empty where it was not read. `state`
    is one of `WAITING`, `TAKEN` (then `pull_id` is its pull), `REFUSED` and `IGNORED`, with
    the `reason` in words. `parts` is how many pulls the file holds; it waits until all of them
    are taken. `seen_at` is UTC.
    """

    id: str
    folder: str
    name: str
    size: int
    modified_ns: int
    sha256: str
    seen_at: str
    state: str
    reason: str = ""
    pull_id: str | None = None
    parts: int = 1
