"""A session's pulls on paper: figures, readings, remarks, and the air and fuel they ran on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.cases.calibration_view import calibration_day, instrument_name
from logbook.reports import paper_words as words
from logbook.reports import showing
from logbook.reports.calibration_tables import percent_of_span, verdict_words
from logbook.reports.paper import Part, Table, Words, columns

if TYPE_CHECKING:
    from logbook.cases.report import AirUsed, SessionReport
    from logbook.cases.results import PullRow
    from logbook.records.engine import Fuel
    from logbook.records.score import Figures

# Readings of a pull: head, kind of quantity, attribute.
_READINGS = (
    ("Oil", "temperature", "oil_c"),
    ("Coolant", "temperature", "coolant_c"),
    ("Lambda", "ratio", "lambda_ratio"),
    ("Fuel flow", "mass_flow", "fuel_flow_kg_h"),
    ("Air flow", "mass_flow", "air_flow_kg_h"),
)


def pulls_parts(report: SessionReport, system: str) -> Iterator[Part]:
    """Every pull, the excluded ones too, in the order they were made."""
    rows = tuple(reversed(report.view.rows))
    power, torque = (quantities.display_unit(kind, system) for kind in ("power", "torque"))
    if not rows:
        yield Words("No pull was logged in this session.")
        return
    yield Table(
        "Corrected figures; alone is this pull by itself against the baseline's mean",
        columns("Pull", "Time", "Changed", f">Power, {power}", f">Alone, {power}",
                f">Peak power, {power}", ">at rpm", f">Peak torque, {torque}", ">at rpm"),
        tuple(_pull(row, report, system) for row in rows),
    )  # fmt: skip
    if any(_main_power(row) == "peak" for row in rows):
        yield Words("A power marked “peak” stands where the curve does not cover the band.")
    yield _observed(rows, system)
    yield _readings(rows, report, system)
    remarks = tuple(_remarks(row) for row in rows)
    said = tuple(line for line in remarks if any(line[1:]))
    if said:
        yield Table("Remarks", columns("Pull", "Seen, heard and noted", "Cautions"), said)


def _pull(row: PullRow, report: SessionReport, system: str) -> tuple[str, ...]:
    figures = row.score.corrected if row.score else None
    return (
        str(row.pull.number),
        showing.clock(row.pull.at, report.view.cell.time_zone),
        _changed(row),
        _power(figures, system),
        _worth(row, system),
        *_peaks(figures, system),
    )


def _changed(row: PullRow) -> str:
    mark = "⚠ " if row.cautions else ""
    if row.pull.excluded_reason is not None:
        return f"{mark}excluded: {row.pull.excluded_reason}"
    if row.is_baseline:
        return f"{mark}baseline"
    return mark + (showing.from_to(row.changed) or "same again")


def _main_power(row: PullRow) -> str:
    """Whether a pull's power is its band average or, for want of one, its peak."""
    figures = row.score.corrected if row.score else None
    if figures is None or figures.peak_power_kw is None:
        return ""
    return "peak" if figures.band_power_kw is None else "band"


def _power(figures: Figures | None, system: str) -> str:
    if figures is None:
        return showing.NOTHING
    power, mark = figures.band_power_kw, ""
    if power is None and figures.peak_power_kw is not None:
        power, mark = figures.peak_power_kw, " peak"
    return quantities.show(power, "power", system, unit=False) + mark


def _worth(row: PullRow, system: str) -> str:
    if row.own_difference_kw is None:
        return showing.NOTHING
    own = showing.signed(row.own_difference_kw, system)
    return own if row.worth is None else f"{showing.sign_of(row.worth.verdict)} {own}"


def _peaks(figures: Figures | None, system: str) -> tuple[str, ...]:
    if figures is None:
        return (showing.NOTHING,) * 4
    return tuple(
        quantities.show(value, kind, system, unit=False)
        for value, kind in (
            (figures.peak_power_kw, "power"),
            (figures.peak_power_rpm, "speed"),
            (figures.peak_torque_nm, "torque"),
            (figures.peak_torque_rpm, "speed"),
        )
    )


def _observed(rows: Sequence[PullRow], system: str) -> Table:
    power, torque = (quantities.display_unit(kind, system) for kind in ("power", "torque"))
    cells = []
    for row in rows:
        figures = row.score.observed if row.score else None
        factor = row.score.factor if row.score else None
        cells.append(
            (
                str(row.pull.number),
                row.pull.kind,
                _power(figures, system),
                *_peaks(figures, system),
                showing.NOTHING if factor is None else f"{factor:.4f}",
            )
        )
    heads = ("Pull", "Kind", f">Power, {power}", f">Peak power, {power}", ">at rpm",
             f">Peak torque, {torque}", ">at rpm", ">Factor")  # fmt: skip
    return Table("Observed figures and the factor", columns(*heads), tuple(cells))


