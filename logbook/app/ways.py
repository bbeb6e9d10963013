"""The ways between the screens; all but the first are imported when they are first shown."""

from __future__ import annotations

from logbook.app.host import Host


class Ways(Host):
    """The app as far as it leads from screen to screen."""

    def show_session(self, session_id: str, pull_id: str | None = None) -> None:
        """The session, with this pull chosen."""
        from logbook.app.screens.session import SessionScreen

        self.push_screen(SessionScreen(session_id, pull_id))

    def show_opening(self, tag: str) -> None:
        """The form that opens a session of an engine; then the session itself."""
        from logbook.app.screens.opening import OpeningForm

        def opened(session_id: str | None) -> None:
            if session_id:
                self.show_session(session_id)

        self.push_screen(OpeningForm(tag), opened)

    def show_sheet(self, tag: str) -> None:
        """The engine's sheet."""
        from logbook.app.screens.engine_sheet import SheetScreen

        self.push_screen(SheetScreen(tag))

    def show_compare(self, left: str, right: str, standard: str | None = None) -> None:
        """Two pulls over each other; the left one is what the right one is measured from."""
        from logbook.app.screens.compare import CompareScreen

        self.push_screen(CompareScreen(left, right, standard))

    def show_sides(self, left: str, right: str) -> None:
        """Builds, sessions or engines over each other, by anything that names them."""
        from logbook.app.screens.sides import SidesScreen

        self.push_screen(SidesScreen(left, right))

    def first_run(self) -> None:
        """An empty book: the demo, or the first engine."""
        from logbook.app.screens.first_run import FirstRunScreen

        self.push_screen(FirstRunScreen())

    def enter_engine(self) -> None:
        """The form for an engine."""
        from logbook.app.screens.engine_form import EngineForm

        self.push_screen(EngineForm())

    def action_search(self) -> None:
        """Find any pull; on a session, within its engine to begin with."""
        from logbook.app.screens.history import HistoryScreen

        if not isinstance(self.screen, HistoryScreen):
            self.push_screen(HistoryScreen(getattr(self.screen, "search_start", "")))

    def action_help(self) -> None:
        """Help for the thing in focus."""
        from logbook.app.screens.help import HelpScreen

        if not isinstance(self.screen, HelpScreen):
            self.push_screen(HelpScreen.about(self.screen))
