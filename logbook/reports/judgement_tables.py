"""Timing, ledger and plan for people: tables of the command line."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.table import Table
from rich.text import Text

from logbook.plain import plain
from logbook.reports.showing import from_to, share
from logbook.reports.tables import grid, heading, number, sheet, unit, verdict

if TYPE_CHECKING:
    from logbook.cases.ledger import LedgerStep, LedgerView
    from logbook.cases.plan import PlanView
    from logbook.cases.results import Worth
    from logbook.cases.timing import TimingView
    from logbook.verdict.effects import Effect


def degrees(value: float | None) -> str:
    """``32.4°``, an open end as ``open``."""
    return "open" if value is None else f"{value:.1f}°"


def signed_percent(percent: float) -> str:
    """``+1.29`` or ``−0.43``, with a true minus."""
    return f"{percent:+.2f}".replace("-", "−")


def timing_tables(view: TimingView) -> list[Table | Text]:
    """The best timing with its interval, the next timing, the limit, and the pulls behind it."""
    answer, advice = view.answer, view.advice
    lines: list[tuple[str, str | Text]] = [("Judged on", view.scored_on)]
    if answer is not None:
        fit = answer.fit
        low, high = fit.interval_deg
        best = degrees(fit.best_deg) if fit.best_deg is not None else fit.why_not
        lines += [
            ("Best timing", best),
            ("95 % interval", f"{degrees(low)} to {degrees(high)}" if fit.identified else ""),
            ("By all timings", degrees(view.all_timings_deg)
             if view.all_timings_deg is not None and not all(t.used for t in view.tested) else ""),
            ("Least within 0.2 %", degrees(fit.least_deg) if fit.least_deg is not None else ""),
            ("Loss beside it", ", ".join(
                f"{d:+d}°: {loss:.2f} %" for d, loss in fit.loss_percent.items())),
            *((f"Third {low:.0f}–{high:.0f} rpm",
               degrees(third.best_deg) if third.best_deg is not None else "not bracketed")
              for (low, high), third in zip(view.thirds_rpm, answer.thirds, strict=False)),
            *(("Doubt", doubt.text) for doubt in answer.doubts),
        ]  # fmt: skip
        if answer.settle_deg is not None:
            lines.append(("Would settle it", f"a pull at {answer.settle_deg:g}°"))
    limit = view.limit_deg
    lines.append(("Timing limit", "not on the engine's sheet" if limit is None else f"{limit:g}°"))
    if advice is not None and advice.now_deg is not None:
        lines.append(("Choice now", f"{advice.now_deg:g}°"))
    if advice is not None and advice.next_deg is not None:
        lines.append(("Next timing", f"{advice.next_deg:g}°. {advice.why}"))
    else:
        stop = (advice.stop if advice else "") or view.bounds.stop or view.why_none
        lines.append(("Stop", stop))
    lines += [("Bounds", sentence) for sentence in view.bounds.says]
    pulls = grid(
        ("Pull", "Timing, °", "Torque, % of best", "Knock"),
        ((str(t.number), f"{t.timing_deg:g}", f"{t.percent:.2f}", t.knock) for t in view.tested),
        right="abc",
    )
    left = grid(("Pull", "Left out because"), ((str(n), why) for _, n, why in view.left_out))
    parts: list[Table | Text] = [sheet(lines), Text(""), pulls]
    return [*parts, Text(""), left] if view.left_out else parts


def ledger_tables(view: LedgerView, system: str) -> list[Table | Text]:
    """The steps with their sum, what was tried and not kept, and every factor by all pulls."""
    head = ("From pulls", "To pulls", "Changed", "", unit("Worth", "power", system),
            "95 % interval", "%", "Verdict")  # fmt: skip
    total = view.total
    steps = grid(
        head,
        [
            *(_step(step, system) for step in view.steps),
            *([("", "", "Total", "", *_worth(total, system))] if total else []),
        ],
        right="efg",
    )
    parts: list[Table | Text] = [steps]
    if view.taken_back:
        tried = grid(head, [_step(step, system) for step in view.taken_back], right="efg")
        parts += [Text(""), heading("Tried and not kept"), tried]
    effects = view.effects
    if effects.effects:
        rows = [
            (", ".join(f"{t.factor} {t.level.text if t.level else '—'}" for t in e.terms),
             *_effect(e, system))
            for e in effects.effects
        ]  # fmt: skip
        parts += [Text(""), heading("Every factor by all pulls, as if effects add up"),
                  grid(("Factor and level", unit("Worth", "power", system), "95 % interval", "%"),
                       rows, right="bcd")]  # fmt: skip
    for group in effects.inseparable:
        names = " and ".join(f"{t.factor} {t.level.text if t.level else '—'}" for t in group.terms)
        by = ", ".join(f"{t.factor} {t.level.text if t.level else '—'}" for t in group.separate_by)
        tail = f" A pull of the baseline with only {by} would separate them." if by else ""
        parts.append(Text(plain(f"The pulls cannot tell apart: {names}.{tail}")))
    return parts


def _step(step: LedgerStep, system: str) -> tuple[str | Text, ...]:
    return (
        ", ".join(str(n) for n in step.from_pulls),
        ", ".join(str(n) for n in step.to_pulls),
        from_to(step.changed),
        "bundle" if step.bundle else "",
        *_worth(step.worth, system),
    )


def _worth(worth: Worth, system: str) -> tuple[str | Text, ...]:
    low, high = worth.interval_kw
    return (
        number(worth.difference_kw, "power", system, signed=True),
        f"{number(low, 'power', system, signed=True)} to"
        f" {number(high, 'power', system, signed=True)}",
        signed_percent(worth.percent),
        verdict(worth),
    )


def _effect(effect: Effect, system: str) -> tuple[str, ...]:
    low, high = effect.interval
    return (
        number(effect.difference, "power", system, signed=True),
        f"{number(low, 'power', system, signed=True)} to"
        f" {number(high, 'power', system, signed=True)}",
        signed_percent(effect.percent),
    )


def plan_tables(view: PlanView, system: str) -> list[Table | Text]:
    """The pulls in order with their ticks, and what the plan can resolve."""
    pulls = grid(
        ("", "Pull", "Set", "Why"),
        (("✓" if line.done else "·", str(line.place), line.name, line.why) for line in view.lines),
        right="b",
    )
    lines = [
        (f"Smallest gain of {name}", f"{share(gain, view.base_kw, system)}, four times in five")
        for name, gain in view.resolves
    ]
    wander = view.wander
    lines += [
        ("Noise", f"{view.noise.percent:.2f} % ({view.noise.source})"),
        ("Usual", f"drift {wander.drift_percent:.2f} % a pull, re-setting"
         f" {wander.resetting_percent:.2f} % ({wander.source})"),
    ]  # fmt: skip
    if view.smallest_gain_percent > view.worth_having_percent:
        lines.append(("Mind", f"a gain of {view.worth_having_percent:g} %, worth having, may stay"
                      " not settled"))  # fmt: skip
    if view.barred:
        lines.append(("Stop", view.barred))
    elif view.accepted:
        lines.append(("Next", view.next.name if view.next else "every pull has been made"))
    return [pulls, Text(""), sheet(lines)]
