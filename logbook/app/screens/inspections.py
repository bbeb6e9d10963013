"""The inspections of an engine, newest first; beneath the list the one chosen, cylinder by
cylinder."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.detail import DetailScreen
from logbook.app.widgets.ink import Line, one, pad, rows_of, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.inspections import InspectionView
    from logbook.records.engine import Engine

    Found = tuple[Engine, list[InspectionView]]

EMPTY = "No inspection yet: n takes the first down."
VERDICT_ROLES = {"within": "gain", "reclaim": "caution", "reject": "loss"}
_LABEL, _CELL = 28, 6
_OF_ONE = frozenset({"inspections.edit", "inspections.clearance", "inspections.attach"})


class InspectionsScreen(DetailScreen[None]):
    """Leak-down, cranking compression, lash, plugs, clearances."""

    place = "inspections"
    BINDINGS = bindings("inspections")
    heading = "Inspections"

    def __init__(self, tag: str) -> None:
        super().__init__()
        self._tag = tag
        self._engine: Engine | None = None
        self._views: dict[str, InspectionView] = {}

    @property
    def search_start(self) -> str:
        """A search begins within this engine."""
        return f'engine:"{self._tag}" '

    def columns(self) -> Sequence[Column]:
        """Date, build and how far the cylinders spread."""
        return (
            Column("Date", 11),
            Column("Build", 8),
            Column("Kind", 0),
            Column("Leak-down", 16),
            Column("Cranking", 22, least=96),
            Column("Clearances", 22, least=110),
            Column("By", 5, least=70),
        )

    def reload(self) -> None:
        """Read them."""
        tag = self._tag

        def job(desk: Desk) -> Found:
            from logbook.cases.engines import engine_by_tag
            from logbook.cases.inspections import list_inspections

            return engine_by_tag(desk, tag), list_inspections(desk, tag)

        self.ask("inspections", job, Got)

    def got(self, lane: str, result: object) -> None:
        """Show them."""
        if lane != "inspections":
            self.notice(str(result))
            return
        self._engine, found = cast("Found", result)
        self._views = {view.inspection.id: view for view in found}
        self.query_one("#head", Text).put(
            (("Inspections of ", "strong"), (self._engine.tag, "strong"),
             (f"  {len(found)}", "quiet"))
        )  # fmt: skip
        rows = self.query_one(Rows)
        rows.empty = EMPTY
        rows.put([self._row(view) for view in found])
        self.show_chosen()

    def _row(self, view: InspectionView) -> Row:
        from logbook.reports.filed import spread_words, verdicts

        one_, units = view.inspection, self.book.units
        leaks, cranking = (
            spread_words(found, kind, units).replace(", cylinder", " ⚠ cyl").split(" stand")[0]
            for found, kind in (
                (view.leak_down, "percent"), (view.cranking, "cylinder_pressure"),
            )
        )  # fmt: skip
        return Row(
            one_.id,
            (
                one(showing.date_words(one_.inspected_on), "strong"),
                one(view.build.label if view.build else ""),
                one(one_.kind),
                one(leaks, "caution" if "⚠" in leaks else ""),
                one(cranking, "caution" if "⚠" in cranking else ""),
                one(verdicts(view.clearances), "quiet"),
                one(one_.who, "quiet"),
            ),
        )

    def detail(self, key: str | None, width: int) -> Sequence[Line]:
        """The inspection in full."""
        view = self._views.get(key or "")
        return inspection_lines(view, width, self.book.units) if view else ()

    def key_words(self, key: Key) -> str | None:
        """Nothing to correct without an inspection."""
        if key.id in _OF_ONE and self.chosen is None:
            return None
        return key.words

    def action_open(self) -> None:
        """Correct the inspection chosen."""
        self._form(self._views.get(self.chosen or ""))

    def action_new(self) -> None:
        """Take an inspection down."""
        if (engine := self._engine) is not None:
            from logbook.app.screens.inspection_form import InspectionForm

            self.app.push_screen(InspectionForm(engine, None))

    def _form(self, view: InspectionView | None) -> None:
        if view is not None:
            from logbook.app.screens.inspection_form import InspectionForm

            self.app.push_screen(InspectionForm(view.engine, view.inspection))

    def action_attach(self) -> None:
        """Attach a file to the inspection chosen."""
        view = self._views.get(self.chosen or "")
        if view is not None:
            from logbook.app.screens.attached import attach_file
            from logbook.cases.attachments import Owner

            on = showing.date_words(view.inspection.inspected_on)
            attach_file(self, Owner(inspection=view.inspection.id), f"the inspection of {on}")

    def action_clearance(self) -> None:
        """Add a clearance to the inspection chosen."""
        view = self._views.get(self.chosen or "")
        if view is not None:
            from logbook.app.screens.inspection_form import ClearanceForm

            self.app.push_screen(ClearanceForm(view.inspection))


def inspection_lines(view: InspectionView, width: int, system: str) -> list[Line]:
    """Spreads in words, a row for everything measured on cylinders, clearances, notes."""
    from logbook.quantities import show
    from logbook.reports.filed import cylinder_table, spread_words

    found = view.inspection
    lines: list[Line] = []
    columns, rows = cylinder_table(found, system)
    if rows:
        count = len(rows)
        numbers = "".join(pad(str(n), _CELL, "right") for n in range(1, count + 1))
        lines.append(((pad("Cylinder", _LABEL), "quiet"), (numbers, "quiet")))
        for place, label in enumerate(columns[1:], 1):
            apart = _apart(view, label)
            cells = tuple(
                (pad(row[place], _CELL, "right"), "caution" if n in apart else "")
                for n, row in enumerate(rows, 1)
            )
            lines.append(((pad(label, _LABEL), ""), *cells))
    words = [
        ((f"{label} ", "quiet"), (text, "caution" if "apart" in text else ""))
        for label, text in (
            ("Leak-down", spread_words(view.leak_down, "percent", system)),
            ("Cranking compression", spread_words(view.cranking, "cylinder_pressure", system)),
            ("Lash hot at", show(found.lash_hot_c, "temperature", system)),
            ("cold at", show(found.lash_cold_c, "temperature", system)),
        )
        if text not in ("", "—")
    ]
    lines += rows_of(words, width)
    lines += _clearance_lines(view, width, system)
    for label, text in (("Filter cut open", found.filter_cut), ("Note", found.notes)):
        if text:
            lines += wrap(f"{label}: {text}", width, indent="  ")[:4]
    return lines


def _apart(view: InspectionView, label: str) -> tuple[int, ...]:
    """The cylinders that stand apart in a row of the table."""
    if label.startswith("Leak-down") and view.leak_down:
        return view.leak_down.outliers
    return view.cranking.outliers if label.startswith("Cranking") and view.cranking else ()


def _clearance_lines(view: InspectionView, width: int, system: str) -> list[Line]:
    from logbook.reports.filed import VERDICT_SIGNS, clearance, limit_words

    lines = []
    for found in view.clearances:
        where = f" {found.place}" if found.place else ""
        limit = limit_words(found, system)
        lines += rows_of(
            [
                ((f"{VERDICT_SIGNS[found.verdict]} {found.verdict}  ",
                  VERDICT_ROLES[found.verdict]), (f"{found.name}{where}", "")),
                one(clearance(found.measured_mm, system), "strong"),
                one(f"limit {limit}" if limit else "", "quiet"),
            ],
            width,
        )  # fmt: skip
        if found.notes:
            lines += [(("    ", ""), *line) for line in wrap(found.notes, width - 4, "quiet")[:2]]
    return lines
