"""When a file in a watched folder has landed, by looking again and again."""

from __future__ import annotations

import os
from pathlib import Path

import pytest

from logbook.intake.landing import Settling, Stamp, list_files, read_settled
from logbook.refusals import BadFile

ROWS = "Engine speed [rpm],Torque [lb-ft]\n" + "".join(
    f"{n},{300 + n % 7}\n" for n in range(3000, 5000, 50)
)


def test_a_file_has_landed_when_it_stood_still_over_two_looks() -> None:
    settling = Settling({}, quiet=1.0)
    assert settling.look({"a.csv": Stamp(10, 1)}, 0.0) == []
    assert settling.look({"a.csv": Stamp(10, 1)}, 0.5) == []  # a logger may write once a second
    assert settling.look({"a.csv": Stamp(10, 1)}, 1.0) == ["a.csv"]


def test_every_growth_begins_the_wait_again() -> None:
    settling = Settling({}, quiet=1.0)
    for second in range(5):
        assert settling.look({"a.csv": Stamp(10 * (second + 1), second)}, float(second)) == []
    assert settling.look({"a.csv": Stamp(50, 4)}, 5.0) == ["a.csv"]


def test_a_file_written_over_in_the_same_size_is_a_new_one() -> None:
    settling = Settling({"latest.csv": Stamp(10, 1)}, quiet=0.0)
    assert settling.look({"latest.csv": Stamp(10, 1)}, 0.0) == []
    settling.look({"latest.csv": Stamp(10, 2)}, 1.0)
    assert settling.look({"latest.csv": Stamp(10, 2)}, 2.0) == ["latest.csv"]


def test_an_empty_file_is_still_to_be_written() -> None:
    settling = Settling({}, quiet=0.0)
    for tick in range(4):
        assert settling.look({"a.csv": Stamp(0, 1)}, float(tick)) == []
    assert settling.pending == 1


def test_what_is_dealt_with_is_not_offered_again_and_the_oldest_comes_first() -> None:
    settling = Settling({}, quiet=0.0)
    listing = {"b.csv": Stamp(1, 7), "a.csv": Stamp(1, 9)}
    settling.look(listing, 0.0)
    assert settling.look(listing, 1.0) == ["b.csv", "a.csv"]
    settling.keep("b.csv", listing["b.csv"])
    assert settling.look(listing, 2.0) == ["a.csv"]


@pytest.mark.parametrize(
    "name", ["run.csv.part", "run.csv.TMP", ".run.csv", "~$run.csv", "run.csv~"]
)
def test_files_still_being_copied_and_hidden_ones_are_not_seen(tmp_path: Path, name: str) -> None:
    (tmp_path / name).write_text(ROWS)
    (tmp_path / "folder.csv").mkdir()
    assert list_files(tmp_path) == {}


def test_a_folder_that_is_not_there_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(BadFile, match="cannot be read"):
        list_files(tmp_path / "nowhere")


def look(folder: Path, name: str) -> Stamp:
    return list_files(folder)[name]


def test_a_whole_table_is_read(tmp_path: Path) -> None:
    (tmp_path / "run.csv").write_text(ROWS)
    settled = read_settled(tmp_path, "run.csv", look(tmp_path, "run.csv"))
    assert settled is not None
    assert settled.file is not None
    assert settled.file.sha256 == settled.sha256


def test_a_table_of_something_else_is_refused_and_a_picture_not_opened(tmp_path: Path) -> None:
    (tmp_path / "shopping.csv").write_text("plugs,price\n1,12\n2,90\n3,30\n")
    (tmp_path / "dyno.jpg").write_bytes(b"\xff\xd8")
    refused = read_settled(tmp_path, "shopping.csv", look(tmp_path, "shopping.csv"))
    foreign = read_settled(tmp_path, "dyno.jpg", look(tmp_path, "dyno.jpg"))
    assert refused is not None
    assert "engine speed" in refused.refusal
    assert not refused.foreign
    assert foreign is not None
    assert foreign.foreign
    assert foreign.sha256 == ""


def test_a_file_that_changes_while_it_is_read_has_to_settle_again(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text(ROWS)
    stamp = look(tmp_path, "run.csv")
    with path.open("a") as file:
        file.write("5000,301\n")
    assert read_settled(tmp_path, "run.csv", stamp) is None
    path.unlink()
    assert read_settled(tmp_path, "run.csv", stamp) is None


@pytest.mark.skipif(os.geteuid() == 0, reason="root reads everything")
def test_a_locked_file_is_tried_again(tmp_path: Path) -> None:
    path = tmp_path / "run.csv"
    path.write_text(ROWS)
    path.chmod(0)
    with pytest.raises(PermissionError):
        read_settled(tmp_path, "run.csv", look(tmp_path, "run.csv"))
