"""The answer as large as the terminal: sign and figure to be read across the cell. Pure."""

from __future__ import annotations

from logbook import quantities
from logbook.app.widgets.answer_words import caution_lines, figure_lines, settled_by
from logbook.app.widgets.figures import role_of
from logbook.app.widgets.ink import BLANK, Line, join, one, wrap
from logbook.cases.results import AnswerView, SessionView, Worth
from logbook.reports import showing

CAUTION_ROWS = 3


def wall_lines(
    session: SessionView, view: AnswerView | None, width: int, height: int, system: str
) -> list[Line]:
    """Which pull, the figure, the verdict with its interval, the power, the cautions."""
    if view is None:
        return [one(f"{session.engine.tag}: no pull yet", "strong")]
    head = _head(session, view, width)
    below = [*_words(view, width, system), BLANK, *_set_up(view, width)]
    warned = caution_lines((*view.row.cautions, *session.cautions), width)
    if len(warned) > CAUTION_ROWS:
        left = len(warned) - CAUTION_ROWS + 1
        warned = [*warned[: CAUTION_ROWS - 1], one(f"⚠ … {left} more lines: Esc", "caution")]
    room = height - len(head) - len(below) - len(warned) - 3
    return [*head, BLANK, *figure_lines(view, width, max(room, 5), system), BLANK, *below, *warned]


def _head(session: SessionView, view: AnswerView, width: int) -> list[Line]:
    row = view.row
    first = join(
        [
            one(f"{session.engine.tag} {session.engine.name}".strip(), "strong"),
            one(f"pull {row.pull.number}", "strong"),
            one("baseline", "quiet") if row.is_baseline else BLANK,
        ]
    )
    changed = showing.changes(row.changed)
    return [first, *(wrap(f"Changed: {changed}", width, "strong")[:2] if changed else [])]


def _words(view: AnswerView, width: int, system: str) -> list[Line]:
    worth: Worth | None = view.from_baseline
    if worth is None:
        return wrap(view.why_none, width, "strong") if view.why_none else []
    low, high = (showing.signed(edge, system) for edge in worth.interval_kw)
    unit = quantities.display_unit("power", system)
    sign, role = showing.sign_of(worth.verdict), role_of(worth.verdict)
    told = f"{sign} {worth.verdict.upper()}   95 % {low} to {high} {unit}"
    if worth.more_pulls:
        told += f"   {settled_by(worth)}"
    return wrap(told, width, role)


def _set_up(view: AnswerView, width: int) -> list[Line]:
    levels = view.row.setup.levels.items()
    told = " · ".join(f"{factor} {showing.level(level)}" for factor, level in levels)
    return wrap(told, width)[:2] if told else []
