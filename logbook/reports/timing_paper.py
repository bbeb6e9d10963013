"""The timing on paper: what the pulls say of the best, and the next with its limit beside it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING

from logbook.reports.charts import TimingChart
from logbook.reports.paper import Cautions, Figure, Part, Table, Words, columns

if TYPE_CHECKING:
    from logbook.cases.timing import TimingView


def timing_parts(view: TimingView | None) -> Iterator[Part]:
    """The answer in words, the picture, the pulls, what was left out and why."""
    if view is None:
        return
    yield from (Words(text) for text in _words(view) if text)
    warned = [doubt.text for doubt in view.answer.doubts] if view.answer else []
    warned += [*view.bounds.says, *(caution.text for caution in view.cautions)]
    if warned:
        yield Cautions(tuple(dict.fromkeys(warned)))
    if view.tested:
        yield _figure(view)
        yield Table(
            "Torque by timing",
            columns("Pull", ">Timing, °", f">{view.scored_on.capitalize()}, % of best",
                    "Knock check", "In the fit"),
            tuple(
                (str(t.number), f"{t.timing_deg:g}", f"{t.percent:.2f}", t.knock,
                 "yes" if t.used else "no")
                for t in view.tested
            ),
        )  # fmt: skip
    if view.left_out:
        rows = tuple((str(number), why) for _, number, why in view.left_out)
        yield Table("Not compared", columns("Pull", "Why"), rows)


def _words(view: TimingView) -> Iterable[str]:
    limit = "not on the engine's sheet" if view.limit_deg is None else f"{view.limit_deg:g}°"
    yield f"The engine's timing limit: {limit}."
    answer, advice = view.answer, view.advice
    if answer is not None:
        fit = answer.fit
        if fit.best_deg is None:
            yield fit.why_not
        else:
            low, high = (_edge(edge) for edge in fit.interval_deg)
            least = (
                f"; least within 0.2 % {fit.least_deg:.1f}°" if fit.least_deg is not None else ""
            )
            trust = "" if answer.trusted else " It is in doubt, see below."
            yield f"Best timing {fit.best_deg:.1f}°, 95 % {low} to {high}{least}.{trust}"
    if advice is not None and advice.now_deg is not None:
        yield f"The choice now: {advice.now_deg:g}°."
    if advice is not None and advice.next_deg is not None:
        yield f"To pull next: {advice.next_deg:g}°. {advice.why}"
    else:
        yield (advice.stop if advice else "") or view.bounds.stop or view.why_none


def _edge(value: float | None) -> str:
    return "open" if value is None else f"{value:.1f}°"


def _figure(view: TimingView) -> Figure:
    fit = None
    if view.drawn is not None:
        degrees = tuple(float(value) for value in view.drawn.timing)
        curves = (view.drawn.torque, view.drawn.low, view.drawn.high)
        torque, low, high = (
            tuple(100 * float(v) / view.unit if math.isfinite(v) else math.nan for v in curve)
            for curve in curves
        )
        fit = (degrees, torque, low, high)
    timings = [tested.timing_deg for tested in view.tested]
    said = (
        f"{len(timings)} pulls from {min(timings):g}° to {max(timings):g}°,"
        f" in percent of the best {view.scored_on}."
    )
    chart = TimingChart(
        label="Share of the best",
        timing=timings,
        percent=[tested.percent for tested in view.tested],
        fit=fit,
        limit=view.limit_deg,
    )
    return Figure("Torque against timing", said, chart)
