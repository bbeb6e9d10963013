"""Bad input: one clear sentence on stderr, exit code 2, nothing on stdout, nothing written."""

from __future__ import annotations

import base64
from pathlib import Path

import pytest

from tests.cli.conftest import AIR, CommandLine, Ended, peaks, sweep

PRESSURE, WARMTH, HUMIDITY = ("--pressure", "29.42 inHg"), ("--temperature", "78 F"), ("--rh", "41")
PNG = base64.b64decode(
    "iVBORw0KGgoAAAANSUhEUgAAAAEAAAABCAYAAAAfFcSJAAAADUlEQVR42mP8z8BQDwAEhQGAhKmMIQAAAABJRU5ErkJggg=="
)


def refused(ended: Ended, *says: str) -> None:
    assert ended.code == 2
    assert ended.out == ""
    assert ended.err.startswith("Refused: ")
    assert ended.err.count("\n") == 1, f"one sentence: {ended.err}"
    assert "Traceback" not in ended.err
    for words in says:
        assert words in ended.err


@pytest.mark.parametrize(
    ("air", "says"),
    [
        ((*PRESSURE, *WARMTH, "--rh", "140"), ("humidity", "140")),
        ((*PRESSURE, *WARMTH, "--rh", "-3 %"), ("humidity",)),
        ((*PRESSURE, *WARMTH, "--wet-bulb", "85 F"), ("Wet bulb", "dry bulb")),
        ((*PRESSURE, *WARMTH, "--dew-point", "85 F"), ("Dew point", "dry bulb")),
        (("--pressure", "29.92 kPa", *WARMTH, *HUMIDITY), ("29.92 kPa", "29.92 inHg")),
        (("--pressure", "30 furlongs", *WARMTH, *HUMIDITY), ("furlongs", "Station pressure")),
        (("--pressure", "29.42", *WARMTH, *HUMIDITY), ("29.42", "unit")),
        (("--pressure", "29.42 F", *WARMTH, *HUMIDITY), ("Station pressure",)),
        (("--pressure", "nan inHg", *WARMTH, *HUMIDITY), ("Station pressure",)),
        (("--pressure", "inf kPa", *WARMTH, *HUMIDITY), ("Station pressure",)),
        (("--pressure", "9**9**9 inHg", *WARMTH, *HUMIDITY), ("Station pressure",)),
        ((*PRESSURE, "--temperature", "1e400 F", *HUMIDITY), ("Inlet air temperature",)),
        ((*PRESSURE, "--temperature", "72F\x1b[31m", *HUMIDITY), ("Inlet air temperature",)),
        ((*PRESSURE, *WARMTH, *HUMIDITY, "--dew-point", "50 F"), ("one of them",)),
        ((*PRESSURE, *WARMTH), ("Humidity",)),
    ],
)
def test_air_that_cannot_be(shop: CommandLine, air: tuple[str, ...], says: tuple[str, ...]) -> None:
    """By ``logbook air`` and with a pull, which then is not logged; nor is a session opened."""
    before = shop.rows()
    refused(shop("air", *air), *says)
    refused(shop(*peaks(398, *air)), *says)
    assert shop.rows() == before


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        (("--peak-torque", "nan lb-ft", "--at", "4600"), ("Peak torque",)),
        (("--peak-torque", "inf", "--at", "4600"), ("Peak torque",)),
        (("--peak-torque", "310", "--at", "4600"), ("310", "unit")),
        (("--peak-torque", "310 hp", "--at", "4600"), ("310 hp",)),
        (("--peak-torque", "310 lb-ft"), ("speed",)),
        (("--peak-torque", "310 lb-ft", "--at", "46000"), ("46000",)),
        (("--peak-torque", "310 lb-ft", "--at", "4600", "--set", "timing=95"), ("Timing",)),
        (("--peak-torque", "310 lb-ft", "--at", "4600", "--set", "timing"), ("FACTOR=LEVEL",)),
        (("--peak-torque", "310 lb-ft", "--at", "4600", "--knock", "maybe"), ("Knock",)),
        (("--peak-torque", "310 lb-ft", "--at", "4600", "--lambda", "nan"), ("Lambda",)),
        (("--peak-torque", "310 lb-ft", "--at", "4600", "--time", "noon"), ("time",)),
        (("--peak-torque", "310 lb-ft", "--at", "4600", "--standard", "sae-x"), ("sae-j1349",)),
        (("--peak-torque", "310 lb-ft", "--at", "4600", "--band", "6500-4500"), ("Band",)),
        ((), ("neither a trace nor a peak",)),
    ],
)
def test_a_pull_that_cannot_be(
    shop: CommandLine, typed: tuple[str, ...], says: tuple[str, ...]
) -> None:
    before = shop.rows()
    refused(shop("pull", "add", "--engine", "RB-2", *AIR, *typed), *says)
    assert shop.rows() == before


def _lines(*, at: int, text: str) -> bytes:
    """A sweep whose line `at` (counted from 1) has `text` in the torque column."""
    lines = ["rpm,torque_lbft"]
    lines += [f"{3000 + 50 * i},{300 + i}" for i in range(100)]
    lines[at - 1] = f"{lines[at - 1].split(',')[0]},{text}"
    return ("\n".join(lines) + "\n").encode()


