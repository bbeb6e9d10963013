"""Timing, ledger and plan by keys: one key each, the limit always beside the advice."""

from __future__ import annotations

from pathlib import Path

from logbook.app.messages import BookChanged
from logbook.cases import pulls, sessions
from logbook.cases.desk import open_desk
from tests.app.conftest import Hand, Shop, hand_on, in_session, wait_for_trace


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
        assert "bundle: timing 31° → 33°, main jets +1 → 0" in said
        assert "Tried and not kept" in said


async def test_closing_says_what_becomes_of_the_verdicts(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("z")
        await hand.front("ConfirmScreen")
        said = hand.text_of("#body")
        assert "backup" in said
        assert "not pulled again after pulls 4–5" in said
        assert "▲ gain so far +" in said
        assert "Stays open: pulls 4–5 stay “so far”" in said
        await hand.press("enter")
        await hand.session()
        await hand.notice("Session closed. Backup: ")
        await hand.notice("Stays open: pulls 4–5")


async def make_plan(hand: Hand, *changes: str, budget: str) -> None:
    """Type a plan on its form, up to the key that accepts it."""
    await hand.press("n")
    await hand.front("PlanForm")
    for text in changes:
        await hand.type(text)
        await hand.press("enter")
    await hand.press("enter")
    await hand.type(budget)
    await hand.until(lambda: "baseline last" in hand.text_of("#plan"), "the plan")


async def test_a_plan_is_typed_accepted_taken_up_with_a_key_and_ticked_off(shop: Shop) -> None:
    shop.file(1.0004, "run-b.csv")
    async with in_session(shop) as hand:
        await make_plan(hand, "timing 36", "main jets=82 !", budget="9")
        said = hand.text_of("#plan")
        assert "Timing 36° is past" in said
        assert "Smallest gain it finds four times in five" in said
        assert "hard to change: set up once" in said
        await hand.press("enter")
        screen = await hand.session()
        await hand.notice("Plan of")
        await hand.until(lambda: "planned: baseline, 0 of" in hand.text_of("#foot"), "the plan")
        hand.keys = 0
        await hand.press("d")
        assert hand.keys == 1
        assert screen.next.changed == {"timing": "30"}
        assert "✓ as planned" in hand.text_of("#foot")
        await wait_for_trace(hand, shop, "run-b.csv")
        await hand.press("enter")
        await hand.until(lambda: "planned: baseline, 1 of" in hand.text_of("#foot"), "the tick")
        await hand.press("n")
        await hand.front("PlanScreen")
        await hand.until(lambda: "  1 ✓" in hand.text_of("#judged"), "the tick")
        assert "█" in hand.text_of("#judged")
        assert "pull next: baseline" in hand.text_of("#judged")
        await hand.press("enter")
        await hand.session()
        await hand.notice("as the engine stands")


async def test_a_plan_is_replaced_withdrawn_and_brought_back(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await make_plan(hand, "timing 33", budget="7")
        await hand.press("ctrl+s")
        await hand.session()
        await hand.press("n", "n")
        form = await hand.front("PlanForm")
        await hand.until(lambda: form.entry("change-2") is not None, "the form")
        assert form.entry("change-1").value == "timing=33"
        form.entry("change-1").set_value("timing=31")
        form.entry("budget").set_value("5")
        await hand.press("ctrl+s")
        await hand.front("PlanScreen")
        await hand.until(lambda: "timing 31°" in hand.text_of("#judged"), "the other plan")
        await hand.press("delete")
        screen = await hand.session()
        await hand.until(lambda: screen.plan is None, "no plan")
        await hand.press("u")
        await hand.until(lambda: screen.plan is not None, "the plan again")


async def test_an_alarm_stops_the_plan_in_words(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await make_plan(hand, "timing 33", budget="7")
        await hand.press("ctrl+s")
        await hand.session()
        pulls.change_pull(shop.desk, shop.pull_ids[-1], {"alarms": "oil pressure"}, why="seen late")
        hand.app.post_message(BookChanged())
        await hand.until(lambda: "plan stopped" in hand.text_of("#foot"), "the stop")
        assert "session.planned" not in {key.id for key, _ in hand.app.screen.keys_now()}
        await hand.press("n")
        await hand.front("PlanScreen")
        await hand.until(lambda: "STOP" in hand.text_of("#judged"), "the stop")
        assert "oil pressure" in hand.text_of("#judged")


async def test_a_ledger_without_a_baseline_says_so_in_its_place(shop: Shop) -> None:
    sessions.open_session(shop.desk, "RB-2")
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        await hand.press("l")
        await hand.front("LedgerScreen")
        await hand.until(lambda: "starts from a baseline" in hand.text_of("#judged"), "why not")
