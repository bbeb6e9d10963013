"""A session on paper: the answer, why it can be trusted, and everything it rests on."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.records.session import CLOSED
from logbook.reports import paper_words as words
from logbook.reports import showing
from logbook.reports.closing_words import baseline_words, open_words
from logbook.reports.ledger_paper import ledger_parts
from logbook.reports.method_paper import session_method
from logbook.reports.paper import (
    Answer,
    Cautions,
    Facts,
    Paper,
    Part,
    Section,
    Table,
    Words,
    columns,
    facts,
)
from logbook.reports.paper_curves import curve_parts
from logbook.reports.pulls_paper import conditions_parts, pulls_parts
from logbook.reports.timing_paper import timing_parts

if TYPE_CHECKING:
    from logbook.cases.report import SessionReport
    from logbook.cases.results import AnswerView, SessionView


def session_paper(report: SessionReport, system: str) -> Paper:
    """The report of a session in the display units of `system`."""
    view, session = report.view, report.view.session
    answer, why = _answer(report, system)
    sections = (
        ("What changed over engine speed", _curves(report, system)),
        ("Every set-up against the baseline", _set_ups(report, system)),
        ("Step by step", ledger_parts(report.ledger, report.why_no_ledger, system)),
        ("Timing", timing_parts(report.timing)),
        ("The pulls", pulls_parts(report, system)),
        ("Air, fuel and calibration", conditions_parts(report, system)),
        ("How it was computed", session_method(report, system)),
    )
    return Paper(
        title=showing.engine_name(view.engine),
        subtitle=" · ".join(
            (
                f"Session of {showing.day(session.opened_at, view.cell.time_zone)}",
                view.build.label,
                "closed" if session.status == CLOSED else "still open: every verdict is so far",
            )
        ),
        answer=answer,
        why_none=why,
        cautions=_cautions(report),
        facts=_facts(view),
        sections=tuple(Section(title, parts) for title, some in sections if (parts := tuple(some))),
        made=words.made_line(report.made),
    )


def _answer(report: SessionReport, system: str) -> tuple[Answer | None, str]:
    found = report.answer
    if found is None:
        return None, "No pull was logged in this session."
    row, worth = found.row, found.from_baseline
    figures = row.score.corrected if row.score else None
    pulled = words.figures_line(figures, system) if figures else ""
    now = f"Pull {row.pull.number}, corrected: {pulled}." if pulled else ""
    if worth is None:
        return None, " ".join(filter(None, (f"{found.why_none}.", now)))
    changed = next(one.changed for one in report.set_ups if row.pull.number in one.pulls)
    what = (
        f"{words.pulls(worth.pulls).capitalize()} against the baseline"
        f" ({report.view.baseline_label}): {words.against_baseline(changed)}."
    )
    settle = words.settled_by(worth)
    lines = (
        what,
        now,
        _from_before(found, system),
        worth.reason,
        f"To settle it: {settle}." if settle else "",
    )
    return words.worth_answer(worth, lines, system), ""


def _cautions(report: SessionReport) -> Cautions:
    """The session's, then those of the pulls that the answer rests on, each once."""
    texts = [caution.text for caution in report.view.cautions]
    if report.view.rows and not report.airs:
        texts.insert(0, "There is no air reading: nothing is corrected")
    if report.answer is not None:
        texts += [caution.text for caution in report.answer.row.cautions]
    if report.view.noise is not None and report.view.noise.source == "assumed":
        texts.append(
            f"The noise of {report.view.noise.percent:.2f} % is assumed: no repeats of this"
            " session or this cell say better yet"
        )
    return Cautions(tuple(dict.fromkeys(texts)))


def _facts(view: SessionView) -> Facts:
    session, zone = view.session, view.cell.time_zone
    noise, drift = view.noise, view.drift
    closed = f", closed {showing.day(session.closed_at, zone)}" if session.closed_at else ""
    return facts(
        ("Purpose", session.purpose),
        ("Engine", showing.engine_name(view.engine)),
        ("Owner", view.engine.owner),
        ("Build", view.build.label),
        ("Cell", view.cell.name),
        ("Operator", session.operator),
        ("Opened", f"{showing.day(session.opened_at, zone)},"
                   f" {showing.clock(session.opened_at, zone)} {zone}{closed}"),
        ("Standard", view.standard_name),
        ("Power stated as", session.power_rating),
        ("Band", showing.band(session.band_low_rpm, session.band_high_rpm)),
        ("Baseline", view.baseline_label),
        ("Noise", f"{noise.percent:.2f} %, {noise.source}" if noise else ""),
        ("Drift", f"{showing.percent(drift.percent_per_pull, 2)} a pull" if drift else ""),
        ("Worth having", f"{session.worth_having_percent:g} %"),
        ("Exhaust", session.exhaust),
        ("Accessories", session.accessories),
        ("Oil", session.oil),
        ("Notes", session.notes),
    )  # fmt: skip


def _curves(report: SessionReport, system: str) -> Iterator[Part]:
    found = report.answer
    if found is None:
        return
    session = report.view.session
    low, high = session.band_low_rpm, session.band_high_rpm
    name = f"pull {found.row.pull.number}"
    if found.from_baseline is not None and len(found.from_baseline.pulls) > 1:
        name = words.pulls(found.from_baseline.pulls)
    yield from curve_parts(
        found.difference,
        (name, "baseline"),
        [(_name(curve.label), curve) for curve in (found.curve, found.reference) if curve],
        (low, high) if low is not None and high is not None else None,
        system,
    )


def _name(label: str) -> str:
    return label[:1].lower() + label[1:]


def _set_ups(report: SessionReport, system: str) -> Iterator[Part]:
    unit = quantities.display_unit("power", system)
    rows = tuple(
        (
            showing.numbers(one.pulls),
            words.against_baseline(one.changed),
            *words.judged_cells(one.worth, system),
            words.settled_by(one.worth),
        )
        for one in report.set_ups
    )
    heads = ("Pulls", "Changed from the baseline", *words.judged_head(unit), "To settle it")
    empty = "Nothing but the baseline has been judged."
    yield Table("Corrected, in the order they were pulled", columns(*heads), rows, empty=empty)
    said = [baseline_words(report.closing)]
    if report.view.session.status == CLOSED:
        # What has landed since belongs to whoever is in the cell, not to this sheet.
        said.append(open_words(replace(report.closing, waiting=0)))
    yield Words(" ".join(said))


def _from_before(found: AnswerView, system: str) -> str:
    """The change from the set-up before, in a line; ``""`` where there is none."""
    worth = found.from_previous
    if worth is None:
        return ""
    return (
        f"From the set-up before: {showing.sign_of(worth.verdict)}"
        f" {showing.signed(worth.difference_kw, system, unit=True)}, {worth.verdict}."
    )
