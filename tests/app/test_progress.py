"""What takes long is seen to be under way, and Esc stops it where nothing is final yet."""

from __future__ import annotations

import threading
import time
from typing import Any

import pytest

from logbook import underway
from logbook.app import work
from logbook.app.widgets.progress import progress_line
from logbook.reports import issue
from logbook.store.book import Book
from logbook.underway import Course
from tests.app.conftest import Shop, in_session


@pytest.fixture(autouse=True)
def soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is slow is seen at once."""
    monkeypatch.setattr(work, "SLOW_S", 0.0)


async def test_esc_stops_a_report_and_nothing_of_it_is_written(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def long(*_: Any) -> str:
        for _ in underway.each(range(5_000), 5_000):
            time.sleep(0.01)
        return "the report"

    monkeypatch.setattr(issue, "session_text", long)
    async with in_session(shop) as hand:
        await hand.press("r")
        await hand.front("Chooser")
        await hand.press("2")
        await hand.until(lambda: "of 5000" in hand.text_of("#progress"), "how far it is")
        assert hand.text_of("#progress").startswith("Writing the report ░")
        assert hand.text_of("#progress").endswith("Esc stops it")
        await hand.press("escape")
        await hand.notice("Stopped writing the report.")
        await hand.until(lambda: not hand.app.work.busy, "the end of it")
        assert not list(shop.folder.glob("book-reports/*"))
        assert type(hand.app.screen).__name__ == "SessionScreen", "it was not left"
        await hand.press("escape")
        await hand.front("EnginesScreen")


async def test_a_close_that_is_in_the_book_says_that_it_cannot_be_stopped(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, real = threading.Event(), Book.keep_copy

    def waits(book: Book, occasion: str) -> Any:
        gate.wait(10)
        return real(book, occasion)

    monkeypatch.setattr(Book, "keep_copy", waits)
    async with in_session(shop) as hand:
        await hand.press("z")
        await hand.front("ConfirmScreen")
        await hand.press("enter")
        await hand.until(lambda: "cannot be stopped" in hand.text_of("#progress"), "the backup")
        assert hand.text_of("#progress").startswith("Backing the book up …")
        await hand.press("escape")
        await hand.notice("being written already and cannot be stopped")
        gate.set()
        await hand.notice("Session closed.")


def test_the_row_keeps_what_esc_does_however_long_the_name_is() -> None:
    course = Course("reading " + "long-name-" * 20 + ".csv")
    line = row(course, 78)
    assert len(line) == 78
    assert line.endswith("… … 3 s  Esc stops it")
    course.done, course.total = 6, 12
    assert "████████░░░░░░░░ 6 of 12, 3 s  Esc stops it" in row(course, 78)


def row(course: Course, width: int) -> str:
    """What stands there after three seconds."""
    return "".join(text for text, _ in progress_line(course, width, course.began + 3))
