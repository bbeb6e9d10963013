"""A day of going to and fro: what a screen has drawn is let go with it."""

from __future__ import annotations

import gc
import weakref

import pytest
from textual._styles_cache import StylesCache

from logbook.app import app
from logbook.app.early import put_off_collecting
from tests.app.conftest import Hand, Shop, hand_on


def drawn() -> int:
    """How many widgets' drawings are held."""
    gc.collect()
    return sum(1 for one in gc.get_objects() if type(one) is StylesCache)


async def to_and_fro(hand: Hand) -> None:
    await hand.press("s")
    await hand.front("SheetScreen")
    await hand.press("escape", "slash")
    await hand.front("HistoryScreen")
    await hand.press("escape")
    await hand.front("EnginesScreen")


async def test_what_a_screen_has_drawn_is_let_go_with_it(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await to_and_fro(hand)
        before = drawn()
        for _ in range(3):
            await to_and_fro(hand)
        assert drawn() <= before + 2


async def test_a_session_that_was_left_is_held_by_nothing(shop: Shop) -> None:
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("s", "enter")
        await hand.front("SessionScreen")
        session = weakref.ref(hand.app.screen)
        await hand.press("escape")
        await hand.press("slash")
        await hand.front("HistoryScreen")

        for _ in range(20):  # a few: after a hundred timers the event loop forgets stopped ones
            gc.collect()
            if session() is None:
                break
            await hand.pilot.pause(0.01)
        assert session() is None


async def test_the_air_ages_on_the_screen(shop: Shop, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(app, "AGE_EVERY_S", 0.05)
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("s", "enter")
        await hand.session()
        before = hand.text_of("#foot")
        shop.clock.turn(minutes=61)
        await hand.until(lambda: hand.text_of("#foot") != before, "older air")
        assert "stale" in hand.text_of("#foot")


async def test_garbage_is_looked_for_again_once_the_first_screen_is_there(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(app, "LOADED_S", 0.01)
    frozen = gc.get_freeze_count()
    try:
        put_off_collecting()
        async with hand_on(shop.book, clock=shop.clock) as hand:
            await hand.until(gc.isenabled, "garbage looked for")
            assert gc.get_freeze_count() > frozen
    finally:
        gc.enable()
        gc.unfreeze()
