"""What closing a session makes of it, in sentences and as JSON; both doors say it alike."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from logbook.reports import showing
from logbook.reports.as_json import worth_json

if TYPE_CHECKING:
    from logbook.cases.closing import Closing, Ending

Document = dict[str, Any]


def baseline_words(found: Closing) -> str:
    """Whether the baseline is returned."""
    if found.returned is None:
        return (
            "Nothing was measured from a baseline of this session." if found.endings else
            "Nothing was changed from the baseline, so there is no verdict to close."
        )  # fmt: skip
    if found.returned:
        return "The baseline was pulled again after every change."
    return f"The baseline was not pulled again after {_pulls(found.not_returned)}."


def before_closing(found: Closing) -> str:
    """What would be worth a pull before the session closes; nothing after an alarm or past the
    pull budget."""
    if found.returned is not False or found.barred:
        return ""
    return "Pull it once more first, and what is “so far” can become final."


def ending_lines(found: Closing, system: str, most: int | None = None) -> list[tuple[str, str]]:
    """(verdict, words) of every change as the closed session has it, at most so many."""
    lines = [(end.stand.word, _ending(end, system)) for end in found.endings[:most]]
    if most is not None and (more := len(found.endings) - most) > 0:
        lines.append(("", f"and {more} more, in the list of pulls"))
    return lines


def _ending(end: Ending, system: str) -> str:
    worth, stand = end.stand.worth, end.stand
    turned = f", was {end.running}" if end.running != stand.word else ""
    size = f" {showing.signed(worth.difference_kw, system, unit=True)}" if worth else ""
    what = showing.changes(stand.changed) or "same set-up"
    return f"{stand.word}{size}: {what} ({_pulls(stand.pulls)}{turned})"


def open_words(found: Closing) -> str:
    """What stays open, as a sentence, or ``""``."""
    parts = []
    so_far = [n for end in found.open if end.stand.word.endswith("so far") for n in end.stand.pulls]
    if so_far:
        parts.append(f"{_pulls(tuple(so_far))} stay “so far”")
    for word in ("leaning", "not settled", "not judged"):
        numbers = [n for end in found.open if end.stand.word == word for n in end.stand.pulls]
        if numbers:
            parts.append(f"{_pulls(tuple(numbers))} {word}")
    if found.plan_left:
        parts.append(f"{showing.count(found.plan_left, 'pull')} of the plan not made")
    if found.waiting:
        parts.append(f"{showing.count(found.waiting, 'file')} landed and not logged")
    return f"Stays open: {'; '.join(parts)}." if parts else "Nothing stays open."


def _pulls(numbers: tuple[int, ...]) -> str:
    return f"pull{'s' if len(numbers) > 1 else ''} {showing.numbers(numbers)}"


def closing_json(found: Closing) -> Document:
    """The same as a document; pulls by their numbers in the session."""
    return {
        "baseline_returned": found.returned,
        "not_returned_after": list(found.not_returned),
        "verdicts": [
            {
                "pulls": list(end.stand.pulls),
                "changed": [change.factor for change in end.stand.changed],
                "verdict": end.stand.word,
                "running_verdict": end.running,
                "final": end.settled,
                "worth": worth_json(end.stand.worth),
            }
            for end in found.endings
        ],
        "plan_pulls_left": found.plan_left,
        "files_waiting": found.waiting,
    }
