"""Going straight to a field or a line, and taking the answer along as text."""

from __future__ import annotations

from functools import partial
from pathlib import Path

import pytest
from textual.app import App
from textual.widgets import Static

from logbook.app.app import LogbookApp
from logbook.app.screens.base import BookScreen
from logbook.app.screens.form import Form
from logbook.app.screens.jump import JumpScreen, Target, labels
from logbook.app.widgets.rows import Rows
from tests.app.conftest import Shop, hand_on, in_session


async def test_a_letter_goes_to_its_field_and_typing_goes_on_there(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("p")
        form = await hand.front("PullForm")
        assert isinstance(form, Form)
        await hand.until(lambda: form._settled, "the form")
        targets = form.targets()
        assert len(targets) > 3
        await hand.press("f4")
        await hand.front("JumpScreen")
        await hand.press("d")
        await hand.front("PullForm")
        await hand.until(lambda: form.focused is not None, "the focus")
        third = form.focused
        assert third is not None
        assert third.region.y == targets[2].y
        await hand.type("7")
        assert any(entry.endswith("7") for entry in form.touched().values())


async def test_a_letter_goes_to_its_line_and_any_other_key_leaves(shop: Shop) -> None:
    async with in_session(shop) as hand:
        rows = hand.app.screen.query_one(Rows)
        await hand.press("f4", "s")
        await hand.front("SessionScreen")
        await hand.until(lambda: rows.cursor == 1, "the second pull")
        await hand.press("f4", "exclamation_mark")
        await hand.front("SessionScreen")
        assert rows.cursor == 1


@pytest.mark.parametrize("count", [1, 36, 37, 71, 72, 300])
def test_however_many_places_there_are_each_has_a_label_of_its_own(count: int) -> None:
    given = labels(count)
    assert len(given) == len(set(given)) == count
    assert not [one for one in given for other in given if one != other and other.startswith(one)]
    assert sum(len(one) == 1 for one in given) >= min(count, 36 - count // 35)


async def test_a_place_of_two_letters_is_gone_to_by_both() -> None:
    gone: list[int] = []
    app = App[None]()
    async with app.run_test(size=(80, 60)) as pilot:
        places = [Target(0, at, partial(gone.append, at)) for at in range(40)]
        app.push_screen(JumpScreen(places))
        await pilot.pause()
        await pilot.press("0")
        shown = [sign.name for sign in app.screen.query(Static) if sign.display]
        assert shown == ["0a", "0s", "0d", "0f", "0g"], "the others do not come into question"
        await pilot.press("d")
        assert gone == [37]


async def test_the_answer_and_a_ledger_are_copied_as_text(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    copied: list[str] = []
    monkeypatch.setattr(LogbookApp, "copy_to_clipboard", lambda _, text: copied.append(text))
    async with in_session(shop) as hand:
        await hand.press("y")
        assert copied[-1].startswith("RB-2 ")
        assert "from the baseline, 95 %" in copied[-1]
        assert "timing 32°" in copied[-1]
        await hand.press("l")
        screen = await hand.front("LedgerScreen")
        assert isinstance(screen, BookScreen)
        await hand.until(lambda: "timing" in screen.copied(), "the ledger")
        await hand.press("y")
        assert "timing" in copied[-1]
        assert "\x1b" not in copied[-1]


async def test_an_empty_book_begins_with_three_pages_to_turn(tmp_path: Path) -> None:
    async with hand_on(tmp_path / "new.db") as hand:
        await hand.front("FirstRunScreen")
        for page in ("page 1 of 3", "page 2 of 3", "page 3 of 3"):
            await hand.until(lambda page=page: page in hand.screen_text(), page)
            await hand.press("enter")
        assert "n  Enter the first engine" in hand.screen_text()
        await hand.press("left")
        await hand.until(lambda: "page 2 of 3" in hand.screen_text(), "the page before")
        await hand.press("n")
        await hand.front("EngineForm")
