"""Timing, ledger and plan as JSON documents: SI with the unit in the key, null for unknown."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from logbook.reports.as_json import Document, cautions_json, plain_value, worth_json

if TYPE_CHECKING:
    from logbook.cases.ledger import LedgerStep, LedgerView
    from logbook.cases.plan import PlanView
    from logbook.cases.timing import TimingView
    from logbook.records.setup import FactorChange
    from logbook.verdict.effects import Effect, Term
    from logbook.verdict.timing import TimingFit


def timing_json(view: TimingView) -> Document:
    """What ``logbook timing --json`` prints; an open end of the interval is null."""
    answer, advice = view.answer, view.advice
    fit = answer.fit if answer else None
    following = None
    if advice is not None and advice.next_deg is not None:
        following = {
            "timing_deg": advice.next_deg,
            "why": advice.why,
            "give_away_percent": {
                "now": plain_value(advice.gives_away_now),
                "after": plain_value(advice.gives_away_after),
            },
        }
    stop = (advice.stop if advice else "") or view.bounds.stop or view.why_none
    return {
        **_fit(fit),
        "identified": bool(fit and fit.identified),
        "trusted": bool(answer and answer.trusted),
        "doubts": [{"code": d.code, "text": d.text} for d in answer.doubts] if answer else [],
        "settle_deg": plain_value(answer.settle_deg) if answer else None,
        "why_not_identified": (fit.why_not if fit else view.why_none) or None,
        "by_third": _thirds(view),
        "scored_on": view.scored_on,
        "used": list(view.used),
        "left_out": [{"pull": pull_id, "why": why} for pull_id, _, why in view.left_out],
        "all_timings_deg": plain_value(view.all_timings_deg),
        "choice_deg": plain_value(advice.now_deg) if advice else None,
        "next": following,
        "stop": None if following else stop or None,
        "limit_deg": view.limit_deg,
        "bounds_deg": [view.bounds.low_deg, view.bounds.high_deg],
        "bounds": list(view.bounds.says),
        "cautions": cautions_json(view.cautions),
    }


def _fit(fit: TimingFit | None) -> Document:
    if fit is None:
        return {
            "best_deg": None,
            "interval_deg": [None, None],
            "least_deg": None,
            "loss_percent": None,
        }
    return {
        "best_deg": plain_value(fit.best_deg),
        "interval_deg": plain_value(fit.interval_deg),
        "least_deg": plain_value(fit.least_deg),
        "loss_percent": {str(d): plain_value(loss) for d, loss in fit.loss_percent.items()} or None,
    }


def _thirds(view: TimingView) -> list[Document]:
    thirds = view.answer.thirds if view.answer else ()
    return [
        {"band_rpm": list(band), **_fit(fit)}
        for band, fit in zip(view.thirds_rpm, thirds, strict=False)
    ]


def ledger_json(view: LedgerView) -> Document:
    """What ``logbook ledger --json`` prints: steps that sum exactly to the total."""
    return {
        "quantity": view.quantity,
        "steps": [_step(step) for step in view.steps],
        "total_kw": plain_value(view.total.difference_kw) if view.total else None,
        "total": worth_json(view.total),
        "taken_back": [_step(step) for step in view.taken_back],
        "effects": [_effect(effect) for effect in view.effects.effects],
        "inseparable": [
            [_term(term) for term in group.terms] for group in view.effects.inseparable
        ],
        "separate_by": [
            [{"factor": term.factor, "level": term.level.text if term.level else None}
             for term in group.separate_by]
            for group in view.effects.inseparable
        ],
    }  # fmt: skip


def _step(step: LedgerStep) -> Document:
    return {
        "from": list(step.from_ids),
        "to": list(step.to_ids),
        "changed": changed_names(step.changed),
        "bundle": step.bundle,
        "band_power_kw": plain_value(step.worth.difference_kw),
        "interval_kw": plain_value(step.worth.interval_kw),
        "percent": plain_value(step.worth.percent),
        "verdict": step.worth.verdict,
    }


def changed_names(changed: Iterable[FactorChange]) -> list[str]:
    """The names of the changed factors."""
    return [change.factor for change in changed]


def _effect(effect: Effect) -> Document:
    return {
        "terms": [_term(term) for term in effect.terms],
        "difference_kw": plain_value(effect.difference),
        "interval_kw": plain_value(effect.interval),
        "percent": plain_value(effect.percent),
        "interval_percent": plain_value(effect.interval_percent),
    }


def _term(term: Term) -> str:
    """``main jets 82`` (``main jets taken away`` where the level is none)."""
    return f"{term.factor} {term.level.text if term.level else 'taken away'}"


def plan_json(view: PlanView) -> Document:
    """A plan in its order with what is done; a level of ``""`` takes the factor away."""
    return {
        "pulls": [
            {
                "name": line.name,
                "set_up": dict(line.set_up),
                "levels": dict(line.levels),
                "why": line.why,
                "caution": line.caution or None,
                "done": line.done,
            }
            for line in view.lines
        ],
        "resolves_percent": {name: plain_value(gain) for name, gain in view.resolves},
        "smallest_gain_percent": plain_value(view.smallest_gain_percent),
        "worth_having_percent": view.worth_having_percent,
        "noise_percent": plain_value(view.noise.percent),
        "noise_source": view.noise.source,
        "usual_drift_percent": plain_value(view.wander.drift_percent),
        "resetting_percent": plain_value(view.wander.resetting_percent),
        "drift_source": view.wander.source,
        "budget": view.budget,
        "accepted": view.accepted,
        "done": view.progress.done,
        "next": view.next.name if view.next else None,
        "barred": view.barred or None,
        "cautions": list(view.cautions),
    }
