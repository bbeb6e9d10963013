"""Air by itself, from simulated instruments on loopback.

The MDA example is put together by hand to the field order in pynmea2's own table (from memory
of NMEA 0183, which is not open); its checksum is computed by pynmea2.
"""

from __future__ import annotations

import asyncio
import contextlib
import json
import socket
import struct
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pynmea2
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.intake.instruments import instrument
from logbook.intake.instruments.modbus import registers_of
from logbook.intake.instruments.nmea import UdpInstrument, _Stream, parts_of
from logbook.intake.instruments.told import Gathered, Told
from logbook.refusals import BadFile, BadInput, InstrumentTrouble

MDA = str(pynmea2.parse("$WIMDA,29.9212,I,1.0132,B,21.3,C,,,45.2,,9.0,C,,,,,,,,", check=False))
XDR = str(pynmea2.parse("$WIXDR,P,101320,P,BARO,C,21.3,C,TEMP,H,45.2,P,HUM", check=False))


NAMED = "temperature=TEMP&pressure=BARO&rh=HUM"
CHILL = str(pynmea2.parse("$WIXDR,C,12.0,C,WCHR,C,36.0,C,HINX,P,0.9950,B,STNP", check=False))


def test_a_composite_sentence_and_transducers_tell_the_same_air() -> None:
    assert list(parts_of(MDA)) == [
        ("pressure", "1.0132 bar", ""), ("temperature", "21.3 C", ""), ("rh", "45.2 %", ""),
        ("dew-point", "9.0 C", ""),
    ]  # fmt: skip
    assert list(parts_of(XDR)) == [
        ("pressure", "101320 Pa", "BARO"), ("temperature", "21.3 C", "TEMP"),
        ("rh", "45.2 %", "HUM"),
    ]  # fmt: skip


@pytest.mark.parametrize("broken", [MDA[:-2] + "00", MDA.replace("21.3", "31.3"), "$WIMDA", "\x00"])
def test_a_broken_sentence_is_not_used(broken: str) -> None:
    with pytest.raises(ValueError, match="not a whole sentence"):
        list(parts_of(broken))


@given(st.binary(max_size=300), st.integers(1, 40))
def test_any_bytes_on_the_line_do_no_harm_and_a_cut_sentence_is_put_together(
    noise: bytes, size: int
) -> None:
    stream = _Stream("test", {})
    stream.take(noise + b"\n", 0.0)
    line = f"{MDA}\r\n".encode()
    for at in range(0, len(line), size):
        stream.take(line[at : at + size], 1.0)
    reading = stream.gathered.reading(1.0)
    assert reading is not None
    assert reading.texts["temperature"] == "21.3 C"


def test_wind_chill_and_heat_index_never_become_the_engines_air() -> None:
    """Typical of marine and roof stations (from memory): several temperatures in one sentence."""
    stream = _Stream("test", {})
    for line in (MDA, CHILL):
        stream.take(f"{line}\r\n".encode(), 1.0)
    reading = stream.gathered.reading(1.0)
    assert reading is not None
    assert reading.texts["temperature"] == "21.3 C"
    assert reading.texts["pressure"] == "1.0132 bar"
    assert stream.unnamed == {"temperature": {"WCHR", "HINX"}, "pressure": {"STNP"}}
    named = _Stream("test", {"temperature": "temp", "pressure": "BARO", "rh": "HUM"})
    for line in (CHILL, XDR, MDA, CHILL):
        named.take(f"{line}\r\n".encode(), 1.0)
    chosen = named.gathered.reading(1.0)
    assert chosen is not None
    assert chosen.texts == {"pressure": "101320 Pa", "temperature": "21.3 C", "rh": "45.2 %"}


