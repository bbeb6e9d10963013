"""The words that all printed reports share: a judged difference, an air, who made it and when."""

from __future__ import annotations

from importlib.metadata import version
from typing import TYPE_CHECKING

from logbook import quantities
from logbook.reports import showing
from logbook.reports.paper import Answer, Table, columns

if TYPE_CHECKING:
    from collections.abc import Iterable

    from logbook.cases.report import Made
    from logbook.cases.report_engine import SessionLine
    from logbook.cases.results import Worth
    from logbook.records.score import Figures
    from logbook.records.setup import FactorChange


def worth_answer(worth: Worth, lines: Iterable[str], system: str) -> Answer:
    """A judged difference as a report's answer; `lines` come after what it is and its interval."""
    return Answer(
        sign=showing.sign_of(worth.verdict),
        figure=showing.signed(worth.difference_kw, system),
        unit=quantities.display_unit("power", system),
        word=worth.verdict,
        lines=(
            f"{showing.percent(worth.percent)} in corrected {worth.quantity};"
            f" 95 % interval {interval(worth, system)}",
            *(line for line in lines if line),
        ),
    )


def interval(worth: Worth, system: str) -> str:
    """``+1.5 to +4.3 hp``."""
    low, high = (showing.signed(edge, system) for edge in worth.interval_kw)
    return f"{low} to {high} {quantities.display_unit('power', system)}"


def pulls(numbers: Iterable[int]) -> str:
    """``pull 3``, ``pulls 1–3, 7``."""
    several = list(numbers)
    return f"pull{'' if len(several) == 1 else 's'} {showing.numbers(several)}"


def settled_by(worth: Worth) -> str:
    """How many more pulls would settle it."""
    return "" if not worth.more_pulls else f"{showing.count(worth.more_pulls, 'more pull')}"


def judged_head(unit: str) -> tuple[str, ...]:
    """The heads of `judged_cells`."""
    return (f">Worth, {unit}", f">95 % interval, {unit}", ">%", "Verdict")


def judged_cells(worth: Worth, system: str) -> tuple[str, ...]:
    """A judged difference in a table: worth, interval, percent, verdict with its sign."""
    low, high = (showing.signed(edge, system) for edge in worth.interval_kw)
    return (
        showing.signed(worth.difference_kw, system),
        f"{low} to {high}",
        showing.percent(worth.percent).removesuffix(" %"),
        f"{showing.sign_of(worth.verdict)} {worth.verdict}",
    )


def figures_line(figures: Figures, system: str) -> str:
    """Band average and peaks in a line; ``""`` where nothing is known."""
    parts = []
    if figures.band_power_kw is not None:
        parts.append(f"band power {quantities.show(figures.band_power_kw, 'power', system)}")
    if figures.band_torque_nm is not None:
        parts.append(f"band torque {quantities.show(figures.band_torque_nm, 'torque', system)}")
    for name, value, kind, speed in (
        ("peak", figures.peak_power_kw, "power", figures.peak_power_rpm),
        ("peak", figures.peak_torque_nm, "torque", figures.peak_torque_rpm),
    ):
        if value is not None:
            at = "" if speed is None else f" at {speed:.0f} rpm"
            parts.append(f"{name} {quantities.show(value, kind, system)}{at}")
    return ", ".join(parts)


def against_baseline(changed: tuple[FactorChange, ...]) -> str:
    """What a set-up changed, ``same set-up`` where nothing was."""
    return showing.from_to(changed) or "same set-up"


def sessions_table(lines: Iterable[SessionLine], system: str) -> Table:
    """Sessions newest first, each with what its last set-up was worth."""
    unit = quantities.display_unit("power", system)
    rows = tuple(
        (
            showing.day(line.row.opened_at, line.zone),
            line.row.build,
            line.row.purpose,
            str(line.row.pulls),
            quantities.show(line.row.best_power_kw, "power", system, unit=False),
            line.row.standard,
            *_last(line, system),
        )
        for line in lines
    )  # fmt: skip
    heads = ("Session", "Build", "Purpose", ">Pulls", f">Best, {unit}", "Standard",
             "Last set-up, from the baseline", f">Worth, {unit}", "Verdict")  # fmt: skip
    return Table("Sessions, newest first", columns(*heads), rows, empty="No session yet.")


def _last(line: SessionLine, system: str) -> tuple[str, str, str]:
    if line.last is None:
        return (showing.NOTHING,) * 3
    cells = judged_cells(line.last.worth, system)
    return against_baseline(line.last.changed), cells[0], cells[-1]


def made_line(made: Made) -> str:
    """When and by whom a report was made, and with what."""
    at = f"{made.at[:16].replace('T', ' ')} UTC"
    by = f" by {made.who}" if made.who else ""
    program = f"dyno-cell logbook {version('dyno-cell-logbook')}"
    return f"Made {at}{by} from the book {made.book}, {program}."
