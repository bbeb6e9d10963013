"""Changing what the judgement rests on, and saying what is judged otherwise now."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from logbook.cases.desk import Desk


def done_and_told(
    desk: Desk, session_id: str, units: str, sentence: str, act: Callable[[], object]
) -> str:
    """Do it to a session; `sentence`, and after it what that did to the verdicts. Runs in a
    worker."""
    from logbook.cases.rejudged import and_what_changed
    from logbook.reports.rejudged_words import sentences

    _, found = and_what_changed(desk, session_id, act)
    return f"{sentence} {sentences(found, units)}".rstrip()
