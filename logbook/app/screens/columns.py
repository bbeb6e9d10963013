"""What the columns of a file are: said once, remembered for all files with that header."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.screens.chooser import Chooser
from logbook.app.widgets.ink import BLANK, Line, one, rows_of, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.intake.channels import USUAL_UNIT

if TYPE_CHECKING:
    from logbook.cases.columns import ColumnsView, Meaning
    from logbook.cases.desk import Desk
    from logbook.intake.unsettled import ShownColumn

_FROM_HEADER = "as the header says"


class ColumnsScreen(BookScreen[bool]):
    """Answers whether the columns were named. What is open stands first."""

    place = "columns"
    BINDINGS = bindings("columns")
    DEFAULT_CSS = """
    ColumnsScreen #read { height: auto; padding: 0 1; }
    """

    def __init__(self, path: Path, landing_id: str | None) -> None:
        super().__init__()
        self._path, self._landing_id = path, landing_id
        self._view: ColumnsView | None = None
        self._said: dict[str, Meaning] | None = None
        self._order: list[str] = []

    def content(self) -> ComposeResult:
        """What stands in the way, the columns, and how the file would now be read."""
        yield Text(((f"Columns of {self._path.name}", "strong"),), id="head")
        yield Rows(
            (Column("Column", 0), Column("First values", 24), Column("Is", 26)),
            empty="Reading the file …",
        )
        yield Text(id="read")

    def reload(self) -> None:
        """Read the file with what has been said so far."""
        path, landing_id, said = self._path, self._landing_id, self._said

        def job(desk: Desk) -> ColumnsView:
            from logbook.cases.columns import columns_of

            return columns_of(desk, path, landing_id, said)

        self.ask("columns", job, Got, f"reading {path.name}")

    def got(self, lane: str, result: object) -> None:
        """Show the columns, or leave once they are remembered."""
        if lane == "save":
            self.dismiss(True)
            self.book.say(str(result))
            return
        first = self._view is None
        view = self._view = cast("ColumnsView", result)
        self._said = dict(view.said)
        if first:  # they keep their places while somebody answers
            self._order = [column.name for column in sorted(view.columns, key=_place)]
        by_name = {column.name: column for column in view.columns}
        self.query_one(Rows).put([self._row(by_name[name]) for name in self._order])
        width = max(20, self.size.width - 2)
        head: list[Line] = [((f"Columns of {view.name}", "strong"),)]
        if view.refusal:
            head += wrap(f"⚠ {view.refusal.partition(';')[0]}", width, "caution")[:3]
        self.query_one("#head", Text).put(*head)
        self.query_one("#read", Text).put(*_read_lines(view, self.book.units, width))
        self.refresh_keys()

    def _row(self, column: ShownColumn) -> Row:
        said = (self._said or {}).get(column.name)
        shown = f"{column.name} [{column.unit}]" if column.unit and not said else column.name
        return Row(column.name, (one(shown, "strong"), one(" · ".join(column.first), "quiet"),
                                 _meaning(column, said)))  # fmt: skip

    def key_words(self, key: Key) -> str | None:
        """Only what is read whole can be remembered."""
        if key.id == "columns.save" and (self._view is None or self._view.refusal):
            return None
        return key.words

    def action_say(self) -> None:
        """What is the chosen column?"""
        row, view = self.query_one(Rows).current, self._view
        if row is None or view is None:
            return
        from logbook.cases.columns import meanings

        column = next(one_ for one_ in view.columns if one_.name == row.key)
        found = meanings(column, self.book.units)
        options = [(str(at), one(_words(meaning))) for at, meaning in enumerate(found)]
        if column.name in view.said:
            options.append((_FROM_HEADER, one(_FROM_HEADER, "quiet")))

        def taken(answer: str | None) -> None:
            if answer is not None:
                chosen = None if answer == _FROM_HEADER else found[int(answer)]
                self._said = view.saying(column.name, chosen)
                self.reload()

        self.app.push_screen(Chooser(f"What is {column.name}?", options), taken)

    def on_rows_chosen(self) -> None:
        """A second click asks."""
        self.action_say()

    def action_save(self) -> None:
        """Remember it for all files with this header."""
        view = self._view
        if view is None or view.refusal:
            return

        def job(desk: Desk) -> str:
            from logbook.cases.columns import name_columns

            name_columns(desk, view)
            return f"Remembered for files with the header of {view.name}. u takes it back."

        self.change("save", job, Got)


def _place(column: ShownColumn) -> int:
    """What is known but for its unit comes first, then what is not known at all."""
    if column.quantity:
        return 2 if column.unit or column.quantity in USUAL_UNIT else 0
    return 1


def _meaning(column: ShownColumn, said: Meaning | None) -> Line:
    if said is not None:
        return (("● ", "changed"), (_words(said), "changed"))
    if not column.quantity:
        return one("not known", "quiet")
    if not column.unit and column.quantity not in USUAL_UNIT:
        return ((column.quantity, ""), (", which unit?", "caution"))
    return one(f"{column.quantity}, {column.unit}" if column.unit else column.quantity)


def _words(meaning: Meaning) -> str:
    return f"{meaning.quantity}, {meaning.unit}" if meaning.unit else meaning.quantity


def _read_lines(view: ColumnsView, system: str, width: int) -> list[Line]:
    """How the file would be read."""
    part = view.part
    if part is None:
        return [one("Enter on a column says what it is.", "quiet")]
    count = "" if view.parts < 2 else f"{view.parts} pulls, the longest "
    parts = [one(f"Read as {count}{part.speed_from_rpm:.0f}–{part.speed_to_rpm:.0f} rpm", "strong")]
    for value, at, kind in (
        (part.peak_torque_nm, part.peak_torque_rpm, "torque"),
        (part.peak_power_kw, part.peak_power_rpm, "power"),
    ):
        shown = quantities.show(value, kind, system)
        parts.append(one(f"peak {shown} at {at:.0f}") if at is not None else BLANK)
    return rows_of(parts, width)
