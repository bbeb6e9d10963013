"""What is in a build, system by system, and what differs from the build before."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, cast

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.confirm import ConfirmScreen
from logbook.app.screens.detail import DetailScreen
from logbook.app.widgets.ink import Line, one, rows_of, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.attachments import AttachedView
    from logbook.cases.builds import BuildSheet
    from logbook.cases.desk import Desk
    from logbook.records.build_item import BuildItem

    Found = tuple[BuildSheet, list[str], list[AttachedView]]

EMPTY = "No item yet: n enters the first. A new build begins as a copy of this one."
_GONE = "gone:"
_ROLES = {"new": "accent", "reclaimed": "caution", "rejected": "loss", "kept": "quiet"}


class BuildScreen(DetailScreen[None]):
    """The items of one build; ← and → go to the builds before and after."""

    place = "build sheet"
    BINDINGS = bindings("build sheet")

    def __init__(self, tag: str, label: str | None = None) -> None:
        super().__init__()
        self._tag, self._label = tag, label
        self._sheet: BuildSheet | None = None
        self._labels: list[str] = []
        self._files: list[AttachedView] = []

    @property
    def search_start(self) -> str:
        """A search begins within this engine."""
        return f'engine:"{self._tag}" '

    def columns(self) -> Sequence[Column]:
        """Sign, system, item, value; the rest where there is room."""
        return (
            Column("", 1),
            Column("System", 16),
            Column("Item", 20),
            Column("Value", 0),
            Column("Tolerance", 20, least=110),
            Column("Done", 9),
        )

    def reload(self) -> None:
        """Read the build, its parent, and what is attached to it."""
        tag, label = self._tag, self._label

        def job(desk: Desk) -> Found:
            from logbook.cases.attachments import list_attached
            from logbook.cases.builds import build_sheet, list_builds

            sheet = build_sheet(desk, tag, label)
            files = [
                view
                for view in list_attached(desk, tag)
                if view.attachment.build_id == sheet.build.id
            ]
            return sheet, [build.label for build in list_builds(desk, tag)], files

        self.ask("build", job, Got)

    def got(self, lane: str, result: object) -> None:
        """Show it, or say what was done."""
        if lane != "build":
            self.notice(str(result))
            return
        self._sheet, self._labels, self._files = cast("Found", result)
        sheet = self._sheet
        self._label = sheet.build.label
        parent = f"  copied from {sheet.parent.label}" if sheet.parent else ""
        self.query_one("#head", Text).put(
            (
                (f"{sheet.engine.tag}  {sheet.build.label}", "strong"),
                (f"  {showing.date_words(sheet.build.built_on)}{parent}", "quiet"),
            )
        )
        rows = self.query_one(Rows)
        rows.empty = EMPTY
        gone = [change.old for change in sheet.difference if change.new is None]
        rows.put(
            [
                *(self._row(item) for item in sheet.items),
                *(self._row(item, gone=True) for item in gone if item is not None),
            ]
        )
        self.show_chosen()

    def _row(self, item: BuildItem, *, gone: bool = False) -> Row:
        from logbook.reports.filed import LEFT_OUT, mark_of, value_of

        assert self._sheet is not None
        mark = LEFT_OUT if gone else mark_of(self._sheet.change_of(item))
        role = "quiet" if gone else ""
        return Row(
            (_GONE if gone else "") + item.id,
            (
                one(mark, "changed"),
                one(item.system, "quiet"),
                one(item.name, "quiet" if gone else "strong"),
                one(value_of(item), role),
                one(item.typed.get("tolerance", ""), "quiet"),
                one("left out" if gone else item.done, _ROLES.get(item.done, "quiet")),
            ),
        )

    def _item(self, key: str | None) -> BuildItem | None:
        if self._sheet is None or key is None:
            return None
        return next((item for item in self._sheet.items if item.id == key), None)

    def detail(self, key: str | None, width: int) -> Sequence[Line]:
        """The item in full with what it was, then the build's note and files."""
        from logbook.reports.filed import MARKS, mark_of

        sheet = self._sheet
        if sheet is None:
            return ()
        lines: list[Line] = []
        bare = (key or "").removeprefix(_GONE)
        change = next((c for c in sheet.difference if c.item.id == bare), None)
        item = self._item(key) or (change.item if change else None)
        if item is not None:
            lines += item_lines(item, width)
        if change is not None:
            lines += _was_lines(f"{mark_of(change)} {MARKS[mark_of(change)]}", change.old, width)
        if sheet.build.notes:
            lines += wrap(f"Build: {sheet.build.notes}", width, "quiet", indent="  ")[:4]
        if self._files:
            names = [
                view.attachment.name + ("" if view.there else " ⚠ not in its folder")
                for view in self._files
            ]
            lines += wrap(f"Attached: {', '.join(names)}", width, "quiet", indent="  ")[:3]
        return lines

    def key_words(self, key: Key) -> str | None:
        """What does nothing just now has no words."""
        if key.id in ("build.earlier", "build.later") and self._beside(key.id) is None:
            return None
        if key.id in ("build.edit", "build.drop") and self._item(self.chosen) is None:
            return None
        return key.words

    def _beside(self, key_id: str) -> str | None:
        if self._label not in self._labels:
            return None
        place = self._labels.index(self._label) + (1 if key_id == "build.later" else -1)
        return self._labels[place] if 0 <= place < len(self._labels) else None

    def action_build(self, by: int) -> None:
        """The build before or after."""
        label = self._beside("build.later" if by > 0 else "build.earlier")
        if label is not None:
            self._label = label
            self.reload()

    def action_open(self) -> None:
        """Correct the item chosen."""
        if self._sheet is not None and (item := self._item(self.chosen)) is not None:
            self._form(item)

    def action_new_item(self) -> None:
        """Enter an item."""
        self._form(None)

    def _form(self, item: BuildItem | None) -> None:
        from logbook.app.screens.item_form import ItemForm

        if (sheet := self._sheet) is not None:
            systems = list(dict.fromkeys(one.system for one in sheet.items))
            self.app.push_screen(ItemForm(sheet.engine, sheet.build.label, item, systems))

    def action_drop(self) -> None:
        """Take the item chosen out of the sheet, once that was meant."""
        item = self._item(self.chosen)
        if item is None:
            return
        tag, label = self._tag, self._label

        def job(desk: Desk) -> str:
            from logbook.cases.builds import drop_item

            gone = drop_item(desk, tag, label, item.system, item.name)
            return f"{gone.name} taken out. u brings it back."

        def meant(yes: bool | None) -> None:
            if yes:
                self.write(job)

        self.app.push_screen(
            ConfirmScreen("Take out of the sheet", f"{item.system}, {item.name}", yes="take out"),
            meant,
        )

    def action_checks(self) -> None:
        """This build's measures."""
        from logbook.app.screens.checks import ChecksScreen

        self.app.push_screen(ChecksScreen(self._tag, self._label))

    def action_new_build(self) -> None:
        """Enter the next build, as a copy of the newest."""
        from logbook.app.screens.short_forms import BuildForm

        self._label = None  # the new one is the newest
        self.app.push_screen(BuildForm(self._tag, f"build {len(self._labels) + 1}"))

    def action_correct(self) -> None:
        """Correct label, date or note of the build."""
        from logbook.app.screens.short_forms import BuildCorrection

        if (sheet := self._sheet) is not None:

            def named(label: str | None) -> None:
                self._label = label or self._label
                self.reload()

            self.app.push_screen(BuildCorrection(self._tag, sheet.build), named)

    def action_attach(self) -> None:
        """Attach a file to the build."""
        if self._label is not None:
            from logbook.app.screens.attached import attach_file
            from logbook.cases.attachments import Owner

            attach_file(self, Owner(self._tag, build=self._label), self._label)


