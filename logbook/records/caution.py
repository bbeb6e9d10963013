"""A caution: accepted, but somebody should look."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Caution:
    """Something that does not stop the entry but may move the number.

    `code` is stable and machine-readable (``"air-stale"``), `text` is the sentence shown.
    """

    code: str
    text: str
