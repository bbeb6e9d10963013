"""Work that is stopped ends at its next step, and nothing of it stays."""

from __future__ import annotations

import threading
from pathlib import Path

import pytest

from logbook.cases.desk import open_desk
from logbook.cases.engines import add_cell
from logbook.records.cell import Cell
from logbook.refusals import NotFound
from logbook.reports.files import whole_file
from logbook.store.book import Book
from logbook.underway import Course, Stopped, each, provisional, say, seal, step, within
from logbook.verdict.plan import PlannedChange, propose


def test_steps_are_counted_and_those_within_steps_are_not() -> None:
    course, seen = Course("counting"), []
    with within(course):
        for _ in each("abc", 3):
            for _ in each(range(100), 100):
                seen.append((course.done, course.total))
    assert seen[::100] == [(0, 3), (1, 3), (2, 3)]
    assert course.total == 0


def test_without_a_course_nothing_is_asked() -> None:
    step()
    seal()
    with provisional():
        assert list(each("abc", 3)) == ["a", "b", "c"]


def test_a_change_that_is_stopped_is_not_in_the_book(tmp_path: Path) -> None:
    desk, course = open_desk(tmp_path / "book.db", who="KL"), Course("entering")
    with pytest.raises(Stopped), within(course), desk.book.changing(who="KL") as change:  # noqa: PT012
        change.insert(Cell(id="north", name="North"))
        assert course.stop()
    with desk.book.reading() as read, pytest.raises(NotFound):
        read.get(Cell, "north")
    with within(Course("entering again")):
        add_cell(desk, "North", {})
    desk.close()


def test_what_is_committed_cannot_be_stopped(tmp_path: Path) -> None:
    desk, course = open_desk(tmp_path / "book.db", who="KL"), Course("entering")
    with within(course):
        add_cell(desk, "North", {})
        assert not course.stop()
        step()  # it goes on to its end
    assert course.sealed
    desk.close()


def test_a_book_that_nobody_has_seen_yet_is_not_final(tmp_path: Path) -> None:
    course = Course("building")
    with within(course), provisional(), Book.open(tmp_path / "new.db") as book:
        with book.changing(who="KL") as change:
            change.insert(Cell(id="north", name="North"))
        say("backing the book up")
        assert course.doing == "building"
        assert not course.sealed
        assert course.stop()
        with pytest.raises(Stopped):
            step()


def test_a_file_that_is_stopped_leaves_nothing_behind(tmp_path: Path) -> None:
    course = Course("writing")
    with pytest.raises(Stopped), within(course), whole_file(tmp_path / "report.html") as out:  # noqa: PT012
        out.write("half")
        course.stop()
    assert list(tmp_path.iterdir()) == []


def test_a_plan_that_nobody_waits_for_is_given_up() -> None:
    """Of some hundred layouts hardly more are judged once it is superseded."""
    course = Course("working the plan out")
    changes = [PlannedChange(f"timing {n}") for n in range(12)]
    timer = threading.Timer(0.05, course.stop)
    timer.start()
    with pytest.raises(Stopped), within(course):
        propose(changes, 60)
    timer.join()
    assert course.stopped
