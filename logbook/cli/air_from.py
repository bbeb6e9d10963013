"""``logbook air-from``: the air told by an instrument."""

from __future__ import annotations

import time

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.refusals import BadInput, InstrumentTrouble

LISTEN_S = 10.0
EVERY_S = 5.0


@click.command("air-from", cls=BookCommand)
@click.argument("source", required=False, metavar="[SOURCE]")
@click.option("--once", is_flag=True, help="One reading, and end.")
@click.option("--dry-run", is_flag=True, help="Only show what it tells; keep nothing.")
@pass_door
def air_from(door: Door, source: str | None, once: bool, dry_run: bool) -> None:
    """Air from an instrument, for the open sessions.

    SOURCE is file:PATH (CSV or JSON Lines), udp://ADDRESS:PORT or serial:DEVICE?baud=4800 (NMEA
    0183: MDA, XDR), or modbus://ADDRESS:502?unit=1 with a register map in the config file;
    without it, air_source of the config file. The app listens by itself where that is set.

    What corrects is the air that enters the carburetor: a sensor outside the cell, or in the
    header's heat, tells another one. 10 °F is 1 % of corrected power.

    \b
    Examples:
      logbook air-from udp://0.0.0.0:10110 --once --dry-run
      logbook air-from serial:/dev/ttyUSB0?baud=4800
    """
    from logbook.cases.air_source import AirFeed, keep

    address = source or door.settings.air_source
    if not address:
        raise BadInput("no source was named", where="SOURCE",
                       wanted='one, or air_source = "…" in the config file')  # fmt: skip
    feed = AirFeed(address, door.settings.air_registers)
    said = ""
    try:
        with door.desk() as desk:
            while True:
                try:
                    told = feed.poll(LISTEN_S)
                except InstrumentTrouble as trouble:
                    if once:
                        raise
                    if trouble.sentence != said:
                        door.words(said := trouble.sentence)
                    told = None
                if told is not None:
                    kept = 0 if dry_run else keep(desk, told)
                    if door.json:
                        door.put({**told.texts, "source": told.source, "age_s": told.age_s,
                                  "kept_in_sessions": kept})  # fmt: skip
                    else:
                        shown = ", ".join(f"{part} {text}" for part, text in told.texts.items())
                        door.data(f"{shown} ({told.source}), kept in {kept} sessions")
                    if once:
                        return
                elif once:
                    wanted = "pressure, temperature and humidity"
                    raise InstrumentTrouble("told no whole reading", where=address, wanted=wanted)
                time.sleep(EVERY_S if told is not None else 0.2)
    finally:
        feed.close()
