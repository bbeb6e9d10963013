"""A slow machine and a fault of the logbook itself: no key lost, nothing dead afterwards."""

from __future__ import annotations

import threading
from collections.abc import Iterator
from typing import Any

import pytest
from textual import events

from logbook.app.app import LogbookApp
from logbook.app.screens import edges as screen_of_edges
from logbook.app.screens.form import Form
from logbook.cases import edges, judge, pulls, running
from logbook.cases.desk import open_desk
from logbook.records.pull import Pull
from logbook.refusals import BadInput
from tests.app.conftest import Hand, Shop, hand_on, in_session


@pytest.fixture
def slow(monkeypatch: pytest.MonkeyPatch) -> Iterator[threading.Event]:
    """The session is judged when the event is set."""
    gate, real = threading.Event(), judge.session_view

    def waits(desk: Any, session_id: str) -> Any:
        gate.wait(10)
        return real(desk, session_id)

    monkeypatch.setattr(judge, "session_view", waits)
    yield gate
    gate.set()


async def test_what_is_typed_before_the_session_is_there_goes_where_it_was_meant(
    shop: Shop, slow: threading.Event
) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.front("SessionScreen")
        for number, key in enumerate(("enter", *"420", "enter", *"5750")):
            if number == 5:
                slow.set()  # the session comes while the keys come
            hand.app.post_message(events.Key(key, key if len(key) == 1 else None))
        form = await hand.front("PullForm")
        assert isinstance(form, Form)
        await hand.until(lambda: len(form.touched()) == 2, "both figures")
        assert list(form.touched().values()) == ["420", "5750"]


async def test_letters_do_no_harm_before_the_session_is_there(
    shop: Shop, slow: threading.Event
) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.front("SessionScreen")
        await hand.press("u", "u")
        await hand.pilot.pause(0.2)
        assert "Taken back" not in hand.text_of("#notice")
        await hand.press("escape")
        await hand.front("EnginesScreen")
        slow.set()
        await hand.pilot.pause(0.3)
        assert "Taken back" not in hand.text_of("#notice"), "left: what was pressed there is gone"


async def test_a_hand_that_is_quicker_than_the_machine_takes_nothing_back(shop: Shop) -> None:
    """Leave the search and search anew, all at once: were ``/`` worked off before the ``Esc``, the
    ``u`` of what is typed would come to the engines, where it takes the last pull back."""
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("slash")
        before = await hand.front("HistoryScreen")
        await hand.press("o", "i", "l")
        for key in ("escape", "slash", *"plug u?"):
            hand.app.post_message(events.Key(key, {"slash": "/", "escape": None}.get(key, key)))
        await hand.until(lambda: hand.app.screen is not before, "another screen")
        screen = await hand.front("HistoryScreen")
        await hand.until(lambda: screen.query_one("#box").value == "plug u?", "all of it")  # type: ignore[attr-defined]
        with open_desk(shop.book).book.reading() as read:
            assert not [pull for pull in read.where(Pull) if pull.withdrawn]


async def test_after_a_fault_the_same_trace_can_be_logged(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = pulls.add_pull

    def breaks(*_: Any) -> Any:
        raise RuntimeError("broken")

    async with in_session(shop) as hand:
        hand.app.screen.land(shop.file(1.04, "late.csv"), None)  # type: ignore[attr-defined]
        await hand.until(lambda: "late.csv" in hand.text_of("#foot"), "the trace")
        await hand.until(lambda: hand.app.screen.next.preview is not None, "the reading")  # type: ignore[attr-defined]
        shop.clock.turn(1)
        monkeypatch.setattr(pulls, "add_pull", breaks)
        await hand.press("enter")
        await hand.front("ConfirmScreen")
        monkeypatch.setattr(pulls, "add_pull", real)
        await hand.press("enter")
        await hand.front("SessionScreen")
        await hand.press("enter")
        await hand.notice("Pull 6 logged")


async def test_a_wall_says_a_fault_once_and_forgets_what_is_over(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    app = LogbookApp(lambda: open_desk(shop.book, now=shop.clock), now=shop.clock, wall=True,
                     tick=shop.clock.tick)  # fmt: skip
    real = running.running_mark

    def locked(*_: Any) -> Any:
        raise BadInput("the book is locked")

    def breaks(*_: Any) -> Any:
        raise RuntimeError("broken")

    async with app.run_test(size=(100, 30)) as pilot:
        hand = Hand(app, pilot)
        await hand.until(lambda: "pull 5" in hand.text_of("#large"), "the newest pull")
        monkeypatch.setattr(running, "running_mark", locked)
        await hand.notice("locked")
        shop.clock.turn(1)
        monkeypatch.setattr(running, "running_mark", real)
        await hand.until(lambda: not hand.text_of("#notice"), "the notice to go")
        monkeypatch.setattr(running, "running_mark", breaks)
        await hand.front("ConfirmScreen")
        await pilot.pause(2.2)
        assert [type(one).__name__ for one in app.screen_stack].count("ConfirmScreen") == 1


async def test_an_edge_moved_at_once_is_set_beside_what_was(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    gate, real, asked = threading.Event(), edges.figures_with, []

    def waits(view: Any, taken: tuple[int, int]) -> Any:
        asked.append(taken)
        if len(asked) == 2:
            gate.wait(10)
        return real(view, taken)

    monkeypatch.setattr(screen_of_edges, "figures_with", waits)
    async with in_session(shop) as hand:
        await hand.press("E")
        await hand.front("EdgesScreen")
        await hand.until(lambda: len(asked) >= 2, "the first figures")
        await hand.press("right", "up")
        gate.set()
        await hand.until(lambda: "was" in hand.text_of("#figures"), "what it was")
        await hand.press("f9")
        await hand.until(lambda: "kW" in hand.text_of("#figures"), "other units")
        await hand.until(lambda: "N·m" in hand.screen_text(), "other units in the picture")
