"""How the figures of a report were computed, in words, with the sources."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from logbook.reports import showing
from logbook.reports.paper import Facts, Part, Table, columns, facts

if TYPE_CHECKING:
    from logbook.cases.report import SessionReport
    from logbook.cases.results import SessionView
    from logbook.records.engine import Engine

_VERDICTS = (
    ("▲ gain, ▼ loss", "final: the session is closed, the baseline was pulled again after the"
     " change, and the change stands among all the changes tried"),
    ("▲ gain so far, ▼ loss so far", "larger than noise, drift and re-setting explain, but not"
     " final"),
    ("= nothing worth having", "the whole interval lies within what the shop calls worth having"),
    ("? leaning", "rests on single pulls"),
    ("? not settled", "the pulls cannot tell"),
)  # fmt: skip
_NOISE_SOURCES = {
    "this session": "learned from the repeats of this session",
    "cell history": "learned from repeats in earlier sessions of this cell",
    "assumed": "assumed for a cell of this kind: no repeats tell yet",
}


def session_method(report: SessionReport, system: str) -> Iterator[Part]:
    """Standard, figures, noise, intervals and verdicts of a session; the files behind it."""
    view = report.view
    yield standard_facts(view.session.standard, view.engine)
    yield facts(
        ("Power", _power(view)),
        ("Factors used", _factors(report)),
        ("Band average", band_words(view.session.band_low_rpm, view.session.band_high_rpm)),
        ("Baseline", view.baseline_label),
        ("Noise", _noise(view)),
        ("Drift", _drift(view)),
        ("Intervals", "95 %, from one least-squares fit of all set-ups with the day's drift and"
                      " the error of re-setting always in it; those of the difference curve hold"
                      " at each speed by itself"),
        ("Worth having", f"{view.session.worth_having_percent:g} % of the baseline, set for this"
                         " session"),
        ("Observed values", "kept as they were recorded; corrected values are computed from them"
                            " each time"),
    )  # fmt: skip
    yield verdict_table()
    if report.files:
        rows = tuple((str(one.pull), one.name, one.sha256) for one in report.files)
        yield Table("Files the pulls were taken from", columns("Pull", "File", "SHA-256"), rows)


def standard_facts(key: str, engine: Engine) -> Facts:
    """The correction standard in words, or why this engine is not corrected."""
    from logbook.engineering.correction import refusal_to_correct, standard

    chosen = standard(key)
    refused = refusal_to_correct(engine.ignition, engine.aspiration)
    if refused is not None:
        return facts(("Correction", refused))
    return facts(
        ("Standard", chosen.name),
        ("Reference air", chosen.reference),
        ("Formula", f"corrected = observed × factor; {chosen.formula}"),
        ("Remarks", chosen.note),
        ("Source", chosen.source),
    )


def verdict_table() -> Table:
    """What each verdict means."""
    return Table("The verdicts", columns("Verdict", "Means"), _VERDICTS)


def band_words(low: float | None, high: float | None) -> str:
    """What a band average is, or that there is no band."""
    if low is None or high is None:
        return "no band was set: peaks are judged"
    return (
        f"mean over engine speed from {low:.0f} to {high:.0f} rpm, by the trapezoid rule over the"
        " curve, interpolated at the band's edges"
    )


def _power(view: SessionView) -> str:
    stated = f"stated as {view.session.power_rating}"
    driven = view.session.accessories
    with_what = f", accessories: {driven}" if driven else ", no accessories written down"
    source = (
        "torque × speed"
        if view.session.power_source == "torque"
        else "as recorded, else torque × speed"
    )
    return f"{stated}{with_what}; from {source}"


def _factors(report: SessionReport) -> str:
    found = [
        row.score.factor
        for row in report.view.rows
        if row.score is not None and row.score.factor is not None
    ]
    if not found:
        return ""
    low, high = f"{min(found):.4f}", f"{max(found):.4f}"
    return low if low == high else f"{low} to {high}"


def _noise(view: SessionView) -> str:
    noise = view.noise
    if noise is None:
        return ""
    return (
        f"{noise.percent:.2f} % standard deviation of a repeat,"
        f" {_NOISE_SOURCES.get(noise.source, noise.source)}"
    )


def _drift(view: SessionView) -> str:
    drift = view.drift
    if drift is None:
        return ""
    return (
        f"{showing.percent(drift.percent_per_pull, 2)} a pull, standard error"
        f" {drift.standard_error:.2f} %; taken out of every difference"
    )
