"""A pull's result in its form: peaks that are typed, or a trace that is read."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from textual.containers import Vertical

from logbook.app.messages import FilePreviewed
from logbook.app.next_pull import NextPull
from logbook.app.screens.form import Form
from logbook.app.screens.pull_form_parts import TraceLine, peak_entries, torque_entry
from logbook.app.widgets.field import Entry

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.results import PullPreview
    from logbook.refusals import Refusal

TORQUE_STATE = "torque-state"


class TraceForm(Form["tuple[str, int]"]):
    """A form with a container ``result``. `trace` is the file that the result is read from
    (``None``: it is typed), `landing_id` its landing, `preview` what was read of it."""

    def __init__(self, session_id: str, next_pull: NextPull) -> None:
        super().__init__(f"pull-{session_id}")
        self._session_id = session_id
        self.trace: Path | None = next_pull.trace
        self.landing_id = next_pull.landing_id
        self.preview: PullPreview | None = next_pull.preview

    def result_entries(self) -> list[Entry | TraceLine]:
        """What the result is typed into, or the trace that it is read from."""
        if self.trace is None:
            return [*peak_entries(self.book.units)]
        known = self.preview.known_torque_state if self.preview else None
        return [
            TraceLine(self.trace, self.preview, self.book.units),
            torque_entry(TORQUE_STATE, known),
        ]

    def begin(self) -> None:
        """A trace that waits and was not read yet is read."""
        super().begin()
        if self.trace is not None and self.preview is None:
            self._read_trace(self.trace)

    async def take_trace(self, path: Path) -> None:
        """The result is this file's."""
        self.trace, self.landing_id, self.preview = path, None, None
        await self._redo_result()
        self.keep_soon()
        self._read_trace(path)

    async def _redo_result(self) -> None:
        result = self.query_one("#result", Vertical)
        await result.remove_children()
        await result.mount_all(self.result_entries())
        self.focus_first()
        self.check()

    def _read_trace(self, path: Path) -> None:
        session_id, landing_id = self._session_id, self.landing_id

        def job(desk: Desk) -> PullPreview:
            from logbook.cases.form import preview_file

            return preview_file(desk, session_id, path, landing_id)

        self.ask("preview", job, FilePreviewed, f"reading {path.name}")

    async def on_file_previewed(self, message: FilePreviewed) -> None:
        """It has been read."""
        if not self.stale(message):
            self.preview = message.preview
            await self._redo_result()

    def refused(self, lane: str, refusal: Refusal) -> None:
        """A file that cannot be read does not become the result; what its columns are is asked."""
        super().refused(lane, refusal)
        if lane != "preview":
            return
        from logbook.intake.unsettled import UnsettledColumns

        if isinstance(refusal, UnsettledColumns) and self.trace is not None:
            self._ask_columns(self.trace)
        else:
            self._drop_trace()

    def _drop_trace(self) -> None:
        self.trace = self.landing_id = self.preview = None
        self.call_later(self._redo_result)

    def _ask_columns(self, trace: Path) -> None:
        from logbook.app.screens.columns import ColumnsScreen

        def named(yes: bool | None) -> None:
            if yes:
                self.notice("")
                self._read_trace(trace)
            else:
                self._drop_trace()

        self.app.push_screen(ColumnsScreen(trace, self.landing_id), named)

    def action_file(self) -> None:
        """Choose a trace file."""
        from logbook.app.screens.file_picker import FilePicker

        async def chosen(path: Path | None) -> None:
            if path is not None:
                await self.take_trace(path)

        self.app.push_screen(FilePicker(), chosen)
