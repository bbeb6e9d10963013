"""Opening the app from the command line."""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cli.trouble import keep_details
from logbook.drafts import Drafts
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.cases.air_source import AirFeed
    from logbook.cases.desk import Desk
    from logbook.cli.door import Door
    from logbook.store.glance import Glance


def open_app(door: Door, *, wall: bool = False) -> int:
    """Run the app on the door's book; returns its exit code. `wall` only shows the answer of
    the session under way.

    Raises `BadInput` where there is no terminal to draw it in.
    """
    served = "TEXTUAL_DRIVER" in os.environ  # by `logbook serve`: the terminal is a browser
    if not served and not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise BadInput(
            "the app needs a terminal", where="logbook", wanted="a command, see logbook --help"
        )
    from logbook.app.early import begin_early, put_off_collecting

    put_off_collecting()
    settings = door.settings

    def open_at(path: Path) -> Desk:
        from logbook.cases.desk import open_desk
        from logbook.cases.safety import refresh_scores

        desk = open_desk(
            path, create=not wall, who=settings.who, units=door.units or settings.units
        )
        if wall:
            return desk
        refresh_scores(desk)  # figures of an older computation, or lost to another program
        return desk

    def look() -> Glance | None:
        from logbook.store.glance import glance

        return glance(door.book_path, units=door.units or settings.units)

    def demo() -> Path:
        from logbook.cli.demo_book import build_demo

        if not settings.demo_path.exists():
            build_demo(settings.demo_path)
        return settings.demo_path

    def feed() -> AirFeed:
        from logbook.cases.air_source import AirFeed

        return AirFeed(settings.air_source, settings.air_registers)

    glanced = begin_early(look)
    from logbook.app.app import LogbookApp
    from logbook.app.landings import LOOK_EVERY_S

    app = LogbookApp(
        lambda: open_at(door.book_path),
        glanced=glanced,
        drafts=Drafts(settings.drafts_folder, door.book_path),
        demo=demo,
        open_at=open_at,
        watch_every=0.0 if wall else LOOK_EVERY_S,
        watch_folder=None if wall else settings.watch_folder,
        wall=wall,
        air=None if wall or not settings.air_source else feed,
        keys=settings.keys,
        colors=settings.colors,
        cautions=settings.cautions,
        log=keep_details,
    )
    app.run()
    return app.return_code or 0
