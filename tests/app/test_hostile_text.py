"""Text from people is shown, never obeyed: markup, escape sequences, turned-around text."""

from __future__ import annotations

import pytest

from logbook.app.widgets.ink import fit, fit_line, wrap
from logbook.cases import engines
from logbook.cases.pulls import change_pull, exclude
from tests.app.conftest import Shop, hand_on, in_session

HOSTILE = (
    "[bold red]not bold[/]",
    "[@click=app.quit]press[/]",
    "\x1b[31mred\x1b[0m \x1b]0;title\x07",
    "turned \u202egnp.exe\u2066 around",
    "zero\u200bwidth\ufeff and \x9b31m",
    "$text-success {curly} %s %(x)s",
)
CONTROL = {
    *map(chr, range(32)),
    *map(chr, range(0x7F, 0xA0)),
    "\u202e",
    "\u2066",
    "\u200b",
    "\ufeff",
}


def visible(text: str) -> bool:
    return not (set(text) & (CONTROL - {"\n"}))


@pytest.mark.parametrize("text", HOSTILE)
def test_lines_hold_no_control_characters(text: str) -> None:
    assert visible(fit(text, 200))
    assert all(visible(part) for part, _ in fit_line(((text, ""),), 200))
    assert all(visible(part) for line in wrap(text, 12) for part, _ in line)


async def test_every_screen_shows_hostile_text_as_it_is(shop: Shop) -> None:
    everything = " ".join(HOSTILE)
    change_pull(shop.desk, shop.pull_ids[3], {"note": everything, "observed": everything},
                set_up={"[red]jets[/]": "\x1b[31m82"}, why=everything)  # fmt: skip
    exclude(shop.desk, shop.pull_ids[2], "\x1b[2J[bold]cold\u202e")
    engines.change_engine(shop.desk, "RB-2", {"name": "boat [blink]V8\x1b[5m", "note": everything})
    async with in_session(shop, size=(120, 40)) as hand:

        def clean() -> bool:
            return visible(hand.screen_text())

        assert clean()
        assert "boat [blink]V8␛[5m" in hand.screen_text()
        assert "excluded: ␛[2J[bold]" in hand.screen_text()
        hand.app.screen.query_one("Rows").cursor = 1
        await hand.until(lambda: "[red]jets[/] ␛[31m82" in hand.text_of("#answer"))
        assert clean()
        for key, name in (("p", "PullForm"), ("e", "CorrectForm"), ("c", "Chooser"),
                          ("i", "SheetScreen")):  # fmt: skip
            await hand.press(key)
            await hand.front(name)
            await hand.pilot.pause(0.2)
            assert clean(), name
            await hand.press("escape")
            await hand.session()
        await hand.press("slash", "f8")
        await hand.front("HistoryScreen")
        await hand.until(lambda: len(hand.rows()) == 8, "every pull")
        assert clean()


async def test_hostile_words_typed_into_the_search_box_find_nothing_and_break_nothing(
    shop: Shop,
) -> None:
    async with in_session(shop) as hand:
        await hand.press("slash", "f8")
        screen = await hand.front("HistoryScreen")
        for text in (*HOSTILE, '"', "(((", "NEAR(a b)", "a AND", "*", "field:", "';--", "^x", "-"):
            screen.query_one("#box").value = text
            await hand.pilot.pause(0.1)
        assert visible(hand.screen_text())
        assert type(hand.app.screen).__name__ == "HistoryScreen"


async def test_a_hostile_file_name_is_shown_as_it_is(shop: Shop) -> None:
    shop.file(1.01, "run\x1b[31m[bold]x.csv")
    async with in_session(shop) as hand:
        await hand.press("o")
        await hand.front("FilePicker")
        await hand.until(lambda: any("run" in row for row in hand.rows()), "the files")
        assert visible(hand.screen_text())
        assert "run␛[31m[bold]x.csv" in hand.screen_text()


async def test_very_long_names_end_in_a_sign(shop: Shop) -> None:
    engines.change_engine(shop.desk, "RB-2", {"name": "x" * 180})
    async with hand_on(shop.book, clock=shop.clock) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.pilot.pause(0.1)
        assert "xxx…" in hand.screen_text()
