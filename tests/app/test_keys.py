"""One source of keys: bindings, key row, palette and help say the same."""

from __future__ import annotations

import pytest
from textual.command import CommandPalette

from logbook.app import help_texts
from logbook.app.app import LogbookApp
from logbook.app.keys import SHARED, keys_of, places
from logbook.app.widgets.keyrow import fitting
from tests.app.conftest import Shop, in_session


def test_ids_are_unique_and_every_key_is_explained() -> None:
    for place in places():
        keys = keys_of(place)
        pressed = [one for key in keys for one in key.keys.split(",")]
        assert len(pressed) == len(set(pressed)), place
        assert all(key.tooltip and key.words and key.face for key in keys)
    own = [key.id for place, keys in places().items() for key in keys if "." in key.id
           and not key.id.startswith(("form.", "list."))]  # fmt: skip
    assert len(own) == len(set(own))


def test_every_place_has_help() -> None:
    short = {
        "chooser",
        "confirm",
        "first run",
        "help",
        "jump",
        "cell",
        "correct",
        "build",
        "factor",
        "copy",
        "build correction",
        "calibration correction",
        "inspection",
        "clearance",
        "due mark",
        "standards",
        "backups",
    }
    assert set(places()) - short <= set(help_texts.PLACES)


def test_a_narrow_key_row_keeps_help_and_shows_that_something_is_left_out() -> None:
    pairs = [(key, key.words) for key in keys_of("session") if key.row]
    shown, cut = fitting(pairs, 80)
    assert cut
    assert shown[-1][0].id == "help"
    assert fitting(pairs, 400) == (pairs, False)


async def test_every_action_of_the_session_exists_and_is_in_the_palette(shop: Shop) -> None:
    async with in_session(shop) as hand:
        screen = hand.app.screen
        for key in keys_of("session"):
            name = key.action.split("(")[0]
            owner = hand.app if name.startswith("app.") else screen
            assert hasattr(owner, "action_" + name.removeprefix("app.")), key
        from logbook.app.palette import LogbookCommands

        provider = LogbookCommands(screen)
        words = [hit.text or "" async for hit in provider.discover()]
        for face in ("Enter", "p", "a", "x", "c", "b", "s", "v", "z", "/", "u", "?", "Ctrl+Q"):
            assert any(word.endswith(f"   {face}") for word in words), face
        hits = [hit async for hit in provider.search("exclude")]
        assert hits


async def test_the_palette_runs_an_action(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("ctrl+p")
        await hand.until(lambda: isinstance(hand.app.screen, CommandPalette), "the palette")
        await hand.type("air")
        await hand.pilot.pause(0.5)
        await hand.press("enter")
        await hand.front("AirForm")


async def test_keys_can_be_given_other_keys_by_their_ids(shop: Shop) -> None:
    async with in_session(shop) as hand:
        hand.app.set_keymap({"session.air": "w"})
        await hand.press("w")
        await hand.front("AirForm")


@pytest.mark.parametrize("place", sorted(places()))
def test_bindings_carry_id_and_tooltip(place: str) -> None:
    for key in places()[place]:
        binding = key.binding()
        assert binding.id == key.id
        assert binding.tooltip


def test_the_apps_own_keys_are_the_shared_ones() -> None:
    assert [binding.id for binding in LogbookApp.BINDINGS] == [key.id for key in SHARED]