def test_transducers_that_nobody_named_are_listed_and_half_a_reading_is_said() -> None:
    clock = iter(float(n) for n in range(1000))
    heard = UdpInstrument("127.0.0.1", 0, {}, clock=lambda: next(clock))
    try:
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
            sender.sendto(CHILL.encode(), ("127.0.0.1", heard.port))
            with pytest.raises(InstrumentTrouble, match="temperature by HINX, WCHR"):
                heard.poll(4.0)
            dry = str(pynmea2.parse("$WIMDA,,,1.0132,B,21.3,C,,,,,,,,,,,,,,", check=False))

            def polled() -> Told | None:
                sender.sendto(dry.encode(), ("127.0.0.1", heard.port))
                return heard.poll(4.0)

            assert [polled() for _ in range(3)] == [None] * 3, "the rest may come in the next turn"
            with pytest.raises(InstrumentTrouble, match="tells no humidity"):
                list(iter(polled, "never"))
    finally:
        heard.close()
    with pytest.raises(BadInput, match="'wind'"):
        instrument("udp://127.0.0.1:0?wind=W")


def test_a_reading_is_whole_or_none_and_old_parts_do_not_count() -> None:
    gathered = Gathered("test", longest_s=60)
    gathered.put("pressure", "1.0 bar", 0.0)
    gathered.put("temperature", "20 C", 50.0)
    assert gathered.reading(50.0) is None
    assert gathered.missing == ["humidity"]
    gathered.put("dew-point", "9 C", 55.0)
    gathered.put("rh", "45 %", 55.0)
    told = gathered.reading(58.0)
    assert told is not None
    assert set(told.texts) == {"pressure", "temperature", "rh"}, "one humidity"
    assert told.age_s == 58.0, "as old as its oldest part"
    assert gathered.reading(61.0) is None


def test_datagrams_are_heard_and_silence_is_said() -> None:
    heard = instrument("udp://127.0.0.1:0")
    assert isinstance(heard, UdpInstrument)
    try:
        with pytest.raises(InstrumentTrouble, match="no weather sentence"):
            heard.poll(0.05)
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:
            for line in ("$GPGGA,,,,,,0,,,,,,,,*66", MDA):
                sender.sendto(line.encode(), ("127.0.0.1", heard.port))
            told = heard.poll(5.0)
        assert told is not None
        assert told.texts == {"pressure": "1.0132 bar", "temperature": "21.3 C", "rh": "45.2 %"}
        with pytest.raises(InstrumentTrouble, match="cannot listen"):
            instrument(f"udp://127.0.0.1:{heard.port}")
    finally:
        heard.close()


def test_a_serial_line_is_read() -> None:
    with socket.create_server(("127.0.0.1", 0)) as server:
        port = server.getsockname()[1]

        def speak() -> None:
            line, _ = server.accept()
            with line, contextlib.suppress(OSError):  # the reader hangs up
                while True:
                    line.sendall(f"{XDR}\r\n".encode())
                    time.sleep(0.1)

        threading.Thread(target=speak, daemon=True).start()
        heard = instrument(f"serial:socket://127.0.0.1:{port}?{NAMED}")
        try:
            told = heard.poll(5.0)
        finally:
            heard.close()
    assert told is not None
    assert told.texts["pressure"] == "101320 Pa"
    with pytest.raises(InstrumentTrouble, match="cannot be opened"):
        instrument("serial:/dev/no-such-line")


REGISTERS: dict[str, dict[str, Any]] = {
    "pressure": {"register": 0, "type": "float32", "unit": "hPa", "kind": "input"},
    "temperature": {"register": 2, "type": "int16", "unit": "C", "scale": 0.1, "kind": "input"},
    "rh": {"register": 3, "type": "uint16", "unit": "%", "scale": 0.1, "kind": "input"},
}


@pytest.fixture(scope="module")
def modbus() -> Iterator[int]:
    """A simulated instrument: 1013.2 hPa, −3.5 °C, 45.2 %; its port."""
    from pymodbus.datastore import (
        ModbusDeviceContext,
        ModbusSequentialDataBlock,
        ModbusServerContext,
    )
    from pymodbus.server import ModbusTcpServer

    high, low = struct.unpack(">HH", struct.pack(">f", 1013.2))
    block = ModbusSequentialDataBlock(1, [high, low, 0x10000 - 35, 452])
    context = ModbusServerContext(devices=ModbusDeviceContext(ir=block), single=True)
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    loop, ready = asyncio.new_event_loop(), threading.Event()
    servers: list[ModbusTcpServer] = []

    async def serve() -> None:
        servers.append(ModbusTcpServer(context, address=("127.0.0.1", port)))
        await servers[0].listen()
        ready.set()
        await servers[0].serving

    def run() -> None:
        with contextlib.suppress(asyncio.CancelledError):
            loop.run_until_complete(serve())

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    assert ready.wait(10)
    yield port
    asyncio.run_coroutine_threadsafe(servers[0].shutdown(), loop).result(10)
    thread.join(10)


