"""Sheets for people: the air, an engine, a session, a pull, two pulls over each other."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from rich.text import Text

from logbook.cases.desk import spoken
from logbook.plain import plain
from logbook.quantities import display_unit, show
from logbook.reports.showing import engine_name, from_to, set_up
from logbook.reports.tables import (
    NOTHING,
    builds,
    grid,
    heading,
    number,
    sheet,
    unit,
    verdict,
    when,
)

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rich.console import RenderableType

    from logbook.cases.air import AirReport
    from logbook.cases.fields import Field
    from logbook.cases.results import (
        AirView,
        CompareView,
        PullRow,
        PullStory,
        SessionView,
        Wander,
        Worth,
    )
    from logbook.engineering.air import AirState
    from logbook.records.engine import Build, Engine
    from logbook.records.score import Figures

_FIGURES = (
    ("Peak power", "power", "peak_power_kw"),
    ("  at", "speed", "peak_power_rpm"),
    ("Peak torque", "torque", "peak_torque_nm"),
    ("  at", "speed", "peak_torque_rpm"),
    ("Band power", "power", "band_power_kw"),
    ("Band torque", "torque", "band_torque_nm"),
)


def air_sheet(report: AirReport, system: str) -> list[RenderableType]:
    """What ``logbook air`` prints: the state, then every standard's factor."""
    from logbook.engineering.correction import standard

    factors = grid(
        ("Standard", "Key", "Factor", "In its range"),
        (
            (standard(key).name, key, f"{one.factor:.5f}", "yes" if one.in_range else "no")
            for key, one in report.corrections.items()
        ),
        right="c",
    )
    return [sheet(_state(report.state, system)), Text(), factors]


def _state(state: AirState, system: str) -> list[tuple[str, str]]:
    return [
        ("Station pressure", show(state.pressure_kpa, "pressure", system)),
        ("Inlet air temperature", show(state.temperature_c, "temperature", system)),
        ("Relative humidity", show(state.relative_humidity, "fraction", system)),
        ("Vapor pressure", show(state.vapor_pressure_kpa, "pressure", system, digits=3)),
        ("Dry pressure", show(state.dry_pressure_kpa, "pressure", system)),
        ("Density", show(state.density_kg_m3, "density", system, digits=4)),
        ("Density altitude", show(state.density_altitude_m, "altitude", system)),
    ]


def engine_sheet(
    engine: Engine, fields: Sequence[Field], made: Iterable[Build], system: str
) -> list[RenderableType]:
    """An engine's sheet with its builds. `fields` give labels and kinds."""
    lines: list[tuple[str, str]] = []
    for field in fields:
        value = getattr(engine, field.attribute)
        if value is None:
            continue
        lines.append(
            (field.label, show(value, field.kind, system) if field.is_quantity else str(value))
        )
    return [
        heading(engine_name(engine)),
        sheet([*lines, ("Band", band(engine.band_low_rpm, engine.band_high_rpm))]),
        Text(),
        builds(made),
    ]


def band(low: float | None, high: float | None) -> str:
    """``4500–6500 rpm``."""
    return NOTHING if low is None or high is None else f"{low:g}–{high:g} rpm"


def session_sheet(view: SessionView, system: str) -> list[RenderableType]:
    """A session: its head, its pulls newest first."""
    session = view.session
    noise, drift = view.noise, view.drift
    head = sheet(
        [
            ("Session", session.id),
            ("Opened", when(session.opened_at, view.cell.time_zone)),
            ("Status", session.status),
            ("Purpose", session.purpose),
            ("Operator", session.operator),
            ("Cell", view.cell.name),
            ("Standard", view.standard_name),
            ("Power", session.power_rating),
            ("Band", band(session.band_low_rpm, session.band_high_rpm)),
            ("Baseline", view.baseline_label),
            ("Noise", f"{noise.percent:.2f} % ({noise.source})" if noise else NOTHING),
            ("Drift", f"{drift.percent_per_pull:+.2f} % a pull" if drift else NOTHING),
            ("Usual", _usual(drift.usual) if drift else NOTHING),
            ("Air", _air_line(view.air, system)),
            ("Notes", session.notes),
        ]
    )
    title = heading(f"{engine_name(view.engine)} · {view.build.label}")
    return [title, head, Text(), pulls_table(view.rows, system, view.cell.time_zone)]


def pulls_table(rows: Iterable[PullRow], system: str, zone: str) -> RenderableType:
    """The pulls of a session with what changed in each and its worth."""
    columns = ("Pull", "At", "Changed", unit("Corrected power", "power", system),
               unit("Worth", "power", system), "%", "Verdict", "Remarks")  # fmt: skip
    return grid(
        columns,
        (
            (
                str(row.pull.number),
                when(row.pull.at, zone),
                "baseline" if row.is_baseline else from_to(row.changed),
                number(_power(row), "power", system),
                number(row.worth.difference_kw, "power", system, signed=True)
                if row.worth
                else NOTHING,
                f"{row.worth.percent:+.2f}".replace("-", "−") if row.worth else NOTHING,
                verdict(row.worth),
                _remarks(row),
            )
            for row in rows
        ),
        right="adef",
    )


