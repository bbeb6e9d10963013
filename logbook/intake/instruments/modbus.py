"""Air from an instrument's registers over Modbus TCP, read by pymodbus.

The map stands in the config file, one table a quantity:

    [air_registers.pressure]
    register = 0            # as counted on the wire, from 0
    type = "float32"        # int16, uint16, int32, uint32 or float32
    unit = "hPa"
    scale = 1.0             # optional: the value is register × scale
    words = "big"           # optional: "little" where the low word comes first
    kind = "input"          # optional: "holding" unless told
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from logbook.intake.instruments.extra import library
from logbook.intake.instruments.told import HUMIDITIES, PARTS, Told
from logbook.refusals import BadInput, InstrumentTrouble

_TYPES = ("int16", "uint16", "int32", "uint32", "float32")
_KEYS = {"register", "type", "unit", "scale", "words", "kind"}


@dataclass(frozen=True, slots=True)
class Register:
    """Where one quantity stands and what its number means."""

    part: str
    address: int
    type: str
    unit: str
    scale: float
    words: str
    kind: str

    @property
    def count(self) -> int:
        """How many 16-bit registers it takes."""
        return 2 if self.type.endswith("32") else 1


def registers_of(tables: Mapping[str, Mapping[str, Any]]) -> tuple[Register, ...]:
    """The register map of a config file. Raises `BadInput` naming the entry."""
    found = tuple(_register(part, table) for part, table in tables.items())
    parts = {one.part for one in found}
    if not {"pressure", "temperature"} <= parts or not parts & set(HUMIDITIES):
        raise BadInput(
            "the register map is not whole",
            where="air_registers",
            wanted=f"pressure, temperature and one of {', '.join(HUMIDITIES)}",
        )
    return found


def _register(part: str, table: Mapping[str, Any]) -> Register:
    where = f"air_registers.{part}"
    if part not in PARTS:
        raise BadInput("is no part of the air", where=where, wanted=f"one of {', '.join(PARTS)}")
    unknown = set(table) - _KEYS
    if unknown:
        raise BadInput(f"{sorted(unknown)[0]!r} is not known", where=where,
                       wanted="one of " + ", ".join(sorted(_KEYS)))  # fmt: skip
    address, unit, scale = table.get("register"), table.get("unit"), table.get("scale", 1.0)
    if isinstance(address, bool) or not isinstance(address, int) or not 0 <= address <= 65_534:
        raise BadInput("names no register", where=where, wanted="register = 0 to 65534")
    if not isinstance(unit, str) or not unit:
        raise BadInput("names no unit", where=where, wanted='unit = "hPa"')
    if not isinstance(scale, (int, float)) or not math.isfinite(scale) or scale == 0:
        raise BadInput("the scale is not a number", where=where, wanted="scale = 0.1")
    chosen = {
        "type": (table.get("type", "float32"), _TYPES),
        "words": (table.get("words", "big"), ("big", "little")),
        "kind": (table.get("kind", "holding"), ("holding", "input")),
    }
    for name, (value, choices) in chosen.items():
        if value not in choices:
            raise BadInput(f"{name} {value!r} is not known", where=where,
                           wanted="one of " + ", ".join(choices))  # fmt: skip
    return Register(part, address, str(chosen["type"][0]), unit, float(scale),
                    str(chosen["words"][0]), str(chosen["kind"][0]))  # fmt: skip


class ModbusInstrument:
    """One unit at one address. Every poll asks for every register of the map."""

    def __init__(
        self, host: str, port: int, unit: int, tables: Mapping[str, Mapping[str, Any]]
    ) -> None:
        self._map = registers_of(tables)
        self._unit = unit
        self._source = f"Modbus TCP {host}:{port}, unit {unit}"
        self._library = library("pymodbus.client")
        self._failures: Any = library("pymodbus.exceptions")
        self._client = self._library.ModbusTcpClient(host, port=port, timeout=1, retries=0)

    def poll(self, seconds: float) -> Told | None:
        """Ask once, which takes no longer than its own second a register."""
        try:
            if not self._client.connected and not self._client.connect():
                raise self._trouble("does not answer")
            return Told({one.part: self._ask(one) for one in self._map}, self._source)
        except (OSError, self._failures.ModbusException) as trouble:
            self._client.close()
            raise self._trouble(f"does not answer ({trouble})") from trouble

    def _ask(self, one: Register) -> str:
        ask = (
            self._client.read_input_registers
            if one.kind == "input"
            else self._client.read_holding_registers
        )
        answer = ask(one.address, count=one.count, device_id=self._unit)
        if answer.isError():
            raise self._trouble(f"refuses register {one.address} ({one.part})")
        kinds = self._client.DATATYPE
        value = self._client.convert_from_registers(
            answer.registers, getattr(kinds, one.type.upper()), word_order=one.words
        )
        scaled = value * one.scale if one.scale != 1.0 else value
        # float32 carries seven digits: more would be digits that the instrument never told
        return f"{scaled:.7g} {one.unit}"

    def _trouble(self, what: str) -> InstrumentTrouble:
        wanted = "the instrument's address, unit and register map"
        return InstrumentTrouble(what, where=self._source, wanted=wanted)

    def close(self) -> None:
        """Hang up."""
        self._client.close()