@pytest.mark.parametrize(
    ("content", "says"),
    [
        pytest.param(b"", ("run.csv", "empty"), id="empty file"),
        pytest.param(b"\n \n\n", ("run.csv", "blanks"), id="blank lines"),
        pytest.param(PNG, ("run.csv", "PNG"), id="PNG"),
        pytest.param(_lines(at=57, text="oops"), ("line 57", "oops"), id="text in line 57"),
        pytest.param(_lines(at=57, text="nan"), ("line 57", "nan"), id="NaN"),
        pytest.param(_lines(at=57, text="inf"), ("line 57", "inf"), id="infinity"),
        pytest.param(_lines(at=57, text="1e999"), ("line 57",), id="overflow"),
        pytest.param(
            b"time_s,torque_nm\n0,300\n1,310\n2,320\n3,330\n", ("speed",), id="no speed column"
        ),
        pytest.param(b"rpm,oil_c\n3000,80\n3500,81\n4000,82\n", ("torque",), id="no torque"),
        pytest.param(b"rpm,torque_lbft\n", ("run.csv",), id="header alone"),
        pytest.param(bytes(range(256)) * 20, ("run.csv",), id="bytes"),
    ],
)
def test_a_file_that_is_no_pull(shop: CommandLine, content: bytes, says: tuple[str, ...]) -> None:
    path = shop.folder / "run.csv"
    path.write_bytes(content)
    before = shop.rows()
    refused(shop("pull", "add", "--engine", "RB-2", *AIR, "--trace", path), *says)
    assert shop.rows() == before


def test_a_file_of_one_endless_line(shop: CommandLine) -> None:
    """200 MB without a line break: refused by its size, without reading it into memory."""
    path = shop.folder / "run.csv"
    with path.open("wb") as file:
        file.truncate(200_000_000)
    before = shop.rows()
    refused(shop("pull", "add", "--engine", "RB-2", "--trace", path), "run.csv", "MB")
    assert shop.rows() == before


@pytest.mark.parametrize("name", ["nothing.csv", "."])
def test_no_such_file(shop: CommandLine, name: str) -> None:
    before = shop.rows()
    refused(shop("pull", "add", "--engine", "RB-2", "--trace", shop.folder / name))
    assert shop.rows() == before


def test_a_file_seen_before_is_named_with_its_pull(shop: CommandLine) -> None:
    first, copy = sweep(shop.folder / "a.csv"), sweep(shop.folder / "b.csv")
    shop.ok("pull", "add", "--engine", "RB-2", "--trace", first)
    before = shop.rows()
    refused(shop("pull", "add", "--engine", "RB-2", "--trace", copy), "already pull RB-2/")
    assert shop.rows() == before


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (("engin",), ("Did you mean engine",)),
        (("engine", "add"), ("TAG", "logbook engine add --help")),
        (("air", "--presure", "1 kPa"), ("--pressure",)),
        (("engine", "show", "RB-9"), ("RB-2",)),
        (("engine", "add", "RB-2"), ("already",)),
        (("engine", "add", "A/B"), ("slash",)),
        (("engine", "add", "X", "--bore", "86"), ("Bore", "unit")),
        (("engine", "add", "X", "--cylinders", "2.5"), ("Cylinders",)),
        (("engine", "add", "X", "--band", "5"), ("Band",)),
        (("engine", "change", "RB-2"), ("nothing to change",)),
        (("session", "open", "RB-2", "--worth-having", "nan"), ("Worth having",)),
        (("session", "open", "RB-2", "--safety-checked", "magic"), ("magic",)),
        (("session", "show", "RB-2/last"), ("session",)),
        (("session", "show", "zz"), ("zz",)),
        (("pull", "show", "RB-2/last/1"), ("session",)),
        (("pull", "add", "--engine", "RB-2", "--session", "last"), ()),
        (("find", "timing:>>"), ("timing",)),
        (("find", '"plug'), ()),
        (("compare", "a", "b"), ()),
        (("undo", "5"), ()),
        (("export",), ("--session",)),
        (("export", "x", "--engine", "RB-2"), ("--session",)),
        (("--units", "furlongs", "engine", "list"), ("furlongs",)),
        ((), ("terminal",)),
    ],
)
def test_a_command_that_makes_no_sense(
    shop: CommandLine, arguments: tuple[str, ...], says: tuple[str, ...]
) -> None:
    before = shop.rows()
    refused(shop(*arguments), *says)
    assert shop.rows() == before


def test_what_was_typed_cannot_steer_the_terminal(shop: CommandLine) -> None:
    ended = shop("engine", "show", "\x1b[2J\u202eRB")
    assert ended.code == 2
    assert "\x1b" not in ended.err
    assert "\u202e" not in ended.err


def test_a_config_file_that_is_not_toml(shop: CommandLine, monkeypatch: pytest.MonkeyPatch) -> None:
    config = Path(shop.folder / "logbook.toml")
    config.write_text("units = us")
    monkeypatch.setenv("LOGBOOK_CONFIG", str(config))
    refused(shop("engine", "list"), str(config))
