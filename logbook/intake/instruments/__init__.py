"""Air by itself: what a weather instrument tells, as texts with units, ready to be read.

An address names the source: ``file:/cell/air.csv``, ``udp://0.0.0.0:10110``,
``serial:/dev/ttyUSB0?baud=4800``, ``modbus://192.0.2.7:502?unit=1``. Where a weather station speaks
by transducers (XDR) it names those to take: ``udp://0.0.0.0:10110?temperature=TEMP&pressure=BARO``.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any, Protocol
from urllib.parse import parse_qs, urlsplit

from logbook.intake.instruments.told import PARTS, Told
from logbook.refusals import BadInput

WANTED = "file:PATH, udp://ADDRESS:PORT, serial:DEVICE?baud=4800, or modbus://ADDRESS:502?unit=1"


class Instrument(Protocol):
    """A source of air. `poll` waits at most `seconds` and gives the newest complete reading, or
    ``None`` where nothing new was told; it raises `InstrumentTrouble` where it is out of reach."""

    def poll(self, seconds: float) -> Told | None: ...

    def close(self) -> None: ...


def instrument(
    address: str, registers: Mapping[str, Mapping[str, Any]] | None = None
) -> Instrument:
    """The source at this address; `registers` is the map of a Modbus one. Raises `BadInput`."""
    kind, _, rest = address.strip().partition(":")
    where = f"Air source {address.strip()!r}"
    match kind.casefold():
        case "file":
            from logbook.intake.instruments.file import FileInstrument

            return FileInstrument(rest)
        case "udp":
            host, port, query = _place(address, where)
            from logbook.intake.instruments.nmea import UdpInstrument

            return UdpInstrument(host, port, _names(query, where))
        case "serial":
            from logbook.intake.instruments.nmea import SerialInstrument

            device, _, asked = rest.partition("?")
            said = parse_qs(asked)
            baud = _whole(said, "baud", 4800, where)
            return SerialInstrument(device, baud, _names(said, where, also={"baud"}))
        case "modbus":
            host, port, query = _place(address, where, port=502)
            from logbook.intake.instruments.modbus import ModbusInstrument

            return ModbusInstrument(host, port, _whole(query, "unit", 1, where), registers or {})
    raise BadInput("is no source of air", where=where, wanted=WANTED)


def _place(
    address: str, where: str, *, port: int | None = None
) -> tuple[str, int, dict[str, list[str]]]:
    parts = urlsplit(address.strip())
    try:
        found = port if parts.port is None else parts.port  # 0: any free one
    except ValueError:
        found = None
    if not parts.hostname or found is None:
        raise BadInput("names no address and port", where=where, wanted=WANTED)
    return parts.hostname, found, parse_qs(parts.query)


def _names(
    query: Mapping[str, list[str]], where: str, also: Collection[str] = ()
) -> dict[str, str]:
    """The transducers that the address names, by part of the air."""
    unknown = query.keys() - set(PARTS) - set(also)
    if unknown:
        raise BadInput(f"{min(unknown)!r} is no part of the air", where=where,
                       wanted="one of " + ", ".join(PARTS))  # fmt: skip
    return {part: names[-1] for part, names in query.items() if part in PARTS}


def _whole(query: Mapping[str, list[str]], name: str, usual: int, where: str) -> int:
    text = query.get(name, [str(usual)])[-1]
    if not text.isdecimal() or len(text) > 7:
        raise BadInput(f"{name} is not a whole number", where=where, wanted=f"{name}={usual}")
    return int(text)
