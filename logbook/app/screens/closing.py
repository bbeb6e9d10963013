"""The ways out of the Session screen for the session itself: its sheets, its report, its close."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.screens.confirm import ConfirmScreen
from logbook.records.session import CLOSED
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.closing import Closing
    from logbook.cases.desk import Desk
    from logbook.cases.results import SessionView

_ROWS_BESIDE = 13  # of the question before a session closes, beside its verdicts


class SessionClosing(BookScreen[None]):
    """What leads to the session's own sheets, and how it is closed."""

    session_id: str

    def __init__(self) -> None:
        super().__init__()
        self.view: SessionView | None = None
        self._close_sure: Callable[[bool | None], None] = lambda _: None

    def action_report(self) -> None:
        """Write the session's report: a page, opened or not, or text."""
        if self.view is not None:
            from logbook.app.screens.report_door import offer_report

            offer_report(self, self.session_id)

    def action_standard(self) -> None:
        """Standard, band, what is worth having."""
        if self.view is not None:
            from logbook.app.screens.standard_form import StandardForm

            self.app.push_screen(StandardForm(self.view))

    def action_sheet(self) -> None:
        """The engine's sheet."""
        if self.view is not None:
            self.book.show_sheet(self.view.engine.tag)

    def action_attached(self) -> None:
        """Files attached to the engine; another for this session."""
        if self.view is not None:
            from logbook.app.screens.attached import AttachedScreen
            from logbook.cases.attachments import Owner

            owner = Owner(session=self.session_id)
            self.app.push_screen(AttachedScreen(self.view.engine.tag, owner, "this session"))

    def action_cell(self) -> None:
        """The cell that this session runs in."""
        if self.view is not None:
            from logbook.app.screens.cell import CellScreen

            self.app.push_screen(CellScreen(self.view.cell.name))

    def action_close(self) -> None:
        """Close the session, or open it again."""
        if self.view is None:
            return
        session_id, closed = self.session_id, self.view.session.status == CLOSED
        units = self.book.units

        def job(desk: Desk) -> str:
            from logbook.cases.sessions import close_session, reopen_session

            if closed:
                reopen_session(desk, session_id)
                return "The session is open again."
            from logbook.cases.closing import closing
            from logbook.reports.closing_words import ending_lines, open_words

            found, ended = closing(desk, session_id), close_session(desk, session_id)
            backup = f"Backup: {ended.backup.name}." if ended.backup else ""
            final = "; ".join(words for _, words in ending_lines(found, units))
            parts = ["Session closed.", backup, *(caution.text for caution in ended.cautions),
                     f"{final}." if final else "", open_words(found)]  # fmt: skip
            return " ".join(part for part in parts if part)

        def sure(yes: bool | None) -> None:
            if yes:
                doing = "opening the session again" if closed else "closing the session"
                self.change("done", job, Got, doing)

        if closed:
            sure(True)
            return

        def look(desk: Desk) -> Closing:
            from logbook.cases.closing import closing

            return closing(desk, session_id)

        self._close_sure = sure
        self.ask("close", look, Got, "looking at what closing does")

    def ask_to_close(self, found: Closing) -> None:
        """The question before a session closes, once it is known what that does."""
        from logbook.reports.closing_words import (
            baseline_words,
            before_closing,
            ending_lines,
            open_words,
        )

        most = max(2, (self.size.height - _ROWS_BESIDE) // 2)  # a verdict takes two rows
        verdicts = [f"{showing.sign_of(verdict) if verdict else ' '} {words}"
                    for verdict, words in ending_lines(found, self.book.units, most)]  # fmt: skip
        returned = f"{baseline_words(found)} {before_closing(found)}".rstrip()
        lines = [returned, *verdicts, open_words(found)]
        self.app.push_screen(
            ConfirmScreen(
                "Close this session?",
                "\n".join(lines) + "\n\nNothing more can be logged in it until it is opened"
                " again. A backup is made beside the book.",
                yes="close it",
            ),
            self._close_sure,
        )
