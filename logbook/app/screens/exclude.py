"""Leaving a pull out, for a reason."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.judged_anew import done_and_told
from logbook.app.keys import bindings
from logbook.app.screens.short_form import ShortForm
from logbook.app.widgets.field import TextEntry

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.pull import Pull

USUAL = ("oil cold", "throttle not fully open", "misfire", "knock", "sweep too fast", "wrong jets")


class ExcludeForm(ShortForm[str]):
    """Type the reason, Enter excludes."""

    place = "exclude"
    BINDINGS = bindings("exclude")

    def __init__(self, pull: Pull) -> None:
        super().__init__(f"exclude-{pull.id}", f"Leave pull {pull.number} out of the judgement")
        self._pull = pull

    def entries(self) -> ComposeResult:
        """The reason."""
        yield TextEntry("reason", "Reason", wide=True, suggestions=USUAL)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Exclude it; it stays in the list with its reason."""
        reason = self.touched().get("reason", "").strip()
        if not reason:
            self.notice("A pull is left out only for a reason, such as oil cold.", "error")
            return None
        pull, units = self._pull, self.book.units
        said = f"Pull {pull.number} is left out: {reason}. x lets it count again."

        def job(desk: Desk) -> str:
            from logbook.cases.pulls import exclude

            return done_and_told(
                desk, pull.session_id, units, said, lambda: exclude(desk, pull.id, reason)
            )

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(str(result))
