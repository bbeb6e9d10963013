"""Tables for people: how a cell, a list and a sheet look. Labels in plain words with units.

Every text of a person passes through `plain`; nothing is cut without a sign (a narrow terminal
folds), and a color never stands alone: the verdict's sign and word are beside it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from rich import box
from rich.table import Table
from rich.text import Text

from logbook.plain import plain
from logbook.quantities import display_unit, show
from logbook.records.times import local
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.results import Worth
    from logbook.records.cell import Cell
    from logbook.records.engine import Build, Fuel
    from logbook.records.lists import EngineRow, FoundPull, SessionRow
    from logbook.store.audit import ChangeGroup

NOTHING = showing.NOTHING
_STYLES = {
    showing.GAIN_SIGN: "green",
    showing.LOSS_SIGN: "red",
    showing.UNSETTLED_SIGN: "yellow",
}


def grid(columns: Sequence[str], rows: Iterable[Sequence[str | Text]], *, right: str = "") -> Table:
    """A list. `right` names the columns with numbers, by their letters ``a``, ``b`` …"""
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False)
    for position, column in enumerate(columns):
        aligned = chr(ord("a") + position) in right
        table.add_column(column, justify="right" if aligned else "left", overflow="fold")
    for row in rows:
        table.add_row(*(value if isinstance(value, Text) else Text(plain(value)) for value in row))
    return table


def sheet(lines: Iterable[tuple[str, str | Text]]) -> Table:
    """Label and value, one pair a line; values that say nothing are left out."""
    table = Table.grid(padding=(0, 2))
    table.add_column(overflow="fold")
    table.add_column(overflow="fold")
    for label, value in lines:
        if isinstance(value, Text):
            table.add_row(label, value)
        elif value not in ("", NOTHING):
            table.add_row(label, Text(plain(value, lines=True)))
    return table


def heading(text: str) -> Text:
    """A line over a table."""
    return Text(plain(text), style="bold")


def when(stamp: str | None, zone: str) -> str:
    """A stored time on the clock of a time zone: ``2026-03-14 14:05``."""
    return f"{local(stamp, zone):%Y-%m-%d %H:%M}" if stamp else NOTHING


def unit(label: str, kind: str, system: str) -> str:
    """A column's head with its unit: ``Band power, hp``."""
    return f"{label}, {display_unit(kind, system)}"


def number(value: float | None, kind: str, system: str, *, signed: bool = False) -> str:
    """A value without its unit, for a column that names it."""
    text = show(value, kind, system, unit=False)
    return f"+{text}" if signed and value is not None and value > 0 else text.replace("-", "−")


def verdict(worth: Worth | None) -> Text:
    """The verdict's sign and word, colored where the terminal has color."""
    return Text(NOTHING) if worth is None else verdict_text(worth.verdict)


def verdict_text(word: str) -> Text:
    """A verdict word with its sign."""
    sign = showing.sign_of(word)
    return Text(f"{sign} {plain(word)}", style=_STYLES.get(sign, ""))


def engines(rows: Iterable[EngineRow], system: str, zone: str) -> Table:
    """The engines with their last session and best."""
    columns = ("Engine", "Name", "Family", "Build", "Sessions", "Pulls", "Last session",
               unit("Best corrected power", "power", system), "Standard")  # fmt: skip
    return grid(
        columns,
        (
            (
                row.tag,
                row.name,
                row.family,
                row.build,
                str(row.sessions),
                str(row.pulls),
                when(row.last_session_at, zone) + (" open" if row.open_session_id else ""),
                number(row.best_power_kw, "power", system),
                row.best_standard or "",
            )
            for row in rows
        ),
        right="efh",
    )


def sessions(rows: Iterable[SessionRow], system: str, zone: str) -> Table:
    """Sessions, newest first."""
    columns = ("Session", "Engine", "Build", "Opened", "Status", "Pulls",
               unit("Best corrected power", "power", system), "Standard", "Purpose")  # fmt: skip
    return grid(
        columns,
        (
            (
                row.id,
                row.engine_tag,
                row.build,
                when(row.opened_at, zone),
                row.status,
                str(row.pulls),
                number(row.best_power_kw, "power", system),
                row.standard,
                row.purpose,
            )
            for row in rows
        ),
        right="fg",
    )


def found(rows: Iterable[FoundPull], system: str, zone: str) -> Table:
    """What a search found, newest first. A peak that stands for a missing band average is
    marked as one."""
    columns = ("Engine", "Build", "At", "Pull", "Timing, °", "Fuel",
               unit("Corrected power", "power", system), "Standard", "Note", "Id")  # fmt: skip
    return grid(
        columns,
        (
            (
                row.engine_tag,
                row.build,
                when(row.at, zone),
                str(row.number) + (" excluded" if row.excluded else ""),
                NOTHING if row.timing_deg is None else f"{row.timing_deg:g}",
                row.fuel,
                number(row.power_kw, "power", system)
                + ("" if row.power_is_band or row.power_kw is None else " peak"),
                row.standard,
                row.note,
                row.pull_id,
            )
            for row in rows
        ),
        right="deg",
    )


def builds(rows: Iterable[Build]) -> Table:
    """The builds of an engine, newest last."""
    return grid(
        ("Build", "Built on", "Notes"), ((b.label, b.built_on or NOTHING, b.notes) for b in rows)
    )


def fuels(rows: Iterable[Fuel], system: str) -> Table:
    """The fuels on file."""
    columns = ("Fuel", "Batch", unit("Density", "density", system), "Stoichiometric ratio",
               "RON", "MON", "Opened on", "Notes")  # fmt: skip
    return grid(
        columns,
        (
            (
                fuel.name,
                fuel.batch,
                show(fuel.density_kg_m3, "density", system, digits=1, unit=False),
                _general(fuel.stoichiometric_ratio),
                _general(fuel.octane_ron),
                _general(fuel.octane_mon),
                fuel.opened_on or NOTHING,
                fuel.notes,
            )
            for fuel in rows
        ),
        right="cdef",
    )


def cells(rows: Iterable[Cell], system: str) -> Table:
    """The cells with what their sessions start from."""
    columns = ("Cell", unit("Altitude", "altitude", system), "Time zone", "Absorber", "Standard",
               "Units", "Air is stale after, min", "Worth having, %")  # fmt: skip
    return grid(
        columns,
        (
            (
                cell.name,
                number(cell.altitude_m, "altitude", system),
                cell.time_zone,
                cell.absorber,
                cell.standard,
                cell.units,
                _general(cell.air_stale_after_min),
                _general(cell.worth_having_percent),
            )
            for cell in rows
        ),
        right="bgh",
    )


def change_groups(rows: Iterable[ChangeGroup], zone: str) -> Table:
    """The audit trail, newest first."""
    return grid(
        ("At", "Who", "What", "Why", ""),
        (
            (when(row.at, zone), row.who, row.what, row.why, "taken back" if row.undone_by else "")
            for row in rows
        ),
    )


def _general(value: float | None) -> str:
    return NOTHING if value is None else f"{value:g}"
