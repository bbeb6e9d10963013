"""Undo and redo from the audit trail: the next day, in another run, by another program."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from logbook.cases import change, finding, pulls, safety, sessions
from logbook.cases.desk import Desk, open_desk
from logbook.records.pull import Pull
from logbook.refusals import Conflict
from tests.cases.conftest import Clock, Shop


def next_day(shop: Shop, clock: Clock, who: str = "MB") -> Desk:
    """The book opened anew a day later, by somebody else."""
    shop.desk.close()
    clock.turn(24 * 60)
    shop.desk = open_desk(shop.desk.book.path, create=False, who=who, units="us", now=clock)
    return shop.desk


def oil(desk: Desk, pull_id: str) -> float | None:
    with desk.book.reading() as read:
        return read.get(Pull, pull_id).oil_c


def test_what_was_corrected_is_taken_back_and_done_again_a_day_later(
    shop: Shop, air: dict[str, str]
) -> None:
    logged = shop.peaks(400, oil="185 F", **air)
    pulls.change_pull(shop.desk, logged.pull_id, {"oil": "195 F"}, why="misread the gauge")
    desk = next_day(shop, shop.clock)
    assert "Taken back" in change.undo_last(desk).sentence
    assert oil(desk, logged.pull_id) == pytest.approx(85)
    desk = next_day(shop, shop.clock, who="KL")
    change.redo_last(desk)
    assert oil(desk, logged.pull_id) == pytest.approx(90.556, abs=0.001)
    groups = change.history(desk)
    assert [group.who for group in groups[:3]] == ["KL", "MB", "KL"]
    assert groups[2].why == "misread the gauge"
    assert safety.verify(desk) == []
    with desk.book.reading() as read:
        old_and_new = list(read.rows("SELECT old, new FROM audit_fields WHERE field = 'oil_c'"))
    assert [round(old) for old, _ in old_and_new] == [85, 91, 85], "every value stays in the trail"


def test_a_pull_taken_back_the_next_day_is_gone_from_lists_and_found_again(
    shop: Shop, air: dict[str, str]
) -> None:
    shop.peaks(400, note="quince", **air)
    desk = next_day(shop, shop.clock)
    change.undo_last(desk)
    assert finding.find(desk, "quince") == []
    assert sessions.list_sessions(desk)[0].pulls == 0
    desk = next_day(shop, shop.clock)
    change.redo_last(desk)
    assert [hit.number for hit in finding.find(desk, "quince")] == [1]
    assert safety.verify(desk) == []


def test_an_undo_that_would_tread_on_later_work_is_refused_the_next_day_too(shop: Shop) -> None:
    logged = shop.peaks(400, oil="185 F")
    pulls.change_pull(shop.desk, logged.pull_id, {"oil": "195 F"}, why="misread")
    group = change.history(shop.desk)[0].group
    desk = next_day(shop, shop.clock)
    pulls.change_pull(desk, logged.pull_id, {"oil": "190 F"}, why="misread again")
    with pytest.raises(Conflict, match="later changed the same pull"):
        change.undo_group(desk, group)
    assert oil(desk, logged.pull_id) == pytest.approx(87.778, abs=0.001)


def test_another_program_takes_it_back(shop: Shop, tmp_path: Path) -> None:
    logged = shop.peaks(400)
    home = {name: str(tmp_path) for name in ("XDG_CONFIG_HOME", "XDG_DATA_HOME", "XDG_STATE_HOME")}

    def run(command: str) -> str:
        ended = subprocess.run(
            [sys.executable, "-m", "logbook", "--db", str(shop.desk.book.path), command],
            capture_output=True,
            text=True,
            check=False,
            cwd=Path(__file__).parents[2],
            env={**os.environ, **home, "LOGBOOK_OPERATOR": "MB"},
        )
        assert ended.returncode == 0, ended.stderr
        return ended.stderr

    assert "Pull 1 logged" in run("undo")
    # Seen at once by the program that had the book open all the while.
    assert sessions.list_sessions(shop.desk)[0].pulls == 0
    run("redo")
    with shop.desk.book.reading() as read:
        assert not read.get(Pull, logged.pull_id).withdrawn
