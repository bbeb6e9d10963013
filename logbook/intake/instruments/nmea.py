"""NMEA 0183 weather sentences over UDP or a serial line, read by pynmea2 and pyserial.

``MDA`` (meteorological composite) is understood by itself. Of ``XDR`` (transducers: type P, C or
H with its unit) only those are taken whose names the address gives, for a station also sends wind
chill, heat index and whatever else has a temperature. Every other sentence is passed over, and one
whose checksum is wrong is not used. Source of the fields: pynmea2's tables; from memory of the
standard, which is not open.
"""

from __future__ import annotations

import socket
import time
from collections.abc import Callable, Iterator, Mapping
from typing import Any, Protocol

from logbook.intake.instruments.extra import library
from logbook.intake.instruments.told import Gathered, Told
from logbook.intake.text import visible
from logbook.refusals import InstrumentTrouble

MOST_NAMED = 6
LONGEST_LINE = 1024  # the standard's is 82; some makers' are longer
_UNITS = {("P", "B"): ("pressure", "bar"), ("P", "P"): ("pressure", "Pa"),
          ("C", "C"): ("temperature", "C"), ("H", "P"): ("rh", "%")}  # fmt: skip


def parts_of(line: str) -> Iterator[tuple[str, str, str]]:
    """(part, text with unit, the transducer's name) of one sentence, ``""`` where the sentence
    itself says what it is; nothing of a sentence that tells no air.

    Raises ``ValueError`` for a sentence that is broken: a wrong checksum, or none at all.
    """
    pynmea2 = library("pynmea2")
    try:
        sentence = pynmea2.parse(line.strip(), check=True)
    except (pynmea2.ParseError, ValueError, IndexError) as broken:
        raise ValueError(f"not a whole sentence: {line.strip()[:80]!r}") from broken
    if sentence.sentence_type == "MDA":
        yield from _composite(sentence)
    elif sentence.sentence_type == "XDR":
        data = sentence.data
        for at in range(0, len(data) - 2, 4):
            kind, value, unit, name = (*data[at : at + 4], "")[:4]
            known = _UNITS.get((kind, unit))
            if known and value:
                yield known[0], f"{value} {known[1]}", name.strip() or "unnamed"


def _composite(sentence: Any) -> Iterator[tuple[str, str, str]]:
    data = [*sentence.data, *[""] * 20]
    if data[2]:
        yield "pressure", f"{data[2]} bar", ""
    elif data[0]:
        yield "pressure", f"{data[0]} inHg", ""
    for at, part, unit in ((4, "temperature", "C"), (8, "rh", "%"), (10, "dew-point", "C")):
        if data[at]:
            yield part, f"{data[at]} {unit}", ""


class _Stream:
    """Sentences as they come in; half of one waits for its rest. `names` are the transducers to
    take by part; `unnamed` those that told something and were not among them."""

    def __init__(self, source: str, names: Mapping[str, str]) -> None:
        self.gathered = Gathered(source)
        self._names = {part: name.casefold() for part, name in names.items()}
        self.unnamed: dict[str, set[str]] = {}
        self._rest = b""
        self.broken = 0

    def take(self, data: bytes, second: float) -> bool:
        """Take bytes in; whether a part of the air was among them."""
        *lines, self._rest = (self._rest + data).replace(b"\r", b"\n").split(b"\n")
        self._rest = self._rest[-LONGEST_LINE:]
        told = False
        for line in lines:
            if not line.strip():
                continue
            try:
                for part, text, name in parts_of(line[:LONGEST_LINE].decode("ascii", "replace")):
                    told |= self._take(part, text, name, second)
            except ValueError:
                self.broken += 1
        return told

    def _take(self, part: str, text: str, name: str, second: float) -> bool:
        """A part: from the transducer that was named for it, else from what needs no name."""
        if name.casefold() != self._names.get(part, ""):
            if name:
                self.unnamed.setdefault(part, set()).add(name)
            return False
        self.gathered.put(part, text, second)
        return True


class _Source(Protocol):
    def __call__(self, seconds: float) -> bytes: ...


