"""One pull, written in the ways that data systems write it, reads as the same pull."""

from __future__ import annotations

import numpy as np
import pytest

from logbook.intake import ReadFile, read_bytes

# Engine speed rpm, torque N·m, power kW: five samples of an invented engine.
SAMPLES = (
    ("3000", "300.5", "94.40"),
    ("3500", "310.2", "113.69"),
    ("4000", "321.0", "134.46"),
    ("4500", "315.1", "148.49"),
    ("5000", "301.9", "158.07"),
)
HEADER = "Engine speed [rpm],Torque [Nm],Power [kW]"
CARDS = "\n".join(f"Item {n};{n * 2.5};{n}" for n in range(20))


def rows(delimiter: str = ",", decimal: str = ".", end: str = "", quote: str = "") -> str:
    return "\n".join(
        delimiter.join(quote + cell.replace(".", decimal) + quote for cell in sample) + end
        for sample in SAMPLES
    )


TEXTS = {
    "comma": f"{HEADER}\n{rows()}\n",
    "no final newline": f"{HEADER}\n{rows()}",
    "CRLF": f"{HEADER}\n{rows()}\n".replace("\n", "\r\n"),
    "old line ends": f"{HEADER}\n{rows()}\n".replace("\n", "\r"),
    "semicolon, decimal point": f"{HEADER.replace(',', ';')}\n{rows(';')}\n",
    "semicolon, decimal comma": f"{HEADER.replace(',', ';')}\n{rows(';', ',')}\n",
    "tab": f"{HEADER.replace(',', chr(9))}\n{rows(chr(9))}\n",
    "tab, decimal comma": f"{HEADER.replace(',', chr(9))}\n{rows(chr(9), ',')}\n",
    "bar": f"{HEADER.replace(',', '|')}\n{rows('|')}\n",
    "set in columns by blanks": f"{HEADER.replace(',', '   ')}\n{rows('    ')}\n",
    "blanks, decimal comma": f"n_rpm M_Nm P_kW\n{rows('  ', ',')}\n",
    "comma and blank": f"{HEADER}\n{rows(', ')}\n",
    "quoted": f'"Engine speed, rpm","Torque, Nm","Power, kW"\n{rows(quote=chr(34))}\n',
    "quoted decimal commas": f'"rpm","Nm","kW"\n{rows(",", ",", quote=chr(34))}\n',
    "quoted header over two lines": f'"Engine speed\n[rpm]","Torque\n[Nm]",Power [kW]\n{rows()}\n',
    "thousands": f"{HEADER}\n" + "\n".join(f'"{int(n):,}",{m},{p}' for n, m, p in SAMPLES) + "\n",
    "round brackets": f"n (1/min),M (Nm),P (kW)\n{rows()}\n",
    "underscores": f"rpm,torque_nm,power_kw\n{rows()}\n",
    "units alone": f"rpm,Nm,kW\n{rows()}\n",
    "German": f"Drehzahl [U/min];Drehmoment [Nm];Leistung [kW]\n{rows(';', ',')}\n",
    "unit after a bare comma": f"Engine speed, rpm,Torque, Nm,Power, kW\n{rows()}\n",
    "units row": f"Engine speed,Torque,Power\nrpm,Nm,kW\n{rows()}\n",
    "units row in brackets": f"Engine speed,Torque,Power\n[rpm],[Nm],[kW]\n\n{rows()}\n",
    "two header rows": f"Engine,Torque,Power\nspeed,,\nrpm,Nm,kW\n{rows()}\n",
    "group row": f"Engine,,\nSpeed,Torque,Power\nrpm,Nm,kW\n{rows()}\n",
    "preamble of another width": f"Run 12\nOperator: J.K.\n\n{HEADER}\n{rows()}\n",
    "preamble with numbers": f"{CARDS}\n\n{HEADER.replace(',', ';')}\n{rows(';', ',')}\n",
    "preamble as wide as the table": "\n".join(f"Cal,{n},{n * 2.5}" for n in range(20))
    + f"\n{HEADER}\n{rows()}\n",
    "preamble row above units": f"Operator,J.K.,late shift\nrpm,Nm,kW\n{rows()}\n",
    "sep line": f"sep=;\n{HEADER.replace(',', ';')}\n{rows(';')}\n",
    "ragged: trailing comma in the header": f"{HEADER},\n{rows()}\n",
    "ragged: trailing comma in the rows": f"{HEADER}\n{rows(end=',')}\n",
    "padded by a spreadsheet": f"Run 12,,,,\n{HEADER},,\n{rows(end=',,,,')}\n,,,,,\n,,,,,\n",
    "blank lines between": f"{HEADER}\n\n" + rows().replace("\n", "\n\n") + "\n\n",
    "DOS end of file": f"{HEADER}\n{rows()}\n\x1a",
    "minus signs of typography": f"{HEADER},Oil [°C]\n{rows(end=',−4.5')}\n",
    "closing remark": f"{HEADER}\n{rows()}\nEnd of log\n",
}


