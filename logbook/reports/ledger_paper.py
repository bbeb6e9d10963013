"""The ledger on paper: each step, their exact sum, what was tried and not kept, all factors."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.reports import paper_words as words
from logbook.reports import showing
from logbook.reports.paper import Part, Table, Words, columns

if TYPE_CHECKING:
    from logbook.cases.ledger import LedgerStep, LedgerView
    from logbook.verdict.effects import Effect, Term


def ledger_parts(view: LedgerView | None, why_none: str, system: str) -> Iterator[Part]:
    """The tables of a ledger, or the sentence why there is none."""
    if view is None:
        yield Words(why_none)
        return
    unit = quantities.display_unit("power", system)
    heads = columns("From pulls", "To pulls", "Changed", *words.judged_head(unit))
    total = ("", "", "All steps together", *words.judged_cells(view.total, system))\
        if view.total else ()  # fmt: skip
    yield Table(
        f"From the baseline to the last set-up, in {view.quantity}",
        heads,
        tuple(_step(step, system) for step in view.steps),
        total,
        empty="Nothing but the baseline has been pulled yet.",
    )
    if any(step.bundle for step in (*view.steps, *view.taken_back)):
        yield Words("A bundle changed several things at once: its worth belongs to all of them.")
    if view.taken_back:
        rows = tuple(_step(step, system) for step in view.taken_back)
        yield Table("Tried and not kept", heads, rows)
    effects = view.effects
    if effects.effects:
        yield Table(
            "Every factor by all pulls, as if effects add up",
            columns("Factor and level", f">Worth, {unit}", f">95 % interval, {unit}", ">%"),
            tuple(_effect(effect, system) for effect in effects.effects),
        )
    for group in effects.inseparable:
        by = f" A pull of the baseline with only {_terms(group.separate_by)} would."
        tail = by if group.separate_by else ""
        yield Words(f"The pulls cannot tell apart: {_terms(group.terms)}.{tail}")


def _step(step: LedgerStep, system: str) -> tuple[str, ...]:
    return (
        showing.numbers(step.from_pulls),
        showing.numbers(step.to_pulls),
        ("bundle: " if step.bundle else "") + showing.from_to(step.changed),
        *words.judged_cells(step.worth, system),
    )


def _effect(effect: Effect, system: str) -> tuple[str, ...]:
    low, high = (showing.signed(edge, system) for edge in effect.interval)
    return (
        _terms(effect.terms),
        showing.signed(effect.difference, system),
        f"{low} to {high}",
        showing.percent(effect.percent).removesuffix(" %"),
    )


def _terms(terms: Iterable[Term]) -> str:
    return " and ".join(f"{t.factor} {t.level.text if t.level else 'none'}" for t in terms)