def item_lines(item: BuildItem, width: int) -> list[Line]:
    """An item in full: value, every cylinder, tolerance, what was done, note."""
    parts: list[Line] = [((f"{item.system} · ", "quiet"), (item.name, "strong"))]
    if item.text:
        parts.append(one(item.text))
    if item.done:
        parts.append(one(item.done, _ROLES[item.done]))
    lines = rows_of(parts, width)
    if item.per_cylinder:
        lines += rows_of(
            [
                ((f"cyl. {cylinder} ", "quiet"), (word, ""))
                for cylinder, word in enumerate(cylinder_words(item), 1)
            ],
            width,
        )
    if "tolerance" in item.typed:
        lines += wrap(f"Tolerance {item.typed['tolerance']}", width, "quiet", indent="  ")
    if item.notes:
        lines += wrap(item.notes, width, indent="  ")[:6]
    return lines


def cylinder_words(item: BuildItem) -> list[str]:
    """Each cylinder's value as it was typed; the unit stands once, after the last."""
    words = item.typed.get("per_cylinder", "").replace(";", " ").split()
    count = len(item.per_cylinder)
    values = [word.rstrip(",") for word in words[:count]]
    return [*values[:-1], " ".join([*values[-1:], *words[count:]])]


def _was_lines(mark: str, old: BuildItem | None, width: int) -> list[Line]:
    from logbook.reports.filed import value_of

    was = f"; was {value_of(old) or 'without a value'}" if old is not None else ""
    return wrap(f"{mark}{was}", width, "changed", indent="  ")
