"""Air from a file that something else keeps writing: CSV with units in its heads, or JSON Lines."""

from __future__ import annotations

import csv
import json
import re
import time
from collections.abc import Callable
from pathlib import Path

from logbook.intake.instruments.told import HUMIDITIES, Told
from logbook.refusals import BadFile, InstrumentTrouble

TAIL = 65_536  # bytes of the end that are looked at, and of the head
_HEADS = {
    "pressure": ("pressure", "station pressure", "barometer", "barometric pressure"),
    "temperature": ("temperature", "air temperature", "inlet air temperature"),
    "rh": ("rh", "relative humidity", "humidity"),
    "dew-point": ("dew point", "dew-point"),
    "wet-bulb": ("wet bulb", "wet-bulb"),
}
_HEAD = re.compile(r"\s*(?P<name>[^\[(]*?)\s*(?:[\[(](?P<unit>[^\])]*)[\])])?\s*$")


class FileInstrument:
    """The newest line of a file. The age is the time since the file was last written."""

    def __init__(self, path: str, clock: Callable[[], float] = time.time) -> None:
        self._path = Path(path).expanduser()
        self._clock = clock
        self._seen: tuple[int, int] | None = None

    def poll(self, seconds: float) -> Told | None:
        """The last line, where the file was written since the last poll."""
        try:
            state = self._path.stat()
            mark = (state.st_mtime_ns, state.st_size)
            if mark == self._seen:
                return None
            with self._path.open("rb") as file:
                head = file.read(TAIL)
                file.seek(max(0, state.st_size - TAIL))
                tail = file.read(TAIL)
        except OSError as trouble:
            raise InstrumentTrouble(
                f"the file cannot be read ({trouble.strerror})",
                where=str(self._path),
                wanted="a file that the weather station keeps writing",
            ) from trouble
        texts = self._texts(head.decode("utf-8-sig", "replace"), tail.decode("utf-8", "replace"))
        if texts is None:
            return None  # a line is being written
        self._seen = mark
        return Told(texts, f"file {self._path.name}", max(0.0, self._clock() - state.st_mtime))

    def close(self) -> None:
        """Nothing is held open."""

    def _texts(self, head: str, tail: str) -> dict[str, str] | None:
        lines = tail.splitlines(keepends=True)
        whole = [line for line in lines if line.endswith(("\n", "\r")) and line.strip()]
        if not whole or (not whole[-1].startswith("{") and whole[-1].strip() == _first(head)):
            return None  # nothing yet, or the heads alone
        last = whole[-1].strip()
        found = self._object(last) if last.startswith("{") else self._row(head, last)
        known = {part: text for part, text in found.items() if text and part in _HEADS}
        humidity = [part for part in HUMIDITIES if part in known]
        missing = [part for part in ("pressure", "temperature") if part not in known]
        if missing or not humidity:
            names = ", ".join([*missing, *([] if humidity else ["humidity"])])
            raise BadFile(f"tells no {names}", where=str(self._path),
                          wanted="pressure, temperature, a humidity, with units")  # fmt: skip
        return {part: known[part] for part in ("pressure", "temperature", humidity[0])}

    def _object(self, line: str) -> dict[str, str]:
        try:
            told = json.loads(line)
            if not isinstance(told, dict):
                raise ValueError("not an object")
        except ValueError as broken:
            raise BadFile("the last line is not JSON", where=str(self._path),
                          wanted='{"pressure": "1013.2 hPa", …}') from broken  # fmt: skip
        return {_part(str(name)): str(value) for name, value in told.items()}

    def _row(self, head: str, last: str) -> dict[str, str]:
        first = _first(head)
        split = ";" if first.count(";") > first.count(",") else ","
        names, cells = (next(csv.reader([text], delimiter=split)) for text in (first, last))
        found = {}
        for name, cell in zip(names, cells, strict=False):
            fits = _HEAD.match(name)
            part, unit = _part(fits["name"] if fits else name), (fits["unit"] if fits else "") or ""
            if part in _HEADS and cell.strip():
                value = cell.strip().replace(",", ".") if split == ";" else cell.strip()
                found[part] = f"{value} {unit}".strip()
        return found


def _first(head: str) -> str:
    """The first line that says something."""
    return next((line.strip() for line in head.splitlines() if line.strip()), "")


def _part(name: str) -> str:
    wanted = name.strip().casefold()
    return next((part for part, names in _HEADS.items() if wanted in names), wanted)