def _power(row: PullRow) -> float | None:
    if row.score is None:
        return None
    figures = row.score.corrected
    return figures.peak_power_kw if figures.band_power_kw is None else figures.band_power_kw


def _remarks(row: PullRow) -> str:
    excluded = row.pull.excluded_reason
    parts = [f"excluded: {excluded}"] if excluded is not None else []
    return "; ".join([*parts, *(f"⚠ {caution.text}" for caution in row.cautions)])


def _air_line(air: AirView | None, system: str) -> str:
    if air is None:
        return NOTHING
    state = air.state
    parts = [
        show(state.pressure_kpa, "pressure", system),
        show(state.temperature_c, "temperature", system),
        show(state.relative_humidity, "fraction", system),
        NOTHING if air.factor is None else f"factor {air.factor:.4f}",
        f"{spoken(air.age_minutes)} old" + (", stale" if air.stale else ""),
        plain(air.reading.instrument),
    ]
    return " · ".join(parts)


def pull_sheet(story: PullStory, system: str) -> list[RenderableType]:
    """One pull: set-up, air, figures, worth."""
    row, pull = story.row, story.row.pull
    score = row.score
    head = sheet(
        [
            ("Pull", pull.id),
            ("Session", story.session.id),
            ("At", when(pull.at, story.cell.time_zone)),
            ("Kind", pull.kind),
            ("File", story.source_name or ""),
            ("Samples", "–".join(map(str, story.samples or ()))),
            ("Excluded", pull.excluded_reason or ""),
            ("Set-up", set_up(row.setup)),
            ("Changed", from_to(row.changed)),
            ("Air", _air_line(story.air, system)),
            ("Standard", story.session.standard),
            ("Band", band(story.session.band_low_rpm, story.session.band_high_rpm)),
            ("Manifold vacuum", show(pull.manifold_vacuum_kpa, "vacuum", system)),
            ("Crankcase vacuum", show(pull.crankcase_vacuum_kpa, "vacuum", system)),
            ("Blow-by", show(pull.blow_by_m3_h, "volume_flow", system)),
            ("Oil", show(pull.oil_c, "temperature", system)),
            ("Coolant", show(pull.coolant_c, "temperature", system)),
            ("Knock check", pull.knock),
            ("Seen and heard", pull.observations),
            ("Note", pull.notes),
        ]
    )
    title = heading(f"{engine_name(story.engine)} · {story.build.label} · pull {pull.number}")
    parts: list[RenderableType] = [title, head]
    if score is not None:
        columns = {"Observed": score.observed, "Corrected": score.corrected}
        parts += [Text(), figures_grid(columns, system)]
    if story.worth is not None:
        parts += [Text(), sheet(worth_lines(story.worth, "Against the baseline", system))]
    else:
        parts += [Text(), sheet([("Not judged", story.why_none)])]
    return parts


def figures_grid(columns: dict[str, Figures], system: str) -> RenderableType:
    """Peaks and band averages, a column each."""
    return grid(
        ("", *columns),
        (
            (label, *(show(getattr(one, name), kind, system) for one in columns.values()))
            for label, kind, name in _FIGURES
        ),
        right="bc",
    )


def _usual(wander: Wander) -> str:
    return (
        f"drift {wander.drift_percent:.2f} % a pull, re-setting {wander.resetting_percent:.2f} %"
        f" ({wander.source})"
    )


def worth_lines(worth: Worth, what: str, system: str) -> list[tuple[str, str | Text]]:
    """A judged difference, label and value; `what` says of what."""
    low, high = (number(edge, "power", system, signed=True) for edge in worth.interval_kw)
    pulls = "pull" if worth.more_pulls == 1 else "pulls"
    more = "" if worth.more_pulls is None else f"{worth.more_pulls} more {pulls} would settle it"
    return [
        ("Verdict", verdict(worth)),
        (
            f"{what}, {worth.quantity}",
            f"{number(worth.difference_kw, 'power', system, signed=True)}"
            f" ({low} to {high}) {display_unit('power', system)},"
            f" {worth.percent:+.2f} %".replace("-", "−"),
        ),
        ("Noise", f"{worth.noise.percent:.2f} % ({worth.noise.source})"),
        *([("Usual", _usual(worth.wander))] if worth.wander else []),
        ("Why", worth.reason),
        ("More", more),
    ]


def compare_sheet(view: CompareView, system: str) -> list[RenderableType]:
    """Two pulls over each other: figures, difference, and everything that differs."""
    left, right = view.left_label, view.right_label
    if left == right:
        left, right = f"{left} (A)", f"{right} (B)"
    parts: list[RenderableType] = [
        heading(f"{left} against {right}, {view.standard_name}"),
        Text(),
        figures_grid({left: view.left_figures, right: view.right_figures}, system),
    ]
    if view.worth is not None:
        parts += [Text(), sheet(worth_lines(view.worth, "Difference", system))]
    elif view.why_no_worth:
        parts += [Text(), sheet([("Worth", view.why_no_worth)])]
    differing = (
        (line.what, line.left or NOTHING, line.right or NOTHING) for line in view.differing
    )
    return [*parts, Text(), grid(("Differs", left, right), differing)]
