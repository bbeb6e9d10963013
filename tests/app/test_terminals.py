"""NO_COLOR, themes, sizes: everything can be read, whatever the terminal."""

from __future__ import annotations

import pytest
from rich.color import ColorType

from logbook.app.theme import THEMES
from tests.app.conftest import Hand, Shop, in_session


def colors_of(hand: Hand) -> set[str]:
    """Every color on the screen that is not the terminal's own default."""
    found = set()
    for strip in hand.app.screen._compositor.render_strips():
        for _, style, _ in strip:
            for color in (style.color, style.bgcolor) if style else ():
                if color is not None and color.type is not ColorType.DEFAULT:
                    found.add(color.name)
    return found


async def test_no_color_leaves_the_terminals_own_colors_alone(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    async with in_session(shop) as hand:
        assert colors_of(hand) == set()
        text = hand.screen_text()
        assert "▲" in text  # the sign and the words say what the color would
        assert "gain so far" in text


async def test_the_first_theme_uses_only_the_terminals_sixteen_colors(shop: Shop) -> None:
    async with in_session(shop) as hand:
        assert len(colors_of(hand)) >= 3
        for strip in hand.app.screen._compositor.render_strips():
            for _, style, _ in strip:
                for color in (style.color, style.bgcolor) if style else ():
                    assert color is None or color.type in (ColorType.DEFAULT, ColorType.STANDARD)


@pytest.mark.parametrize("name", [theme.name for theme in THEMES])
async def test_every_theme_draws_every_role(shop: Shop, name: str) -> None:
    async with in_session(shop) as hand:
        hand.app.theme = name
        await hand.pilot.pause(0.1)
        assert "gain so far" in hand.screen_text()


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (200, 60), (60, 20), (40, 12)])
async def test_the_answer_fits_every_size_and_cuts_nothing_without_a_sign(
    shop: Shop, size: tuple[int, int]
) -> None:
    async with in_session(shop, size=size) as hand:
        lines = hand.screen_text().split("\n")
        assert len(lines) == size[1]
        assert "help" in lines[-1]
        pane = hand.app.screen.query_one("#answer")
        assert len(pane.lines(pane.size.width, pane.size.height)) <= pane.size.height
        if size >= (80, 24):
            assert sum("█" in line for line in lines) >= 5


async def test_colors_are_changed_by_a_key(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("f12")
        await hand.notice("Colors: slate")