def _readings(rows: Sequence[PullRow], report: SessionReport, system: str) -> Table:
    """Only the columns that any pull has something in."""
    beside = {row.pull.id: dict(_beside(report, row)) for row in rows}
    names = list(dict.fromkeys(name for found in beside.values() for name in found))
    heads, taken = ["Pull"], []
    for name, kind, attribute in _READINGS:
        if any(getattr(row.pull, attribute) is not None for row in rows):
            heads.append(f">{_with_unit(name, kind, system)}")
            taken.append((kind, attribute))
    heads += [f">{_with_unit(name, kind, system)}" for name, kind in names]
    cells = []
    for row in rows:
        line = [str(row.pull.number)]
        line += [
            showing.true_minus(quantities.show(getattr(row.pull, a), kind, system, unit=False))
            for kind, a in taken
        ]
        for name, kind in names:
            value = beside[row.pull.id].get((name, kind))
            shown = quantities.show(value, kind, system, unit=False)
            line.append(showing.true_minus(shown))
        cells.append((*line, row.pull.knock))
    return Table("Readings beside the pulls", columns(*heads, "Knock check"), tuple(cells))


def _beside(report: SessionReport, row: PullRow) -> Iterator[tuple[tuple[str, str], float]]:
    for name, kind, value in report.readings.get(row.pull.id, ()):
        yield (name, kind), value


def _with_unit(name: str, kind: str, system: str) -> str:
    unit = quantities.display_unit(kind, system)
    return f"{name}, {unit}" if unit else name


def _remarks(row: PullRow) -> tuple[str, str, str]:
    pull = row.pull
    alarms = f"alarm: {', '.join(pull.alarms)}" if pull.alarms else ""
    seen = "\n".join(text for text in (pull.observations, pull.notes, alarms) if text)
    return str(pull.number), seen, "\n".join(caution.text for caution in row.cautions)


def conditions_parts(report: SessionReport, system: str) -> Iterator[Part]:
    """The air of the pulls, their fuels, and the calibrations that stood then."""
    if report.airs:
        yield _airs(report, system)
    if report.fuels:
        yield _fuels(report.fuels, system)
    yield _calibrations(report)
    through = [r.pull.number for r in report.view.rows if r.pull.recalibration_id is not None]
    if through:
        said = "Corrected through a calibration made afterwards, see the remarks:"
        yield Words(f"{said} {words.pulls(through)}.")


def _airs(report: SessionReport, system: str) -> Table:
    heads = ["Read at", "Pulls"]
    for name, kind in (
        ("Pressure", "pressure"),
        ("Temperature", "temperature"),
        ("Humidity", "fraction"),
        ("Dry pressure", "pressure"),
        ("Density altitude", "altitude"),
    ):
        heads.append(f">{_with_unit(name, kind, system)}")
    rows = tuple(_air(one, report.view.cell.time_zone, system) for one in report.airs)
    heads += [">Factor", "Read from"]
    return Table("The air as the engine breathed it", columns(*heads), rows)


def _air(one: AirUsed, zone: str, system: str) -> tuple[str, ...]:
    reading, state = one.view.reading, one.view.state
    sea_level = " (from a sea-level pressure)" if reading.pressure_typed_as != "station" else ""
    factor = one.view.factor
    outside = "" if one.view.factor_in_range else " outside its range"
    shown = (
        quantities.show(value, kind, system, unit=False)
        for value, kind in (
            (reading.pressure_kpa, "pressure"),
            (reading.temperature_c, "temperature"),
            (state.relative_humidity, "fraction"),
            (state.dry_pressure_kpa, "pressure"),
            (state.density_altitude_m, "altitude"),
        )
    )
    return (
        f"{showing.clock(reading.read_at, zone)}{sea_level}",
        showing.numbers(one.pulls),
        *(showing.true_minus(text) for text in shown),
        showing.NOTHING if factor is None else f"{factor:.4f}{outside}",
        reading.instrument,
    )


def _calibrations(report: SessionReport) -> Table:
    heads = ("Instrument", "Calibrated on", ">Span error", ">Worst reading", ">Tolerance",
             "Verdict", "Due again", "By")  # fmt: skip
    rows = tuple(
        (
            instrument_name(view.calibration),
            calibration_day(view),
            percent_of_span(view.figures.span_error_percent),
            percent_of_span(view.figures.worst_percent),
            "" if view.tolerance_percent is None else f"{view.tolerance_percent:.2f} %",
            verdict_words(view),
            view.calibration.due_on or "",
            view.calibration.who,
        )
        for view in report.calibrations
    )
    empty = f"No calibration of {report.view.cell.name} is on file that stood for these pulls."
    return Table("Calibrations that stood, percent of span", columns(*heads), rows, empty=empty)


def _fuels(fuels: Sequence[Fuel], system: str) -> Table:
    heads = ("Fuel", "Batch", f">{_with_unit('Density', 'density', system)}",
             ">Stoichiometric ratio", "Notes")  # fmt: skip
    rows = tuple(
        (
            fuel.name,
            fuel.batch or showing.NOTHING,
            quantities.show(fuel.density_kg_m3, "density", system, unit=False, digits=1),
            showing.NOTHING
            if fuel.stoichiometric_ratio is None
            else f"{fuel.stoichiometric_ratio:g}",
            fuel.notes,
        )
        for fuel in fuels
    )
    return Table("Fuel on file", columns(*heads), rows)
