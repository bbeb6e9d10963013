"""What a person can say of a file's columns, and that it is what the file is then read by."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.cases.columns import Meaning, as_map, columns_of, meanings, name_columns
from logbook.cases.entry import PullEntry
from logbook.cases.pulls import add_pull
from logbook.intake.column_map import read_column
from logbook.intake.unsettled import ShownColumn
from logbook.refusals import BadFile
from tests.cases.conftest import Shop

BARE = "speed;Load;Load\n" + "".join(f"{n};{n / 10};7\n" for n in range(2000, 2600, 50))


@pytest.fixture
def bare(shop: Shop) -> Path:
    path = shop.folder / "bare.csv"
    path.write_text(BARE)
    return path


def test_every_meaning_can_be_said_of_a_column(shop: Shop) -> None:
    for one in meanings(ShownColumn("X", "", "", ()), "us"):
        text = as_map({"X": one})[one.quantity]
        assert read_column(f"{one.quantity}={text}") == (one.quantity, text)


def test_the_likely_meanings_come_first(shop: Shop) -> None:
    torque = meanings(ShownColumn("Torque", "", "torque", ()), "metric")
    assert torque[:2] == [Meaning("torque", "N·m"), Meaning("torque", "lb·ft")]
    unknown = meanings(ShownColumn("TQ7", "kW", "", ()), "us")
    assert unknown[:2] == [Meaning("power", "kW"), Meaning("engine speed", "rpm")]


def test_columns_of_one_name_are_told_apart_and_remembered(shop: Shop, bare: Path) -> None:
    view = columns_of(shop.desk, bare)
    assert [one.name for one in view.columns] == ["speed", "Load", "Load (2)"]
    wrong = columns_of(shop.desk, bare, said=view.saying("Load (2)", Meaning("torque", "N·m")))
    assert wrong.part is not None
    assert wrong.part.peak_torque_nm == pytest.approx(7)
    view = columns_of(shop.desk, bare, said=wrong.saying("Load", Meaning("torque", "N·m")))
    assert view.part is not None
    assert view.part.peak_torque_nm == pytest.approx(255, abs=5)
    name_columns(shop.desk, view)
    add_pull(shop.desk, PullEntry(session_id=shop.session_id, trace=bare))


def test_what_was_said_wrongly_can_be_said_again(shop: Shop, bare: Path) -> None:
    said = {"speed": Meaning("engine speed", "rad/s"), "Load": Meaning("torque", "N·m")}
    wrong = columns_of(shop.desk, bare, said=said)
    name_columns(shop.desk, wrong)  # ten times too fast, and no engine's limit is known here
    right = columns_of(shop.desk, bare)
    assert right.said == said
    name_columns(shop.desk, columns_of(shop.desk, bare, said={"Load": Meaning("torque", "N·m")}))
    assert columns_of(shop.desk, bare).said == {"Load": Meaning("torque", "N·m")}


def test_a_file_that_is_no_table_is_refused_as_ever(shop: Shop) -> None:
    path = shop.folder / "notes.txt"
    path.write_text("plugs and oil\n")
    with pytest.raises(BadFile):
        columns_of(shop.desk, path)
