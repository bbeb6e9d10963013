"""Keys, colors and units as a person likes them."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.app.app import LogbookApp
from logbook.app.keymap import Keymap, face, listed
from logbook.app.widgets.rows import Rows
from logbook.cases.desk import open_desk
from tests.app.conftest import Hand, Shop, hand_on, in_session


def test_an_own_key_takes_the_place_of_the_one_that_was_there() -> None:
    keymap = Keymap({"session.timing": "T", "session.ledger": "t", "undo": "ctrl+z"})
    now = {key.id: (key.keys, key.face) for key in keymap.of("session")}
    assert now["session.timing"] == ("T", "T")
    assert now["session.ledger"] == ("t", "t"), "a key that has become free may be taken"
    assert now["undo"] == ("ctrl+z", "Ctrl+Z")
    assert keymap.cautions == ()


@pytest.mark.parametrize(
    ("own", "said"),
    [
        ({"sesion.timing": "T"}, "did you mean session.timing?"),
        ({"session.timing": "flap"}, "there is no such key"),
        ({"session.timing": "l"}, "on 'session' that is session.ledger"),
        ({"session.timing": "T", "session.air": "T"}, "is left out"),
        ({"help": "l"}, "is left out"),
        ({"form.save": "s"}, "typed into the field"),
        ({"history.mark": "question_mark"}, "typed into the field"),
    ],
)
def test_what_cannot_be_a_key_is_left_out_in_words(own: dict[str, str], said: str) -> None:
    keymap = Keymap(own)
    (caution,) = keymap.cautions
    assert said in caution
    assert len(keymap.bindings) == len(own) - 1, "the others stand"


def test_every_key_has_a_face_and_a_place() -> None:
    assert face("f12") == "F12"
    assert face("shift+f5") == "Shift+F5"
    assert face("question_mark") == "?"
    rows = listed(Keymap({"help": "f1"}))
    assert ("everywhere", "f1") in {(place, key.keys) for place, key in rows}
    assert len({(place, key.id) for place, key in rows}) == len(rows)


async def test_own_keys_work_and_stand_in_the_key_row(shop: Shop) -> None:
    async with in_session(shop, keys={"session.timing": "T", "sesion.air": "q"}) as hand:
        shown = [(key.face, words) for key, words in hand.app.screen.keys_now()]
        assert ("T", "next timing?") in shown
        await hand.press("t", "T")
        await hand.front("TimingScreen")
        await hand.press("escape")
        await hand.front("SessionScreen")


async def test_colors_are_those_asked_for_and_unknown_ones_are_said(shop: Shop) -> None:
    async with hand_on(shop.book, colors="plaid") as hand:
        assert hand.app.theme == "terminal"
        await hand.notice("plaid")
    async with hand_on(shop.book, colors="safe") as hand:
        assert hand.app.theme == "safe"


async def test_the_units_go_over_on_the_fly_and_nothing_stored_changes(shop: Shop) -> None:
    async with in_session(shop) as hand:
        before = Path(shop.book).read_bytes()
        await hand.press("f9")
        await hand.until(lambda: "kW" in hand.text_of("#answer"), "kW")
        await hand.until(lambda: "Alone, kW" in hand.screen_text(), "the heads")
        assert " hp" not in hand.screen_text()
        await hand.press("escape")
        await hand.front("EnginesScreen")
        await hand.until(lambda: "Best, kW" in hand.screen_text(), "the engines in kW")
        await hand.press("f9")
        await hand.until(lambda: "Best, hp" in hand.screen_text(), "the engines in hp")
        assert Path(shop.book).read_bytes() == before


async def test_the_list_goes_by_letters_too(shop: Shop) -> None:
    async with in_session(shop) as hand:
        rows = hand.app.screen.query_one(Rows)
        await hand.press("j")
        assert rows.cursor == 1
        await hand.press("G")
        assert rows.cursor == len(rows.rows) - 1
        await hand.press("k", "g")
        assert rows.cursor == 0


async def test_the_large_view_shows_the_chosen_pull_and_goes_back(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("w")
        await hand.front("LargeScreen")
        await hand.until(lambda: "█" in hand.text_of("#large"), "the figure")
        assert "pull 5" in hand.text_of("#large")
        await hand.press("escape")
        await hand.front("SessionScreen")


async def test_the_wall_follows_what_another_window_logs_and_changes_nothing(shop: Shop) -> None:
    clock = shop.clock
    app = LogbookApp(lambda: open_desk(shop.book, now=clock), now=clock, wall=True)
    async with app.run_test(size=(100, 30)) as pilot:
        hand = Hand(app, pilot)
        await hand.front("LargeScreen")
        await hand.until(lambda: "pull 5" in hand.text_of("#large"), "the newest pull")
        await hand.press("x", "escape", "u", "p", "enter", "delete")
        assert type(app.screen).__name__ == "LargeScreen"
        shop.trace(1.03, "late.csv")
        await hand.until(lambda: "pull 6" in hand.text_of("#large"), "the other window's pull")