def same_pull(read: ReadFile) -> None:
    expected = np.array(SAMPLES, dtype=float)
    for column, quantity, unit in ((0, "engine speed", "rpm"), (1, "torque", "N·m"),
                                   (2, "power", "kW")):  # fmt: skip
        channel = read.trace.of(quantity)
        assert channel is not None
        assert channel.unit == unit
        assert channel.values.tolist() == expected[:, column].tolist()
        assert channel.si().tolist() == expected[:, column].tolist()


@pytest.mark.parametrize("text", TEXTS.values(), ids=TEXTS)
def test_the_same_pull_in_every_dialect(text: str) -> None:
    same_pull(read_bytes("pull.csv", text.encode()))


@pytest.mark.parametrize(
    "encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "utf-32", "cp1252"]
)
def test_encodings(encoding: str) -> None:
    text = f"{HEADER},Öl °C\n{rows(end=',90.5')}\n"
    read = read_bytes("pull.csv", text.encode(encoding))
    same_pull(read)
    assert read.trace.channels[3].name == "Öl"
    assert read.trace.channels[3].unit == "°C"


def test_latin_1_with_a_byte_that_windows_has_not() -> None:
    read = read_bytes("pull.csv", f"Zelle \x81 ü\n{HEADER}\n{rows()}\n".encode("latin-1"))
    same_pull(read)
    assert read.encoding == "latin-1"


def test_what_the_dialect_was_is_told() -> None:
    read = read_bytes("pull.csv", TEXTS["semicolon, decimal comma"].encode("cp1252"))
    assert (read.delimiter, read.decimal, read.encoding) == (";", ",", "utf-8")


def test_a_preamble_is_kept_and_shown_without_control_characters() -> None:
    read = read_bytes("pull.csv", f"Run 12\x1b[31m\n\nBaro;29.92\n{HEADER}\n{rows()}\n".encode())
    assert read.preamble == ("Run 12\\x1b[31m", "Baro;29.92")


def test_a_group_row_tells_equal_names_apart() -> None:
    head = "Engine,Engine,Oil,Oil,Water\nSpeed,Torque,Temp,Pressure,Temp\nrpm,Nm,°C,bar,°C\n"
    read = read_bytes(
        "pull.csv", (head + "\n".join(f"{n},{m},90,4,80" for n, m, _ in SAMPLES)).encode()
    )
    assert [c.quantity for c in read.trace.channels] == [
        "engine speed", "torque", "oil temperature", "oil pressure", "coolant temperature",
    ]  # fmt: skip


def test_150_quoted_columns() -> None:
    names = ["Engine speed [rpm]", "Torque [Nm]", *(f"Cell {n}, value [mV]" for n in range(148))]
    lines = [",".join(f'"{name}"' for name in names)]
    lines += [",".join(f'"{x}"' for x in (n, m, *range(148))) for n, m, _ in SAMPLES]
    read = read_bytes("pull.csv", "\r\n".join(lines).encode())
    assert len(read.trace.channels) == 150
    assert read.trace.channels[149].name == "Cell 147, value"
    assert read.trace.channels[149].unit == "mV"
    assert read.unknown_units == ("mV",) * 148


def test_decimals_are_those_printed() -> None:
    read = read_bytes("pull.csv", f"{HEADER},x\n{rows(end=',1.2500e-1')}\n".encode())
    assert [channel.decimals for channel in read.trace.channels] == [0, 1, 2, 5]


def test_decimals_beyond_the_first_rows_are_found() -> None:
    lines = [f"{3000 + n},{200 + n / 10:.1f}" for n in range(60)]
    lines[55] = "3055,205.12345"
    read = read_bytes("pull.csv", ("rpm,Nm\n" + "\n".join(lines)).encode())
    torque = read.trace.of("torque")
    assert torque is not None
    assert torque.decimals == 5
    assert torque.values[55] == 205.12345


def test_a_decimal_comma_far_down_is_found() -> None:
    lines = [f"{3000 + n};200" for n in range(100)]
    lines[90] = "3090;200,5"
    torque = read_bytes("pull.csv", ("rpm;Nm\n" + "\n".join(lines)).encode()).trace.of("torque")
    assert torque is not None
    assert torque.values[90] == 200.5


def test_numbers_with_more_digits_than_decimals_can_hold_are_exact() -> None:
    lines = [f"{3000 + n},{200 + n / 7!r}e-12" for n in range(20)]
    read = read_bytes("pull.csv", ("rpm,Nm\n" + "\n".join(lines)).encode())
    torque = read.trace.of("torque")
    assert torque is not None
    assert torque.values.tolist() == [float(line.split(",")[1]) for line in lines]


def test_what_is_kept_of_the_file() -> None:
    content = TEXTS["comma"].encode()
    read = read_bytes("C:\\logs\\..\\pull 7.csv", content)
    assert read.name == "pull 7.csv"
    assert read.content == content
    assert len(read.sha256) == 64


def test_the_signature_is_of_names_and_units_alone() -> None:
    one = read_bytes("a.csv", TEXTS["comma"].encode())
    other = read_bytes("b.csv", f"engine_speed;torque;power\nrpm;N-m;kW\n{rows(';', ',')}".encode())
    third = read_bytes("c.csv", TEXTS["comma"].replace("[Nm]", "[lb-ft]").encode())
    assert one.signature == other.signature
    assert one.signature != third.signature
