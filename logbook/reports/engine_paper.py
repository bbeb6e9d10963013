"""A build and an engine on paper: the best, what it was measured from, every session."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.cases.field_lists import ENGINE_FIELDS
from logbook.reports import paper_words as words
from logbook.reports import showing
from logbook.reports.filed_paper import (
    build_items,
    check_parts,
    inspection_list,
    inspection_sheets,
)
from logbook.reports.method_paper import standard_facts, verdict_table
from logbook.reports.paper import (
    LONG,
    Answer,
    Cautions,
    Paper,
    Part,
    Section,
    Table,
    Words,
    columns,
    facts,
)
from logbook.reports.paper_curves import curve_parts
from logbook.reports.years_paper import sides_answer, sides_parts, years_parts

if TYPE_CHECKING:
    from logbook.cases.fields import Field
    from logbook.cases.report_engine import Best, BuildReport, EngineReport
    from logbook.cases.sides_results import SideCurves, SidesView
    from logbook.records.engine import Engine

MOST_CURVES = 4


def build_paper(report: BuildReport, system: str) -> Paper:
    """The report of a build in the display units of `system`."""
    sheet, against = report.sheet, report.against
    engine, build, parent = sheet.engine, sheet.build, sheet.parent
    answer = sides_answer(against, system) if against is not None else _best(report.best, system)
    why = "" if answer else f"No pull of {build.label} is corrected to {report.standard_name} yet."
    sections = (
        (f"Against {parent.label}" if parent else "Against the build before",
         _comparison(against, report.curves, report.why_alone, system)),
        ("What is in it", build_items(sheet)),
        ("Measures against their tolerances", check_parts(report.checks, system)),
        ("Inspections", inspection_sheets(report.inspections, system)),
        ("Sessions", iter([words.sessions_table(report.sessions, system)])),
        ("How it was computed", _method(report.standard, engine)),
    )  # fmt: skip
    return Paper(
        title=f"{showing.engine_name(engine)}, {build.label}",
        subtitle=f"Build sheet · built {build.built_on or 'on a day not written down'}",
        answer=answer,
        why_none=why,
        cautions=Cautions(tuple(c.text for c in against.cautions) if against else ()),
        facts=facts(
            ("Engine", showing.engine_name(engine)),
            ("Owner", engine.owner),
            ("Build before", parent.label if parent else ""),
            ("Standard", report.standard_name),
            ("Best", _best_line(report.best, system)),
            ("Notes", build.notes),
        ),
        sections=_sections(sections),
        made=words.made_line(report.made),
    )


def engine_paper(report: EngineReport, system: str) -> Paper:
    """The report of an engine in the display units of `system`."""
    engine = report.engine
    top = max(report.bests, key=lambda best: best.rank, default=None)
    sections = (
        ("Best of each build", _bests(report, system)),
        ("Over the years", years_parts(report.years, system)),
        ("Sessions", iter([words.sessions_table(report.sessions, system)])),
        ("Inspections", inspection_list(report.inspections, system)),
        ("The engine's sheet", _sheet(report, system)),
        ("How it was computed", _method(report.standard, engine)),
    )
    return Paper(
        title=showing.engine_name(engine),
        subtitle=f"Engine sheet · {showing.count(len(report.builds), 'build')},"
        f" {showing.count(len(report.sessions), 'session')}",
        answer=_best(top, system),
        why_none=f"No pull is corrected to {report.standard_name} yet.",
        cautions=Cautions(
            ()
            if engine.limit_timing_deg is not None
            else ("There is no timing limit on this engine's sheet.",)
        ),
        facts=facts(
            ("Owner", engine.owner),
            ("Family", engine.family),
            ("Standard", report.standard_name),
            ("Band", showing.band(engine.band_low_rpm, engine.band_high_rpm)),
        ),
        sections=_sections(sections),
        made=words.made_line(report.made),
    )


def _sections(some: tuple[tuple[str, Iterator[Part]], ...]) -> tuple[Section, ...]:
    return tuple(Section(title, parts) for title, held in some if (parts := tuple(held)))


def _best(best: Best | None, system: str) -> Answer | None:
    if best is None:
        return None
    figures = best.figures
    band = figures.band_power_kw is not None
    power = figures.band_power_kw if band else figures.peak_power_kw
    return Answer(
        sign="",
        figure=quantities.show(power, "power", system, unit=False),
        unit=quantities.display_unit("power", system),
        word=f"best corrected {'band average' if band else 'peak'}",
        lines=(
            f"Pull {best.label}, {best.build.label}: {words.figures_line(figures, system)}.",
            showing.set_up(best.row.setup),
        ),
    )


def _best_line(best: Best | None, system: str) -> str:
    return f"pull {best.label}: {words.figures_line(best.figures, system)}" if best else ""


def _comparison(
    view: SidesView | None, curves: SideCurves | None, why: str, system: str
) -> Iterator[Part]:
    if view is None:
        if why:
            yield Words(why)
        return
    yield from sides_parts(view, curves, system)


def _band(engine: Engine) -> tuple[float, float] | None:
    low, high = engine.band_low_rpm, engine.band_high_rpm
    return (low, high) if low is not None and high is not None else None


def _bests(report: EngineReport, system: str) -> Iterator[Part]:
    power, torque = (quantities.display_unit(kind, system) for kind in ("power", "torque"))
    rows = []
    for best in report.bests:
        cells = (
            ("band_power_kw", "power"),
            ("peak_power_kw", "power"),
            ("peak_power_rpm", "speed"),
            ("peak_torque_nm", "torque"),
            ("peak_torque_rpm", "speed"),
        )
        shown = (
            quantities.show(getattr(best.figures, name), kind, system, unit=False)
            for name, kind in cells
        )
        rows.append(
            (best.build.label, best.label, *shown, showing.set_up(best.row.setup), best.logged_to)
        )
    heads = ("Build", "Pull", f">Band power, {power}", f">Peak power, {power}", ">at rpm",
             f">Peak torque, {torque}", ">at rpm", "Set-up", "Logged under")  # fmt: skip
    yield Table(f"Corrected to {report.standard_name}", columns(*heads), tuple(rows),
                empty="No build has a corrected pull yet.")  # fmt: skip
    newest = [best for best in reversed(report.bests) if best.curve is not None][:MOST_CURVES]
    curves = [(best.build.label, best.curve) for best in newest if best.curve is not None]
    yield from curve_parts(None, ("", ""), curves, _band(report.engine), system)


def _sheet(report: EngineReport, system: str) -> Iterator[Part]:
    engine = report.engine
    said = [(field.label, _value(field, engine, system)) for field in ENGINE_FIELDS]
    yield facts(
        *(pair for pair in said if len(pair[1]) <= LONG),
        ("Band", showing.band(engine.band_low_rpm, engine.band_high_rpm)),
    )
    yield facts(*(pair for pair in said if len(pair[1]) > LONG))
    rows = tuple((one.label, one.built_on or showing.NOTHING, one.notes) for one in report.builds)
    yield Table("Builds, oldest first", columns("Build", "Built on", "Notes"), rows)


def _value(field: Field, engine: Engine, system: str) -> str:
    value = getattr(engine, field.attribute)
    if value is None or value == "":
        return ""
    if field.is_quantity:
        return showing.shown(value, field.kind, system)
    return f"{value:g}" if isinstance(value, float) else str(value)


def _method(key: str, engine: Engine) -> Iterator[Part]:
    yield standard_facts(key, engine)
    yield Words(
        "A difference between two sessions is judged by how well this cell reproduces a set-up"
        " from day to day; within one session by that session's noise. The best of a build is one"
        " pull chosen because it is the highest: it flatters a little."
    )
    yield verdict_table()
