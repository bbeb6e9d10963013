"""The Session screen's words: header, list rows, the next pull, the air. Pure."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.app.next_pull import NextPull
from logbook.app.widgets.figures import role_of
from logbook.app.widgets.ink import BLANK, Line, join, one, rows_of, width_of
from logbook.app.widgets.plan_words import progress_part
from logbook.app.widgets.rows import Column, Row
from logbook.cases.desk import spoken
from logbook.cases.results import PullRow, SessionView, Wander
from logbook.plain import plain
from logbook.records.air import TYPED
from logbook.records.caution import Caution
from logbook.records.session import CLOSED
from logbook.records.times import moment_of
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.plan import PlanProgress

BROAD = 56
DRIFT_PULLS = 3  # fewer tell nothing of the day's drift: its figure would be what is assumed
GAP = 5  # between two parts of a line, and at its ends


def columns(system: str) -> tuple[Column, ...]:
    """The pulls' columns; time and power only where there is room. The last is what each pull
    differs by alone; the answer is of all pulls of its set-up together."""
    unit = quantities.display_unit("power", system)
    return (
        Column("Pull", 4, "right"),
        Column("Time", 5, least=40),
        Column("Changed", 0),
        Column(f"Power, {unit}", 9, "right", least=BROAD),
        Column(f"Alone, {unit}", 9, "right"),
    )


def head_lines(view: SessionView, safety: int, width: int) -> list[Line]:
    """Engine, build, day, band, standard; then what everything is measured from and by."""
    session, engine = view.session, view.engine
    name = f"{engine.tag} {engine.name}".strip()
    first = join(
        [
            one(name, "strong"),
            one(view.build.label),
            one(showing.day(session.opened_at, view.cell.time_zone)),
            one(showing.band(session.band_low_rpm, session.band_high_rpm)),
            one(view.standard_name),
            one("closed", "caution") if session.status == CLOSED else BLANK,
            one(view.cell.name, "quiet") if width >= 100 else BLANK,
            one(session.purpose, "quiet") if width >= 100 else BLANK,
        ]
    )
    label = view.baseline_label if width >= 100 else view.baseline_label.split(", ", 1)[-1]
    parts: list[Line] = [one(f"Baseline {label}")]
    if view.noise is not None:
        source = view.noise.source
        parts.append(((f"noise {view.noise.percent:.2f} % ", ""), (source, _source_role(source))))
    ticked = len(session.safety_checked)
    unticked: Line = (
        one(f"⚠ safety list {ticked} of {safety} checked", "caution") if ticked < safety else BLANK
    )
    if view.drift is not None and len(view.rows) >= DRIFT_PULLS:
        parts.append(one(f"drift {showing.percent(view.drift.percent_per_pull, 2)} a pull"))
        if width_of(join([*parts, unticked])) > width:  # the safety list is never cut off
            parts.pop()
        elif width >= 100:
            parts.append(_usual(view.drift.usual, width - width_of(join([*parts, unticked]))))
    return [first, join([*parts, unticked])]


def _usual(usual: Wander, room: int) -> Line:
    """What drift and re-setting are believed to be, and by what; at least the latter."""
    resetting = f"re-setting {usual.resetting_percent:.2f} % "
    both = f"usual {usual.drift_percent:.2f} %, {resetting}"
    fits = len(both) + len(usual.source) + GAP <= room
    return ((both if fits else resetting, ""), (usual.source, _source_role(usual.source)))


def _source_role(source: str) -> str:
    return "caution" if source == "assumed" else "quiet"


def pull_row(row: PullRow, view: SessionView, system: str) -> Row:
    """One line of the list."""
    pull, power = row.pull, None
    if row.score is not None:
        corrected = row.score.corrected
        power = corrected.band_power_kw
        power = corrected.peak_power_kw if power is None else power
    return Row(
        pull.id,
        (
            one(str(pull.number), "strong"),
            one(showing.clock(pull.at, view.cell.time_zone), "quiet"),
            _changed(row),
            one(quantities.show(power, "power", system, unit=False)),
            _worth(row, system),
        ),
    )


def _changed(row: PullRow) -> Line:
    sign: Line = (("⚠ ", "caution"),) if row.cautions else BLANK
    if row.pull.excluded_reason is not None:
        return (("excluded: ", "caution"), (row.pull.excluded_reason, "quiet"))
    if row.is_baseline:
        return (*sign, ("baseline", "accent"))
    if not row.changed:
        return (*sign, ("same again", "quiet"))
    several = f"{len(row.changed)} changes: " if len(row.changed) > 1 else ""
    return (*sign, (several, "caution"), (showing.changes(row.changed), ""))


def _worth(row: PullRow, system: str) -> Line:
    if row.own_difference_kw is None:
        return BLANK
    own = showing.signed(row.own_difference_kw, system)
    if row.worth is None:
        return one(own, "quiet")
    role = role_of(row.worth.verdict)
    return ((f"{showing.sign_of(row.worth.verdict)} ", role), (own, role))


def next_lines(
    next_pull: NextPull,
    view: SessionView,
    cautions: Sequence[Caution],
    system: str,
    width: int,
    *,
    plan: PlanProgress | None = None,
    more: int = 0,
    watched: Path | None = None,
    away: bool = False,
) -> list[Line]:
    """What the next pull will be, with the limit beside any timing that is set.

    `plan` is how far the accepted plan has come; `more` files wait besides the trace shown;
    `watched` is the folder they come from, `away` whether it is out of reach.
    """
    if view.session.status == CLOSED:
        return [one("This session is closed; z opens it again.", "caution")]
    before = max((row.pull.number for row in view.rows), default=0)
    carried = (
        f"set-up as pull {before}"
        if before
        else "carried forward"
        if (next_pull.carried)
        else "no set-up yet"
    )
    head: Line
    if next_pull.trace is not None:
        name = plain(next_pull.trace.name)
        head = (
            ("NEW TRACE", "key"),
            (f" {name}", "strong"),
            (f" → pull {next_pull.number}", ""),
        )
    else:
        head = ((f"Next, pull {next_pull.number}", "strong"),)
    parts: list[Line] = [head]
    for name, text in next_pull.changed.items():
        degree = "°" if name == "timing" else ""
        was = next_pull.was(name)
        parts.append(
            (
                (f"● {name} {text or 'taken away'}{degree if text else ''}", "changed"),
                (f" was {was}{degree}" if was else " new", "quiet"),
            )
        )
    limit = view.engine.limit_timing_deg
    if "timing" in next_pull.changed and limit is not None:
        parts.append(one(f"limit {limit:g}°", "strong"))
    if not next_pull.changed:
        parts.append(one(carried, "quiet"))
    if plan is not None:
        parts.append(progress_part(plan, next_pull.changed))
    if more > 0:
        parts.append(one(f"{more} more {'waits' if more == 1 else 'wait'}", "accent"))
    if watched is not None and away:
        parts.append(one(f"⚠ {plain(watched.name)} is out of reach", "caution"))
    elif watched is not None and next_pull.trace is None and more <= 0:
        parts.append(one(f"watching {plain(watched.name)}", "quiet"))
    if len(next_pull.changed) > 1 and not _one_step(plan, next_pull):
        parts.append(one(f"{len(next_pull.changed)} changes: a bundle", "caution"))
    preview = next_pull.preview
    if preview is not None:
        if preview.parts > 1 and not preview.moved:
            parts.append(one(f"part {preview.part} of {preview.parts}", "strong"))
        if preview.parts > 1 or preview.moved:
            role = "changed" if preview.moved else "quiet"
            parts.append(one(f"samples {preview.samples_taken}", role))
        parts.append(one(f"{preview.speed_from_rpm:.0f}–{preview.speed_to_rpm:.0f} rpm"))
        peak = quantities.show(preview.figures.peak_power_kw, "power", system)
        parts.append(one(f"observed peak {peak}"))
    parts += [one(f"⚠ {caution.text}", "caution") for caution in cautions]
    if next_pull.asked:
        parts.append(one(f"⚠ {next_pull.asked}: Enter asks what is what", "caution"))
    return rows_of(parts, width)


def _one_step(plan: PlanProgress | None, next_pull: NextPull) -> bool:
    """Whether what is set is the plan's next pull, a single change from the baseline or back to
    it: no bundle, however much differs from the pull before."""
    if plan is None or plan.next is None or len(plan.next.set_up) > 1:
        return False
    return next_pull.changed == dict(plan.to_set)


def air_lines(view: SessionView, now: datetime, system: str, width: int) -> list[Line]:
    """The air with its age, and the ready window of the last pull."""
    return rows_of((*air_parts(view, now, system), _ready(view, system)), width)


def air_parts(view: SessionView, now: datetime, system: str) -> list[Line]:
    """The session's latest air, its age, and what follows from it."""
    if view.air is None:
        return [
            one("⚠ No air reading yet, nothing is corrected: a takes one down", "caution")
        ]  # fmt: skip
    reading, state = view.air.reading, view.air.state
    read_at = moment_of(reading.read_at)
    age = max(0.0, (now - read_at).total_seconds() / 60)
    stale = age > view.cell.air_stale_after_min
    old = spoken(age)
    head: Line = (
        (("⚠ ", "caution"), (f"Air {old} old, stale: ", "caution"))
        if stale
        else ((f"Air {old} old: ", "quiet"),)
    )
    shown = " ".join(
        (
            quantities.show(reading.pressure_kpa, "pressure", system),
            quantities.show(reading.temperature_c, "temperature", system, digits=0),
            f"{state.relative_humidity * 100:.0f} %",
        )
    )
    factor = view.air.factor
    parts: list[Line] = [(*head, (shown, ""))]
    if reading.instrument != TYPED:
        parts.append(one(plain(reading.instrument), "quiet"))
    if factor is not None:
        out = "" if view.air.factor_in_range else " ⚠ outside the standard's range"
        parts.append((("factor ", "quiet"), (f"{factor:.3f}", "strong"), (out, "caution")))
    altitude = quantities.show(state.density_altitude_m, "altitude", system)
    parts.append((("density altitude ", "quiet"), (showing.true_minus(altitude), "")))
    return parts


def _ready(view: SessionView, system: str) -> Line:
    parts: list[Line] = []
    for item in view.ready:
        if item.value_c is None:
            continue
        text = quantities.show(item.value_c, "temperature", system, digits=0)
        mark = {True: (" ✓", "gain"), False: (" ⚠ not ready", "caution"), None: ("", "")}
        parts.append(((f"{item.name} ", "quiet"), (text, ""), mark[item.inside]))
    return (("Last pull: ", "quiet"), *join(parts, "  ")) if parts else BLANK
