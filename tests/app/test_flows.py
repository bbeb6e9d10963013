"""What people do on each screen, by keys, on a real book."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.app.next_pull import GUARD
from logbook.app.screens.history import HistoryScreen
from logbook.cases import engines, sessions
from logbook.cases.desk import open_desk
from logbook.cases.pulls import find_pull
from tests.app.conftest import Clock, Hand, Shop, hand_on, in_session


async def choose_file(hand: Hand, name: str) -> None:
    """In the file picker: this file."""
    picker = await hand.front("FilePicker")
    await hand.until(lambda: any(name in row for row in hand.rows()), name)
    picker.query_one("Rows").cursor = next(i for i, r in enumerate(hand.rows()) if name in r)
    await hand.press("enter")


async def test_an_empty_book_offers_the_first_engine(tmp_path: Path) -> None:
    async with hand_on(tmp_path / "book.db") as hand:
        await hand.front("FirstRunScreen")
        assert "demo" not in hand.text_of("#body").lower()
        await hand.press("n")
        await hand.front("EngineForm")
        await hand.type("RB-9")
        await hand.press("ctrl+s")
        await hand.front("EnginesScreen")
        await hand.until(lambda: hand.rows() and "RB-9" in hand.rows()[0], "the engine")
        await hand.notice("RB-9 entered")


async def test_an_empty_book_offers_the_demo_and_goes_over_to_it(
    tmp_path: Path, demo_book_path: Path
) -> None:
    def open_at(path: Path) -> object:
        return open_desk(path, who="KL")

    async with hand_on(tmp_path / "b.db", demo=lambda: demo_book_path, open_at=open_at) as hand:
        await hand.front("FirstRunScreen")
        await hand.press("d")
        await hand.front("EnginesScreen")
        await hand.until(lambda: len(hand.rows()) >= 4, "the demo's engines")


async def test_open_a_session_with_its_safety_list_and_log_the_first_pull(shop: Shop) -> None:
    engines.add_engine(shop.desk, "PT-1", {"limit-timing": "30"}, band="2000-3500")
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: len(hand.rows()) == 2, "both engines")
        hand.app.screen.query_one("Rows").cursor = next(
            i for i, row in enumerate(hand.rows()) if "PT-1" in row
        )
        await hand.press("enter")
        await hand.front("OpeningForm")
        await hand.until(lambda: hand.app.screen.query("TickEntry"), "the safety list")
        await hand.type("first look")
        ticks = list(hand.app.screen.query("TickEntry"))
        ticks[0].focus()
        for _ in ticks:
            await hand.press("space", "down")
        await hand.press("ctrl+s")
        screen = await hand.session()
        session = screen.view.session
        assert session.purpose == "first look"
        assert set(session.safety_checked) == {key for key, _ in sessions.SAFETY_LIST}
        assert "no air reading" in hand.text_of("#foot").lower()
        assert "No pull yet" in hand.text_of("#answer")


async def test_an_unticked_safety_list_stays_in_sight(shop: Shop) -> None:
    opened = sessions.open_session(shop.desk, "RB-2", safety_checked=("air",))
    async with hand_on(shop.book, clock=shop.clock) as hand:
        hand.app.show_session(opened.id)
        await hand.session()
        every = len(sessions.SAFETY_LIST)
        await hand.until(lambda: f"safety list 1 of {every} checked" in hand.text_of("#head"))


async def test_the_answer_is_a_figure_with_its_sign_and_its_words(shop: Shop) -> None:
    async with in_session(shop) as hand:
        text = hand.text_of("#answer")
        lines = text.split("\n")
        assert all("█" in line for line in lines[:5])  # five rows of block letters
        assert "95 %" in text
        assert "Difference, hp" in text
        assert "Vacuum, inHg: manifold" in text
        assert "Blow-by" in text
        row = hand.app.screen.chosen
        assert row.worth is not None
        assert row.worth.verdict in text


async def test_nothing_is_accepted_just_after_a_landing(shop: Shop) -> None:
    shop.file(1.0128, "run-a.csv")
    async with in_session(shop) as hand:
        await hand.press("o")
        await choose_file(hand, "run-a.csv")
        screen = await hand.session()
        await hand.until(lambda: screen.next.preview is not None, "the preview")
        await hand.press("enter")  # the clock stands still: within the guard
        await hand.pilot.pause(0.2)
        assert len(screen.view.rows) == 5
        assert "NEW TRACE run-a.csv" in hand.text_of("#foot")
        shop.clock.turn(GUARD / 60 + 0.001)
        await hand.press("enter")
        await hand.until(lambda: len(screen.view.rows) == 6, "the pull")


async def test_a_new_kind_of_file_is_asked_once_what_its_torque_is(shop: Shop) -> None:
    folder = shop.folder / "cell"
    other = folder / "other.csv"
    other.write_text((folder / "run-0.csv").read_text().replace("Blow-by [cfm]", "Leak [cfm]"))
    async with in_session(shop) as hand:
        await hand.press("o")
        await choose_file(hand, "other.csv")
        screen = await hand.session()
        await hand.until(lambda: screen.next.preview is not None, "the preview")
        shop.clock.turn(1)
        await hand.press("enter")
        form = await hand.front("PullForm")
        await hand.press("ctrl+s")
        await hand.until(lambda: "Asked once" in form.entry("torque-state").error)
        await hand.press("1", "enter")
        await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 6, "the pull")
        pull = find_pull(shop.desk, screen.view.rows[0].pull.id)
        assert pull.torque_state == "observed"


async def test_a_file_that_is_no_trace_is_refused_in_a_sentence(shop: Shop) -> None:
    (shop.folder / "cell" / "photo.csv").write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(200))
    async with in_session(shop) as hand:
        await hand.press("o")
        await choose_file(hand, "photo.csv")
        screen = await hand.session()
        await hand.notice("photo.csv")
        assert screen.next.trace is None


async def test_a_file_seen_before_is_refused_in_a_sentence(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("o")
        await choose_file(hand, "run-1.csv")
        await hand.session()
        await hand.notice("already pull 2")


async def test_undo_and_redo_of_the_last_entry(shop: Shop) -> None:
    async with in_session(shop) as hand:
        screen = hand.app.screen
        await hand.press("u")
        await hand.until(lambda: len(screen.view.rows) == 4, "the undo")
        await hand.press("U")
        await hand.until(lambda: len(screen.view.rows) == 5, "the redo")


async def test_standard_and_band_change_every_figure(shop: Shop) -> None:
    async with in_session(shop) as hand:
        before = hand.app.screen.view.rows[0].score
        await hand.press("s")
        await hand.front("StandardForm")
        await hand.press("2", "enter")
        await hand.type("5000-6000")
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(lambda: screen.view.session.standard == "sae-j607", "the standard")
        after = screen.view.rows[0].score
        assert after.corrected.band_power_kw > before.corrected.band_power_kw
        assert "5000–6000 rpm" in hand.text_of("#head")


async def test_a_closed_session_takes_nothing_until_it_is_opened_again(shop: Shop) -> None:
    async with in_session(shop) as hand:
        screen = hand.app.screen
        await hand.press("z")
        await hand.front("ConfirmScreen")
        await hand.press("enter")
        await hand.session()
        await hand.until(lambda: "closed" in hand.text_of("#head"), "the closing")
        words = {key.id for key, _ in screen.keys_now()}
        assert not words & {"session.enter", "session.more", "session.fuel", "session.air"}
        await hand.press("z")
        await hand.until(lambda: screen.view.session.status == "open", "the opening")


async def test_correct_a_finished_pull_with_a_reason(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("e")
        form = await hand.front("CorrectForm")
        form.entry("set-up:timing").set_value("33")
        await hand.press("ctrl+s")
        await hand.notice("only for a reason")
        await hand.type("read the wrong mark")
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(lambda: screen.view.rows[0].setup.timing_deg == 33, "the correction")
        await hand.notice("corrected: read the wrong mark")


async def test_history_pages_marks_and_compares(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("slash", "f8")
        await hand.front("HistoryScreen")
        await hand.until(lambda: len(hand.rows()) == 8, "every pull")
        await hand.press("f2", "f2", "f3")
        await hand.front("CompareScreen")
        await hand.until(lambda: "measured from" in hand.text_of("#head"), "the comparison")
        await hand.press("escape")
        await hand.front("HistoryScreen")


async def test_a_query_that_cannot_be_read_is_explained(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("slash", "f8")
        await hand.front("HistoryScreen")
        await hand.until(lambda: bool(hand.rows()), "every pull")
        await hand.type("power:>abc")
        await hand.notice("not a number")
        assert "sqlite" not in hand.text_of("#notice").lower()
        assert "⚠ not searched; below still the pulls of" in hand.text_of("#head")
        await hand.press("f8")
        await hand.until(lambda: "pulls" in hand.text_of("#head"), "the pulls of no query")
        assert "not searched" not in hand.text_of("#head")
        await hand.until(lambda: not hand.text_of("#notice"), "the explanation to go")


async def test_before_anything_was_found_no_pulls_are_said_to_be_below(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        hand.app.push_screen(HistoryScreen("power:"))
        await hand.front("HistoryScreen")
        await hand.notice("has no value")
        assert hand.text_of("#head").strip() == "History  ⚠ not searched"
        assert "Nothing fits" not in hand.screen_text()


async def test_compare_swaps_and_reconciles_standards(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        hand.app.show_compare(shop.pull_ids[0], shop.pull_ids[4])
        await hand.front("CompareScreen")
        await hand.until(lambda: "/5 measured from" in hand.text_of("#head"), "the comparison")
        assert "timing" in hand.text_of("#differing").lower()
        await hand.press("w")
        await hand.until(lambda: "/1 measured from" in hand.text_of("#head"), "the swap")
        await hand.press("s", "s")
        await hand.until(lambda: "SAE J607" in hand.text_of("#head"), "the standard")
        await hand.press("v", "v")
        await hand.until(lambda: "Torque, lb·ft" in hand.text_of("#pictures"), "torque")


async def test_the_engines_sheet_shows_its_sessions_and_takes_a_build(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("s")
        await hand.front("SheetScreen")
        await hand.until(lambda: len(hand.rows()) == 2, "the sessions")
        assert "timing ≤ 36" in hand.text_of("#sheet")
        await hand.press("b")
        await hand.front("BuildForm")
        await hand.press("enter", "enter")
        await hand.type("new rings")
        await hand.press("enter")
        await hand.front("SheetScreen")
        await hand.until(lambda: "build 2" in hand.text_of("#sheet"), "the build")


async def test_a_sister_is_entered_by_copying(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("c")
        await hand.front("CopyForm")
        await hand.type("RB-3")
        await hand.press("enter")
        await hand.front("EnginesScreen")
        await hand.until(lambda: any("RB-3" in row for row in hand.rows()), "the copy")


async def test_help_is_about_the_thing_in_focus(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("p")
        await hand.front("PullForm")
        await hand.press("f1")
        await hand.front("HelpScreen")
        page = hand.text_of("#page")
        assert "Peak power" in page
        assert "hp" in page
        assert "Ctrl+S" in page
        await hand.press("escape")
        await hand.front("PullForm")


async def test_a_book_that_cannot_be_opened_says_so(tmp_path: Path) -> None:
    path = tmp_path / "text.db"
    path.write_text("these are only words, and far from being a database of any kind at all")
    async with hand_on(path) as hand:
        await hand.notice(str(path)[:20])


@pytest.mark.parametrize("zone", ["America/Denver", "Pacific/Auckland"])
async def test_times_are_shown_in_the_cells_zone(shop: Shop, zone: str) -> None:
    engines.change_cell(shop.desk, "North", {"time-zone": zone})
    shop.clock = Clock(shop.clock.moment)
    async with in_session(shop, size=(120, 40)) as hand:
        assert {"America/Denver": "09:25", "Pacific/Auckland": "04:25"}[zone] in hand.rows()[0]


async def test_what_is_judged_otherwise_is_said_and_stays_to_be_read(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("x")
        await hand.front("ExcludeForm")
        await hand.type("oil cold")
        await hand.press("enter")
        await hand.session()
        await hand.notice("gain so far → leaning")
        hand.app.screen.notice("")
        assert "Judged anew" in hand.text_of("#notice")
        await hand.press("u")
        await hand.notice("leaning → gain so far")
        await hand.press("b")
        await hand.front("ConfirmScreen")
        await hand.press("enter")
        await hand.session()
        await hand.notice("gain so far → the baseline")
        await hand.press("s")
        await hand.front("StandardForm")
        await hand.press("2", "ctrl+s")
        await hand.session()
        await hand.notice("Judged anew:")
