"""A day of going to and fro: what a screen has drawn is let go with it."""

from __future__ import annotations

import gc

from textual._styles_cache import StylesCache

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
