"""The ledger in lines: steps with their worth, bundles, the sum, and what cannot be told apart."""

from __future__ import annotations

from collections.abc import Iterable

from logbook import quantities
from logbook.app.widgets.figures import role_of
from logbook.app.widgets.ink import BLANK, Line, one, pad, wrap
from logbook.cases.ledger import LedgerStep, LedgerView
from logbook.cases.results import Worth
from logbook.records.setup import FactorChange
from logbook.reports import showing
from logbook.verdict.effects import Term

WORTH_CELLS = 9


def ledger_lines(view: LedgerView, width: int, system: str) -> list[Line]:
    """The whole ledger."""
    unit = quantities.display_unit("power", system)
    lines: list[Line] = [one(f"From the baseline to the last set-up, {unit} in {view.quantity}",
                             "strong")]  # fmt: skip
    if not view.steps:
        lines += wrap("Nothing but the baseline has been pulled yet.", width)
    for step in view.steps:
        lines += _step(step, width, system)
    if view.total is not None:
        lines += [((pad("", WORTH_CELLS) + "─" * 20, "quiet"),),
                  _worth(view.total, system, "all steps together, exactly their sum"),
                  *_interval(view.total, system, width)]  # fmt: skip
    if view.taken_back:
        lines += [BLANK, one("Tried and not kept", "strong")]
        for step in view.taken_back:
            lines += _step(step, width, system)
    return [*lines, *_effects(view, width, system)]


def _step(step: LedgerStep, width: int, system: str) -> list[Line]:
    named = ("bundle: " if step.bundle else "") + changed_words(step.changed)
    first, *rest = wrap(named, max(width - WORTH_CELLS - 2, 20))
    lines: list[Line] = [(*_figure(step.worth, system), ("  ", ""), *first)]
    lines += [((pad("", WORTH_CELLS + 2), ""), *line) for line in rest]
    if step.bundle:
        room = width - WORTH_CELLS - 2
        said = wrap("Its worth belongs to all of them together.", room, "caution")
        lines += [((pad("", WORTH_CELLS + 2), ""), *line) for line in said]
    sides = f"pulls {showing.numbers(step.from_pulls)} → {showing.numbers(step.to_pulls)}"
    return [*lines, *_interval(step.worth, system, width, sides)]


def _figure(worth: Worth, system: str) -> Line:
    sign = showing.sign_of(worth.verdict)
    text = f"{sign} {showing.signed(worth.difference_kw, system)}"
    return ((pad(text, WORTH_CELLS, "right"), role_of(worth.verdict)),)


def _worth(worth: Worth, system: str, words: str) -> Line:
    return (*_figure(worth, system), (f"  {words}", "strong"))


def _interval(worth: Worth, system: str, width: int, more: str = "") -> list[Line]:
    low, high = (showing.signed(edge, system) for edge in worth.interval_kw)
    words = f"{worth.verdict} · 95 % {low} to {high} · {showing.percent(worth.percent)}"
    words += f" · {more}" if more else ""
    return [
        ((pad("", WORTH_CELLS + 2), ""), *line)
        for line in wrap(words, width - WORTH_CELLS - 2, "quiet")
    ]


def changed_words(changed: Iterable[FactorChange]) -> str:
    """``timing 31° → 33°, main jets +1 → 0``."""
    parts = []
    for change in changed:
        parts.append(f"{change.factor} {showing.level(change.old)} → {showing.level(change.new)}")
    return ", ".join(parts)


def _effects(view: LedgerView, width: int, system: str) -> list[Line]:
    lines: list[Line] = []
    effects = view.effects
    if effects.effects:
        lines += [BLANK, one("Every factor by all pulls, as if effects add up", "strong")]
        for effect in effects.effects:
            low, high = (showing.signed(edge, system) for edge in effect.interval)
            figure = pad(showing.signed(effect.difference, system), WORTH_CELLS, "right")
            words = f"{_terms(effect.terms)} · 95 % {low} to {high}"
            first, *rest = wrap(words, width - WORTH_CELLS - 2)
            lines.append(((figure, "strong"), ("  ", ""), *first))
            lines += [((pad("", WORTH_CELLS + 2), ""), *line) for line in rest]
    for group in effects.inseparable:
        lines += [BLANK, *wrap(f"The pulls cannot tell apart: {_terms(group.terms)}.", width,
                               "caution")]  # fmt: skip
        if group.separate_by:
            words = f"A pull of the baseline with only {_terms(group.separate_by)} would."
            lines += wrap(words, width)
    return lines


def _terms(terms: Iterable[Term]) -> str:
    return " and ".join(f"{t.factor} {t.level.text if t.level else 'none'}" for t in terms)
