"""Attached files: everything on an engine, its builds, inspections and sessions; more are added
to the one that the screen was opened for."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.confirm import ConfirmScreen
from logbook.app.screens.detail import DetailScreen
from logbook.app.widgets.ink import Line, one, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.app.screens.base import BookScreen
    from logbook.cases.attachments import AttachedView, Owner
    from logbook.cases.desk import Desk


def attach_file(screen: BookScreen[None], owner: Owner, of: str) -> None:
    """Choose a file and keep it on `owner`, called `of` in words; the app says what was done."""
    from logbook.app.screens.file_picker import FilePicker

    book = screen.book

    def chosen(path: Path | None) -> None:
        if path is not None:
            book.work.write(book, "attach", _attaching(path, owner, of), Got,
                            f"keeping {path.name}")  # fmt: skip

    screen.app.push_screen(FilePicker(f"File to attach to {of}"), chosen)


def _attaching(path: Path, owner: Owner, of: str) -> Callable[[Desk], str]:
    def job(desk: Desk) -> str:
        from logbook.cases.attachments import attach

        kept = attach(desk, path, owner)
        return f"{kept.attachment.name} attached to {of}. u takes it off."

    return job


class AttachedScreen(DetailScreen[None]):
    """The files of an engine. Those added here hang on `owner`, called `of`."""

    place = "attached"
    BINDINGS = bindings("attached")

    def __init__(self, tag: str, owner: Owner, of: str) -> None:
        super().__init__()
        self._tag, self._owner, self._of = tag, owner, of
        self._views: dict[str, AttachedView] = {}

    def columns(self) -> Sequence[Column]:
        """Name, what it hangs on, size, day."""
        return (
            Column("File", 0),
            Column("Attached to", 28),
            Column("Size", 9, "right"),
            Column("On", 12, least=90),
        )

    def reload(self) -> None:
        """Read them."""
        tag = self._tag

        def job(desk: Desk) -> list[AttachedView]:
            from logbook.cases.attachments import list_attached

            return list_attached(desk, tag)

        self.ask("attached", job, Got)

    def got(self, lane: str, result: object) -> None:
        """Show them, or say what was done."""
        if lane != "attached":
            self.notice(str(result))
            return
        found = cast("list[AttachedView]", result)
        self._views = {view.attachment.id: view for view in found}
        self.query_one("#head", Text).put(
            (("Files attached to ", "strong"), (self._tag, "strong"),
             (f"  {len(found)}; a new one goes to {self._of}", "quiet"))
        )  # fmt: skip
        rows = self.query_one(Rows)
        rows.empty = f"No file yet: n attaches one to {self._of}."
        rows.put([self._row(view) for view in found])
        self.show_chosen()

    def _row(self, view: AttachedView) -> Row:
        from logbook.reports.filed import size_words

        name: Line = one(view.attachment.name, "strong")
        return Row(
            view.attachment.id,
            (
                name if view.there else (("⚠ ", "caution"), *name),
                one(view.of),
                one(size_words(view.attachment.size_bytes), "quiet"),
                one(showing.day(view.attachment.attached_at, self.book.zone), "quiet"),
            ),
        )

    def detail(self, key: str | None, width: int) -> Sequence[Line]:
        """Where the file stands, and its note."""
        view = self._views.get(key or "")
        if view is None:
            return ()
        place = "/".join(view.path.parts[-3:])
        kept = f"Kept beside the book as {place}"
        if not view.there:
            kept = f"⚠ Not beside the book any more: {place}"
        lines = wrap(kept, width, "quiet" if view.there else "caution", indent="  ")
        if view.attachment.notes:
            lines += wrap(f"Note: {view.attachment.notes}", width, indent="  ")[:4]
        return lines

    def key_words(self, key: Key) -> str | None:
        """Nothing to take off without a file."""
        return None if key.id == "attached.drop" and self.chosen is None else key.words

    def action_new(self) -> None:
        """Attach another."""
        attach_file(self, self._owner, self._of)

    def action_drop(self) -> None:
        """Take the file chosen off, once that was meant."""
        view = self._views.get(self.chosen or "")
        if view is None:
            return
        attachment = view.attachment

        def job(desk: Desk) -> str:
            from logbook.cases.attachments import detach

            return f"{detach(desk, attachment.id).name} taken off. u brings it back."

        def meant(yes: bool | None) -> None:
            if yes:
                self.write(job)

        self.app.push_screen(
            ConfirmScreen("Take off", f"{attachment.name}, attached to {view.of}", yes="take off"),
            meant,
        )
