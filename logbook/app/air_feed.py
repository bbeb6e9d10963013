"""The air's own instrument inside the app: listened to on a thread of its own."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from logbook.app.messages import AirKept, AirTold, Refused

if TYPE_CHECKING:
    from logbook.app.host import Host
    from logbook.cases.air_source import AirFeed
    from logbook.cases.desk import Desk
    from logbook.intake.instruments.told import Told

LISTEN, KEEP = "air listen", "air keep"
EVERY_S = 5.0
LISTEN_S = 2.0  # short, so that leaving the app does not wait


class AirKeeper:
    """Listens in turns to what `make` opens, and has what is news written down.

    Trouble is said once until it changes; the readings typed by hand go on working.
    """

    def __init__(self, app: Host, make: Callable[[], AirFeed] | None) -> None:
        self._app, self._make = app, make
        self._feed: AirFeed | None = None
        self._busy = False
        self._said = ""

    def begin(self) -> None:
        """Listen from now on, where there is something to listen to."""
        if self._make is not None:
            self._app.set_interval(EVERY_S, self._listen)
            self._listen()

    def close(self) -> None:
        """Let go of the instrument; after the thread has ended."""
        if self._feed is not None:
            self._feed.close()

    def _listen(self) -> None:
        if not self._busy:
            self._busy = True
            self._app.work.instrument(self._app, LISTEN, self._job, lambda t, got: AirTold(t, *got))

    def _job(self, desk: Desk) -> tuple[Told | None, bool]:
        """In the thread: open the instrument where it is not, and listen; what it tells, if it is
        news, and whether it told all that is needed."""
        from logbook.cases.air_source import news

        assert self._make is not None
        if self._feed is None:
            self._feed = self._make()
        told = self._feed.poll(LISTEN_S)
        return (told if told is not None and news(desk, told) else None), told is not None

    def told(self, message: AirTold) -> None:
        """Have news written down."""
        self._busy, told = False, message.told
        if message.whole:
            self._said = ""
        if told is not None:
            self._app.work.write(self._app, KEEP, lambda desk: _keep(desk, told), AirKept)

    def refused(self, message: Refused) -> None:
        """It does not answer, or tells what cannot be: said once."""
        refusal = message.refusal
        if message.ticket.lane == LISTEN:
            self._busy = False
        if refusal.sentence != self._said:
            self._said = refusal.sentence
            self._app.say(f"{refusal.sentence} Until then type the air: a.", "caution")


def _keep(desk: Desk, told: Told) -> int:
    from logbook.cases.air_source import keep

    return keep(desk, told)
