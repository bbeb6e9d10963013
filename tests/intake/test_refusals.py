"""Files that are no pull: a sentence with file, line and what would be right, nothing else."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from logbook.intake import read_bytes, read_file
from logbook.intake import text as limits
from logbook.refusals import BadFile

GOOD = "\n".join(f"{3000 + 50 * n},{200 + n}.5" for n in range(80))


def refusal(text: str | bytes, name: str = "pull.csv") -> BadFile:
    content = text.encode() if isinstance(text, str) else text
    with pytest.raises(BadFile) as caught:
        read_bytes(name, content)
    sentence = caught.value.sentence
    assert sentence.isprintable()
    assert caught.value.wanted
    return caught.value


def with_line(number: int, line: str, header: str = "rpm,Nm") -> str:
    """A good file with one line (from 1, the header being 1) put in place of another."""
    lines = [header, *GOOD.split("\n")]
    lines[number - 1] = line
    return "\n".join(lines)


@pytest.mark.parametrize(
    ("text", "where", "words"),
    [
        (b"", "pull.csv", "empty"),
        ("\n \n\t\n", "pull.csv", "nothing but blanks"),
        ("rpm,Nm,kW\n", "pull.csv, line 1", "only a header"),
        ("Run 7\nrpm;Nm;kW", "pull.csv, line 2", "only a header"),
        (GOOD, "pull.csv, line 1", "without a row of column names"),
        ("Dear Sir,\nthe engine is fine.", "pull.csv", "no rows of two or more numbers"),
        (b"\x89PNG\r\n\x1a\n" + bytes(64), "pull.csv", "PNG picture"),
        (b"PK\x03\x04" + bytes(64), "pull.csv", "spreadsheet"),
        (b"SQLite format 3\x00" + bytes(64), "pull.csv", "SQLite"),
        (bytes(range(256)) * 8, "pull.csv", "binary"),
        (with_line(57, "57\x0050,200"), "pull.csv, line 57", "zero bytes"),
        (with_line(57, '5750,"200'), "pull.csv, line 57", "a quote is opened and never closed"),
        (b"\xff\xfe" + b"\x00\xd8" * 9, "pull.csv", "UTF-16"),
        (with_line(57, "5750,knocked"), "pull.csv, line 57", '"knocked" in column "Nm"'),
        (with_line(57, "abc,200"), "pull.csv, line 57", '"abc" in column "rpm"'),
        (with_line(57, "5750,NaN"), "pull.csv, line 57", '"NaN" in column "Nm"'),
        (with_line(57, "inf,200"), "pull.csv, line 57", 'in column "rpm"'),
        (with_line(57, "5750,-Infinity"), "pull.csv, line 57", "no finite number"),
        (with_line(57, "5750,1e999"), "pull.csv, line 57", "no finite number"),
        (with_line(2, "3000,oops"), "pull.csv, line 2", '"oops"'),
        (with_line(57, "5750,200,5"), "pull.csv, line 57", "3 cells but the header names 2"),
        (with_line(57, "5750,2,0,0,5"), "pull.csv, line 57", "5 cells but the header names 2"),
        (with_line(57, "31000,200"), "pull.csv, line 57", "31000 rpm, above 30000 rpm"),
        (with_line(57, "-1e99,200"), "pull.csv, line 57", "-1e+99 rpm, below -30000 rpm"),
        (with_line(1, "Time [s],Nm"), "pull.csv, line 1", "no engine speed column"),
        (with_line(1, "rpm,Oil temp [°C]"), "pull.csv, line 1", "neither torque nor power"),
        (with_line(1, "rpm,Torque [furlong]"), "pull.csv, line 1", '"Torque" is in "furlong"'),
        (with_line(1, "rpm,Torque [°C]"), "pull.csv, line 1", "a unit of something else"),
        (with_line(1, "rpm,Torque"), "pull.csv, line 1", 'column "Torque" has no unit'),
        ("rpm,Nm\n3000,200\n3100,201", "pull.csv", "only 2 samples"),
        ("Engine speed;Nm\n3.0;200\n3.1;201\n3.2;202", "pull.csv, line 1", "never rises above 3.2"),
        (with_line(9, "3350,-1e300"), "pull.csv, line 9", "-1e+300 N·m, which no engine has"),
        ("rpm;Nm\n3,600;1,220\n3,700;1,230\n3,800;1,240", "pull.csv, line 2", "a comma in the"),
        ("rpm,Nm\n" + "1," * 60_000, "pull.csv, line 2", "more than 100000 characters"),
        ("rpm,Nm" + ",x" * 3000 + "\n" + GOOD, "pull.csv", "2000"),
    ],
)  # fmt: skip
def test_bad_content(text: str | bytes, where: str, words: str) -> None:
    refused = refusal(text)
    assert refused.where is not None
    assert refused.where.startswith(where)
    assert words in refused.what


def test_the_columns_found_are_listed() -> None:
    assert '"Time [s]", "N·m"' not in refusal(with_line(1, "Time [s],Nm")).what
    assert '"Time [s]", "Nm"' in refusal(with_line(1, "Time [s],Nm")).what


def test_a_long_cell_is_shortened_and_control_characters_are_written_out() -> None:
    refused = refusal(with_line(57, "5750,\x1b[2J" + "x" * 500))
    assert "\\x1b[2J" in refused.what
    assert len(refused.sentence) < 250


def test_hostile_names_in_a_refusal() -> None:
    refused = refusal(with_line(1, "\x1b[31mTime\u202e [s],\x07Nm"), name="\x1b]0;x\x07.csv")
    assert "\\x1b[31m" in refused.sentence


def test_lines_are_counted_over_preamble_blank_lines_and_quoted_line_breaks() -> None:
    text = 'Run 7\n\n"rpm","Nm","note"\n' + "".join(
        f'{3000 + n},200,"two\nlines"\n' for n in range(20)
    )
    refused = refusal(text + "3100,oops,x\n3101,200,x\n")
    assert refused.where == "pull.csv, line 44"


def test_missing_file(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match=r"gone\.csv: there is no such file"):
        read_file(tmp_path / "gone.csv")


def test_a_folder(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match="a folder"):
        read_file(tmp_path)


def test_a_pipe_is_not_waited_for(tmp_path: Path) -> None:
    os.mkfifo(tmp_path / "pipe.csv")
    with pytest.raises(BadFile, match="a device or a pipe"):
        read_file(tmp_path / "pipe.csv")


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read everything")
def test_permission_denied(tmp_path: Path) -> None:
    path = tmp_path / "locked.csv"
    path.write_text("rpm,Nm\n" + GOOD)
    path.chmod(0)
    with pytest.raises(BadFile, match="may not be read"):
        read_file(path)


def test_permission_denied_as_anybody(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "locked.csv"
    path.write_text("rpm,Nm\n" + GOOD)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)
    with pytest.raises(BadFile, match="may not be read"):
        read_file(path)


def test_a_path_with_a_zero_byte() -> None:
    with pytest.raises(BadFile, match=r"a\\x00b\.csv"):
        read_file(Path("a\x00b.csv"))


def test_a_200_mb_file_of_one_line_is_refused_by_its_size_unread(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as file:
        file.truncate(200 * 1024 * 1024)  # sparse: no disk is filled

    def fail(*_: object, **__: object) -> None:
        raise AssertionError("the file was opened")

    monkeypatch.setattr(Path, "open", fail)
    with pytest.raises(BadFile, match="200 MB, but only up to 64 MB"):
        read_file(path)


def test_a_file_of_too_many_lines() -> None:
    refused = refusal("rpm,Nm\n" + "\n" * (limits.MAX_LINES + 1) + "1,2")
    assert "lines, more than" in refused.what


def test_one_wide_row_does_not_make_a_long_file_a_wide_one() -> None:
    refused = refusal("rpm,Nm\n" + "3000,200\n" * 100_000 + "3000,200" + "," * 1500)
    assert "10 million cells" in refused.what


def test_a_good_file_reads_from_disk(tmp_path: Path) -> None:
    path = tmp_path / "pull.csv"
    path.write_text("rpm,Nm\n" + GOOD)
    read = read_file(path)
    assert read.name == "pull.csv"
    assert read.content == path.read_bytes()
