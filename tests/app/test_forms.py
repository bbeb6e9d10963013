"""Forms: errors while typing, bundles named, folding, and drafts that survive a kill."""

from __future__ import annotations

import json
from typing import Any

from textual.events import Key, Paste

from logbook.app.screens.form import SAVE_AFTER
from logbook.drafts import Drafts
from tests.app.conftest import Hand, Shop, hand_on, in_session


async def open_pull_form(hand: Hand) -> Any:
    await hand.press("p")
    form = await hand.front("PullForm")
    await hand.until(lambda: hand.app.focused is not None)
    return form


async def test_an_error_stands_beside_the_field_as_it_is_typed(shop: Shop) -> None:
    async with in_session(shop) as hand:
        form = await open_pull_form(hand)
        await hand.type("412 furlongs")
        await hand.until(lambda: form.entry("peak-power").error, "the error")
        assert "furlongs" in hand.screen_text()
        await hand.press("ctrl+s")
        await hand.notice("Peak power")
        assert type(hand.app.screen).__name__ == "PullForm"
        await hand.press("backspace")
        await hand.until(lambda: not hand.text_of("#notice"), "the end of the refusal")


async def test_a_changed_factor_is_marked_with_what_it_was_beside_the_limit(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("plus")
        await open_pull_form(hand)
        await hand.until(lambda: "was 32" in hand.screen_text(), "the mark")
        await hand.until(lambda: "Timing limit on the sheet: 36°" in hand.screen_text())


async def test_two_changes_are_named_a_bundle_before_they_are_logged(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("plus", "f", "1")
        await hand.session()
        await hand.until(lambda: "a bundle" in hand.text_of("#foot"), "the foot")
        await open_pull_form(hand)
        await hand.until(
            lambda: "Two changes: this step will be a bundle" in hand.text_of("#said"), "the words"
        )


async def test_timing_past_the_engines_limit_is_cautioned_before_the_pull(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press(*["plus"] * 5)
        await hand.until(lambda: "past the engine's limit of 36°" in hand.text_of("#foot"))
        assert "limit 36°" in hand.text_of("#foot")


async def test_unchanged_fields_are_folded_away_and_come_back(shop: Shop) -> None:
    async with in_session(shop, size=(120, 60)) as hand:
        form = await open_pull_form(hand)
        assert "Unchanged: timing 32°, fuel Tango" in hand.text_of("#folded")
        await hand.press("f2")
        await hand.until(lambda: form.entry("set-up:fuel") is not None, "the fuel")
        await hand.until(lambda: form.entry("zero-before") is not None)
        assert hand.text_of("#folded") == ""
        await hand.press("f2")
        await hand.until(lambda: not form.entry("set-up:fuel").display, "the fold")


async def test_a_first_pull_asks_for_timing_and_fuel_and_a_later_correction_adds_factors(
    shop: Shop,
) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.press("n")
        await hand.front("EngineForm")
        await hand.type("XJ-1")
        await hand.press("ctrl+s")
        engines = await hand.front("EnginesScreen")
        await hand.until(lambda: engines._chosen and engines._chosen.tag == "XJ-1", "the engine")
        await hand.press("enter")
        await hand.front("OpeningForm")
        await hand.press("ctrl+s")
        await hand.session()
        form = await open_pull_form(hand)
        await hand.until(lambda: "first pull of this session" in hand.text_of("#said"))
        await hand.press("up", "up")
        await hand.type("32")
        await hand.press("enter", "enter")  # past the fuel, to the peaks
        await hand.type("412")
        assert form.entry("set-up:timing").value == "32"
        await hand.press("enter")
        await hand.type("6200")
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 1, "the pull")
        await hand.press("e")
        form = await hand.front("CorrectForm")
        assert form.entry("set-up:fuel").value == ""
        form.entry("why").set_value("not written down")
        await hand.press("f3")
        await hand.front("FactorForm")
        await hand.type("main jets")
        await hand.press("enter")
        await hand.type("82")
        await hand.press("enter")
        await hand.front("CorrectForm")
        await hand.press("ctrl+s")
        await hand.session()
        await hand.until(lambda: screen.view.rows[0].setup.level("main jets"), "the factor")


async def test_a_factor_of_ones_own_is_named_and_logged(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await open_pull_form(hand)
        await hand.type("466.5")
        await hand.press("enter")
        await hand.type("6450")
        await hand.press("f3")
        await hand.front("FactorForm")
        await hand.type("intake bell")
        await hand.press("enter")
        await hand.type("long")
        await hand.press("enter")
        await hand.front("PullForm")
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 6, "the pull")
        assert screen.view.rows[0].setup.level("intake bell").text == "long"


async def test_readings_and_knock_go_with_the_pull(shop: Shop) -> None:
    async with in_session(shop) as hand:
        form = await open_pull_form(hand)
        for key, text in (
            ("peak-power", "466.5"), ("power-at", "6450"), ("manifold-vacuum", "1.1"),
            ("crankcase-vacuum", "11.5"), ("blow-by", "2.2"), ("knock", "none"),
        ):  # fmt: skip
            form.entry(key).set_value(text)
        form.go_to(form.entry("note"))
        hand.app.post_message(Paste("clean\r\ron all\nplugs"))
        await hand.until(lambda: form.entry("note").value == "clean on all plugs", "every line")
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 6, "the pull")
        pull = screen.view.rows[0].pull
        assert pull.knock == "none"
        assert pull.notes == "clean on all plugs"
        assert pull.typed["crankcase_vacuum_kpa"] == "11.5 inHg"
        await hand.until(lambda: "crankcase 11.50" in hand.text_of("#answer"), "the answer")


async def test_a_typed_table_of_speeds_and_torques_is_a_pull(shop: Shop) -> None:
    async with in_session(shop) as hand:
        form = await open_pull_form(hand)
        await hand.press("f2")
        await hand.until(lambda: form.entry("table") is not None, "the table")
        form.entry("table").set_value("rpm lb-ft; 4000 372; 4500 394; 5000 405; 5500 398; 6500 320")
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 6, "the pull")
        assert screen.view.rows[0].pull.kind == "steady points"


