"""Timing and ledger by keys: one key each, the limit always beside the advice."""

from __future__ import annotations

from pathlib import Path

from logbook.cases import pulls, sessions
from logbook.cases.desk import open_desk
from tests.app.conftest import Shop, hand_on, in_session


async def test_which_timing_next_takes_one_key_and_names_the_limit(demo_book_path: Path) -> None:
    async with hand_on(demo_book_path) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        await hand.press("t")
        await hand.front("TimingScreen")
        await hand.until(lambda: "limit 36°" in hand.text_of("#judged"), "the limit")
        said = hand.text_of("#judged")
        assert "█" in said
        assert "pull this timing next" in said
        assert "● pull" in said
        assert "Pull 1 left out: Excluded: oil cold" in said
        await hand.press("escape")
        await hand.front("SessionScreen")


async def test_knock_heard_on_the_last_pull_stops_the_advice_in_words(
    demo_book_path: Path,
) -> None:
    desk = open_desk(demo_book_path)
    session = sessions.find_session(desk, "RB-8/last")
    last = pulls.find_pull(desk, "RB-8/last/13")
    pulls.change_pull(desk, last.id, {"knock": "heard"}, why="heard on the tape")
    desk.close()
    async with hand_on(demo_book_path) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        await hand.press("t")
        await hand.front("TimingScreen")
        await hand.until(lambda: "STOP" in hand.text_of("#judged"), "the stop")
        assert "Knock" in hand.text_of("#judged")
    assert session.status == "open"


async def test_the_ledger_names_the_bundle_and_its_sum(demo_book_path: Path) -> None:
    async with hand_on(demo_book_path) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        await hand.press("l")
        await hand.front("LedgerScreen")
        await hand.until(lambda: "exactly their sum" in hand.text_of("#judged"), "the sum")
        said = hand.text_of("#judged")
        assert "bundle: timing 31 → 33, main jets +1 → 0" in said
        assert "Tried and not kept" in said


async def test_closing_says_what_becomes_of_the_verdicts(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("z")
        await hand.front("ConfirmScreen")
        said = hand.text_of("#body")
        assert "backup" in said
        assert "verdict" in said
