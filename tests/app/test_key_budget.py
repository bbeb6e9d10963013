"""The cell's moments within their keys: the table of what each may cost at most.

Digits and words of the datum itself are not counted; everything starts on the Session screen.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.app.conftest import Hand, Shop, in_session, wait_for_trace
from tests.reports.page_reader import read_page


async def pulls_logged(hand: Hand, number: int) -> None:
    await hand.until(lambda: f"{number} " in (hand.rows() or [""])[0], f"pull {number}")
    await hand.notice(f"Pull {number} logged")


async def test_accept_a_waiting_trace_with_the_same_set_up(shop: Shop) -> None:
    shop.file(1.0128, "run-a.csv")
    async with in_session(shop) as hand:
        await wait_for_trace(hand, shop, "run-a.csv")
        await hand.press("enter")
        await pulls_logged(hand, 6)
        assert hand.keys <= 1


async def test_accept_it_with_two_degrees_more(shop: Shop) -> None:
    shop.file(1.015, "run-b.csv")
    async with in_session(shop) as hand:
        await wait_for_trace(hand, shop, "run-b.csv")
        await hand.press("plus", "plus", "enter")
        await pulls_logged(hand, 6)
        assert hand.keys <= 4
        assert "timing 34°" in hand.rows()[0]


async def test_another_fuel_on_file_and_log(shop: Shop) -> None:
    shop.file(0.99, "run-c.csv")
    async with in_session(shop) as hand:
        await wait_for_trace(hand, shop, "run-c.csv")
        await hand.press("f")
        await hand.front("Chooser")
        await hand.press("1")
        screen = await hand.session()
        assert screen.next.changed == {"fuel": "Foxtrot"}
        await hand.press("enter")
        await pulls_logged(hand, 6)
        assert hand.keys <= 5
        assert "fuel Foxtrot" in hand.rows()[0]


async def test_type_the_peaks_where_there_is_no_trace(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("p")
        await hand.front("PullForm")
        for number, text in enumerate(("466.5", "6450", "402", "5000")):
            await hand.until(lambda: hand.app.focused is not None)
            await hand.type(text)
            await hand.press("enter")
            assert number == 3 or hand.app.screen.focused is not None
        await hand.session()
        await pulls_logged(hand, 6)
        assert hand.keys <= 6


async def test_a_new_air_reading_of_three_numbers(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("a")
        await hand.front("AirForm")
        for text in ("28.6", "81", "38"):
            await hand.type(text)
            await hand.press("enter")
        await hand.session()
        await hand.notice("Air taken down")
        await hand.until(lambda: "28.60 inHg 81 °F 38 %" in hand.text_of("#foot"), "the new air")
        assert hand.keys <= 5


async def test_exclude_with_a_reason_and_take_that_back(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("x")
        await hand.front("ExcludeForm")
        await hand.type("oil cold")
        await hand.press("enter")
        await hand.session()
        await hand.until(lambda: "excluded: oil cold" in hand.rows()[0], "the exclusion")
        assert hand.keys <= 3
        hand.keys = 0
        await hand.press("x")
        await hand.until(lambda: "excluded" not in hand.rows()[0], "counting again")
        assert hand.keys <= 1


async def test_lay_this_pull_over_the_best_of_last_years_session(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("c")
        await hand.front("Chooser")
        line = next(i for i, row in enumerate(hand.rows(), 1) if "Best of 15 Mar 2025" in row)
        await hand.press(str(line))
        screen = await hand.front("CompareScreen")
        await hand.until(lambda: "RB-2/2025-03-15/2" in hand.text_of("#head"), "the comparison")
        assert hand.keys <= 4
        assert screen.query_one("#differing").lines(50, 50)


async def test_this_set_ups_pulls_become_the_baseline(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("b")
        await hand.front("ConfirmScreen")
        await hand.press("enter")
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.session.baseline) == 2, "the baseline")
        assert hand.keys <= 3
        assert "4–5" in hand.text_of("#head")


async def test_any_pull_of_this_engine_whose_note_says_plug(shop: Shop) -> None:
    from logbook.cases.pulls import change_pull

    change_pull(shop.desk, shop.pull_ids[1], {"note": "specks on plug 3"}, why="forgotten")
    async with in_session(shop) as hand:
        await hand.press("slash")
        await hand.front("HistoryScreen")
        assert 'engine:"RB-2"' in hand.app.screen.query_one("#box").value
        await hand.type("plug")
        await hand.until(lambda: len(hand.rows()) == 1, "the one hit")
        assert hand.keys <= 1
        assert "specks on plug 3" in hand.rows()[0]
        hand.keys = 0
        await hand.press("enter")
        screen = await hand.session()
        await hand.until(lambda: screen.chosen is not None and screen.chosen.pull.number == 2)
        assert hand.keys <= 1


async def test_report_of_this_session_as_html_and_open_it(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    opened: list[Path] = []

    def open_file(path: Path) -> bool:
        opened.append(path)
        return True

    monkeypatch.setattr("logbook.app.screens.report_door.open_file", open_file)
    async with in_session(shop) as hand:
        await hand.press("r")
        await hand.front("Chooser")
        await hand.press("enter")
        await hand.session()
        await hand.notice("Report written and opened")
        assert hand.keys <= 2
        (page,) = opened
        assert page.parent == shop.folder / "book-reports"
        assert page.name.startswith("RB-2-2026-03-14-written-")
        assert "gain so far" in read_page(page.read_text(encoding="utf-8")).words()


async def test_the_loop_works_from_the_keypad_alone(shop: Shop) -> None:
    """Enter, +, −, digits and the point: timing up, the form, four numbers, the answer."""
    async with in_session(shop) as hand:
        pressed = ["plus", "plus", "minus", "enter"]
        await hand.press(*pressed)
        await hand.front("PullForm")
        for text in ("467.5", "6450", "402.5", "5000"):
            await hand.type(text)
            await hand.press("enter")
        await hand.session()
        await pulls_logged(hand, 6)
        assert "timing 33°" in hand.rows()[0]