class _NmeaInstrument:
    """What both lines share: listening for a while, gathering, and saying what is missing."""

    def __init__(
        self,
        source: str,
        names: Mapping[str, str],
        receive: _Source,
        clock: Callable[[], float],
    ) -> None:
        self._stream = _Stream(source, names)
        self._receive, self._clock = receive, clock
        self._partial_since: float | None = None

    def poll(self, seconds: float) -> Told | None:
        """Listen until a reading is whole, at most `seconds`."""
        ends, told = self._clock() + seconds, False
        while (left := ends - self._clock()) > 0:
            data = self._receive(left)
            told |= self._stream.take(data, self._clock())
            reading = self._stream.gathered.reading(self._clock()) if told else None
            if reading is not None:
                self._partial_since = None
                return reading
        now = self._clock()
        self._partial_since = now if self._partial_since is None else self._partial_since
        if told and now - self._partial_since < self._stream.gathered.longest_s:
            return None  # some of it; the rest may come in the next turn
        raise InstrumentTrouble(self._what(told), where=self._stream.gathered.source,
                                wanted=self._wanted())  # fmt: skip

    def _what(self, told: bool) -> str:
        broken = self._stream.broken
        if told:
            return f"tells no {', '.join(self._stream.gathered.missing) or 'whole reading'}"
        if self._stream.unnamed:
            return "tells its air by transducers, and none was named"
        return "no weather sentence came" + (f" ({broken} broken ones did)" if broken else "")

    def _wanted(self) -> str:
        """What would do; where transducers spoke, which there are."""
        if not self._stream.unnamed:
            return "MDA or XDR sentences with pressure, temperature and humidity"
        heard = "; ".join(
            f"{part} by {', '.join(sorted(names)[:MOST_NAMED])}"
            for part, names in sorted(self._stream.unnamed.items())
        )
        part, names = next(iter(sorted(self._stream.unnamed.items())))
        return (
            f"the names of those at the carburetor, such as ?{part}={min(names)} in the address"
            f" (heard: {visible(heard, 200)})"
        )


class UdpInstrument(_NmeaInstrument):
    """Sentences in UDP datagrams to this address and port."""

    def __init__(
        self,
        host: str,
        port: int,
        names: Mapping[str, str],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self._place = f"NMEA 0183, UDP port {port}"
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        self._socket = socket.socket(family, socket.SOCK_DGRAM)
        try:
            self._socket.bind((host, port))
        except OSError as trouble:
            self._socket.close()
            raise InstrumentTrouble(
                f"cannot listen ({trouble.strerror})",
                where=self._place,
                wanted="an address of this machine and a port that nobody else listens on",
            ) from trouble
        super().__init__(self._place, names, self._datagram, clock)

    def _datagram(self, seconds: float) -> bytes:
        self._socket.settimeout(max(seconds, 0.01))
        try:
            return self._socket.recv(65_536) + b"\n"
        except TimeoutError:
            return b""

    @property
    def port(self) -> int:
        """Where it listens."""
        return int(self._socket.getsockname()[1])

    def close(self) -> None:
        """Listen no more."""
        self._socket.close()


class SerialInstrument(_NmeaInstrument):
    """Sentences on a serial line; `device` is anything pyserial opens, ``socket://…`` too."""

    def __init__(
        self,
        device: str,
        baud: int,
        names: Mapping[str, str],
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        serial = library("serial")
        try:
            self._line = serial.serial_for_url(device, baudrate=baud, timeout=0.2)
        except (OSError, ValueError) as trouble:  # pyserial's own errors are OSErrors
            raise InstrumentTrouble(
                f"the line cannot be opened ({trouble})",
                where=f"NMEA 0183, {device}",
                wanted="a serial device that this user may read, such as /dev/ttyUSB0",
            ) from trouble
        super().__init__(f"NMEA 0183, {device}", names, self._bytes, clock)

    def _bytes(self, seconds: float) -> bytes:
        try:
            return bytes(self._line.read(max(1, min(self._line.in_waiting, 4096))))
        except OSError as gone:
            raise InstrumentTrouble(
                f"the line is gone ({gone})", where=self._stream.gathered.source,
                wanted="the cable and the instrument's power",
            ) from gone  # fmt: skip

    def close(self) -> None:
        """Close the line."""
        self._line.close()