def test_registers_are_read_as_the_map_says(modbus: int) -> None:
    asked = instrument(f"modbus://127.0.0.1:{modbus}?unit=1", REGISTERS)
    try:
        told = asked.poll(2.0)
        assert told is not None
        assert told.texts == {"pressure": "1013.2 hPa", "temperature": "-3.5 C", "rh": "45.2 %"}
    finally:
        asked.close()
    wrong = instrument(
        f"modbus://127.0.0.1:{modbus}", {**REGISTERS, "rh": {**REGISTERS["rh"], "register": 900}}
    )
    try:
        with pytest.raises(InstrumentTrouble, match="register 900"):
            wrong.poll(2.0)
    finally:
        wrong.close()


def test_an_instrument_that_is_not_there_is_said_in_words() -> None:
    with socket.create_server(("127.0.0.1", 0)) as free:
        port = free.getsockname()[1]
    asked = instrument(f"modbus://127.0.0.1:{port}", REGISTERS)
    with pytest.raises(InstrumentTrouble, match="does not answer"):
        asked.poll(1.0)
    asked.close()


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"rh": None}, "not whole"),
        ({"wind": {"register": 1, "unit": "m/s"}}, "no part of the air"),
        ({"rh": {"register": -1, "unit": "%"}}, "names no register"),
        ({"rh": {"register": 1}}, "names no unit"),
        ({"rh": {"register": 1, "unit": "%", "type": "int64"}}, "not known"),
        ({"rh": {"register": 1, "unit": "%", "scale": float("nan")}}, "scale"),
        ({"rh": {"register": 1, "unit": "%", "adress": 3}}, "'adress'"),
    ],
)
def test_a_register_map_that_cannot_be_is_refused(change: dict[str, Any], said: str) -> None:
    tables = {k: v for k, v in {**REGISTERS, **change}.items() if v is not None}
    with pytest.raises(BadInput, match=said):
        registers_of(tables)


def test_the_newest_whole_line_of_a_file_counts(tmp_path: Path) -> None:
    path = tmp_path / "air.csv"
    path.write_text("Time,Pressure [hPa],Air temperature [C],Humidity [%]\n10:00,1013.2,21.3,45\n")
    source = instrument(f"file:{path}")
    told = source.poll(0)
    assert told is not None
    assert told.texts == {"pressure": "1013.2 hPa", "temperature": "21.3 C", "rh": "45 %"}
    assert source.poll(0) is None, "nothing new"
    with path.open("a") as file:
        file.write("10:05,1013.0,21.6,44\n10:10,10")
    later = source.poll(0)
    assert later is not None
    assert later.texts["temperature"] == "21.6 C", "a line that is being written does not count"
    path.write_text("Pressure [hPa],Temperature [C],Humidity [%]\n")
    assert source.poll(0) is None, "the heads alone"
    path.write_text("Druck (hPa);Temperature (C);Dew point (C)\n1013,2;21,3;9\n")
    with pytest.raises(BadFile, match="tells no pressure"):
        source.poll(0)
    lines = tmp_path / "air.jsonl"
    lines.write_text(
        json.dumps({"pressure": "29.9 inHg", "temperature": "70 F", "rh": "45 %"}) + "\n"
    )
    told = instrument(f"file:{lines}").poll(0)
    assert told is not None
    assert told.texts["pressure"] == "29.9 inHg"
    lines.write_text('{"pressure": \n')
    with pytest.raises(BadFile, match="not JSON"):
        instrument(f"file:{lines}").poll(0)
    with pytest.raises(InstrumentTrouble, match="cannot be read"):
        instrument(f"file:{tmp_path / 'none'}").poll(0)


@pytest.mark.parametrize("address", ["", "ftp://x", "udp://", "udp://0.0.0.0:99999999", "modbus:x"])
def test_an_address_that_is_none_is_refused(address: str) -> None:
    with pytest.raises(BadInput):
        instrument(address)