async def test_a_typed_form_survives_a_kill_and_is_offered_back(shop: Shop) -> None:
    drafts = Drafts(shop.folder / "drafts")
    async with in_session(shop, drafts=drafts) as hand:
        await hand.press("plus")
        await open_pull_form(hand)
        await hand.type("466.5")
        await hand.pilot.pause(SAVE_AFTER + 0.3)
        kept = [
            json.loads(path.read_text())["fields"] for path in (shop.folder / "drafts").glob("*")
        ]
        assert {"peak-power": "466.5", "set-up:timing": "33", "pull number": "6"} in kept
        # Nothing else is done here: a killed program does nothing else either.
        files = {path: path.read_bytes() for path in (shop.folder / "drafts").glob("*")}
    for path, content in files.items():
        path.write_bytes(content)
    async with in_session(shop, drafts=drafts) as hand:
        await hand.until(lambda: "timing 33°" in hand.text_of("#foot"), "what was set")
        await hand.press("p")
        await hand.front("ConfirmScreen")
        assert "466.5" in hand.text_of("#body")
        await hand.press("enter")
        form = await hand.front("PullForm")
        await hand.until(lambda: form.entry("peak-power").value == "466.5", "the draft")
        form.entry("power-at").set_value("6450")
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 6, "the pull")
        await hand.until(lambda: not list((shop.folder / "drafts").glob("*.json")), "no draft")


async def test_an_offered_draft_stays_until_it_is_taken_or_cleared(shop: Shop) -> None:
    drafts, key = Drafts(shop.folder / "drafts"), f"air-{shop.session_id}"
    drafts.save(key, {"pressure": "28.9"})
    async with in_session(shop, drafts=drafts) as hand:
        await hand.press("a")
        await hand.front("ConfirmScreen")
        await hand.press("escape")
        form = await hand.front("AirForm")
        assert form.entry("pressure").value == ""
        await hand.press("escape")
        await hand.session()
        assert drafts.load(key) == {"pressure": "28.9"}
        await hand.press("a")
        await hand.front("ConfirmScreen")
        await hand.press("enter")
        form = await hand.front("AirForm")
        await hand.until(lambda: form.entry("pressure").value == "28.9", "the draft")
        await hand.press("f8")
        await hand.until(lambda: drafts.load(key) is None, "the clearing")


async def test_digits_typed_before_the_form_is_there_are_not_lost(shop: Shop) -> None:
    async with in_session(shop) as hand:
        for key in ("plus", "p", *"466.5", "enter", *"6450"):
            hand.app.post_message(
                Key({".": "full_stop"}.get(key, key), key if len(key) == 1 else None)
            )
        form = await hand.front("PullForm")
        await hand.until(lambda: form.entry("power-at") and form.entry("power-at").value == "6450")
        assert form.entry("peak-power").value == "466.5"


async def test_digits_typed_faster_than_the_app_answers_go_to_their_own_fields(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await open_pull_form(hand)
        for key in (*"466", "enter", *"6450", "enter", *"402", "enter", *"5000", "enter"):
            hand.app.post_message(Key(key, key if len(key) == 1 else None))
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 6, "the pull")
        typed = screen.view.rows[0].pull.typed
        assert typed["peak_power_kw"].startswith("466")
        assert typed["peak_power_rpm"].startswith("6450")
        assert typed["peak_torque_nm"].startswith("402")
        assert typed["peak_torque_rpm"].startswith("5000")


async def test_a_sea_level_pressure_is_questioned_and_taken_back_to_the_cell(shop: Shop) -> None:
    async with in_session(shop, size=(100, 40)) as hand:
        await hand.press("a")
        form = await hand.front("AirForm")
        await hand.type("30.12")
        form.entry("temperature").set_value("78")
        form.entry("humidity").set_value("41")
        await hand.until(lambda: "reduced to sea level" in hand.text_of("#follows"), "the question")
        assert "28.7" in hand.text_of("#follows")
        form.entry("pressure-is").set_value("sea level")
        await hand.until(lambda: "Station pressure        28.7" in hand.text_of("#follows"))
        await hand.press("ctrl+s")
        screen = await hand.session()
        await hand.until(
            lambda: screen.view.air.reading.pressure_typed_as == "sea level", "the reading"
        )


async def test_bad_air_is_refused_beside_the_field(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("a")
        form = await hand.front("AirForm")
        await hand.press("enter", "enter")
        await hand.type("140")
        await hand.until(lambda: form.entry("humidity").error, "the error")
        await hand.press("enter")
        await hand.pilot.pause(0.2)
        assert type(hand.app.screen).__name__ == "AirForm"


async def test_a_double_press_logs_one_pull(shop: Shop) -> None:
    async with in_session(shop) as hand:
        form = await open_pull_form(hand)
        form.entry("peak-power").set_value("466.5")
        form.entry("power-at").set_value("6450")
        form.action_save()
        form.action_save()
        screen = await hand.session()
        await hand.until(lambda: len(screen.view.rows) >= 6, "the pull")
        await hand.pilot.pause(0.3)
        assert len(screen.view.rows) == 6


async def test_leaving_a_form_keeps_what_is_set_for_the_next_pull(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("plus", "p")
        form = await hand.front("PullForm")
        form.entry("set-up:timing").set_value("35")
        await hand.press("escape")
        await hand.session()
        await hand.until(lambda: "timing 35°" in hand.text_of("#foot"), "the foot")
