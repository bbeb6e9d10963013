"""Builds over each other by keys: from the engine's sheet and from the session."""

from __future__ import annotations

from pathlib import Path

from tests.app.conftest import Hand, hand_on


async def opened_sides(hand: Hand) -> None:
    """Wait until the comparison in front has its answer."""
    await hand.front("SidesScreen")
    await hand.until(lambda: "All of it" in hand.text_of("#pictures"), "the shares")


async def test_the_rebuild_by_itself_from_the_engines_sheet(demo_book_path: Path) -> None:
    async with hand_on(demo_book_path, size=(120, 40)) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        at = next(n for n, row in enumerate(hand.rows()) if row.startswith("HC-4A"))
        await hand.press(*["down"] * at, "s")
        await hand.front("SheetScreen")
        await hand.press("c")
        await hand.front("Chooser")
        offers = hand.rows()
        assert offers[0] == "1 build 2 over build 1"
        assert any("HC-4A build 2 over HC-4B build 2" in offer for offer in offers)
        await hand.press("1")
        await opened_sides(hand)
        said = hand.text_of("#pictures")
        assert "█" in said
        assert "The rebuild: +4.8 hp, from +1.2 to +8.5 hp" in said
        assert "HC-4B/2024-05-04 pulls 2–9, build 1" in hand.text_of("#differing")
        await hand.until(lambda: "Difference, hp" in hand.text_of("#pictures"), "the curves")
        await hand.press("v", "v")
        assert "Power, hp" in hand.text_of("#pictures")
        await hand.press("v", "v", "w")
        await hand.until(lambda: "The rebuild: −" in hand.text_of("#pictures"), "it turned round")
        await hand.press("y")
        await hand.notice("Copied: The rebuild: −")


async def test_what_was_never_changed_alone_is_assumed_by_hand(demo_book_path: Path) -> None:
    async with hand_on(demo_book_path) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        await hand.press("c")
        await hand.front("Chooser")
        at = next(n for n, row in enumerate(hand.rows()) if "build 3 over build 2" in row)
        await hand.press(*["down"] * at, "enter")
        await opened_sides(hand)
        assert "Nothing bounds it from below" in " ".join(hand.text_of("#pictures").split())
        await hand.press("a")
        await hand.front("AssumeForm")
        await hand.type("2..0")
        await hand.press("enter")
        await hand.notice("the least first")
        await hand.press(*["backspace"] * 4)
        await hand.type("-0.5..0.5")
        await hand.press("enter")
        await hand.front("SidesScreen")
        await hand.until(
            lambda: "If fuel by itself brought −0.5 to +0.5 %" in hand.text_of("#pictures"),
            "the bounds",
        )
        assert "at least" in hand.text_of("#pictures")
