"""A file that lands shows on the session by itself and is accepted with one key."""

from __future__ import annotations

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from logbook.app.next_pull import GUARD
from logbook.app.screens.file_picker import FilePicker
from logbook.cases.landing import FolderWatch, take_in, waiting
from logbook.cases.pulls import find_pull
from tests.app.conftest import Hand, Shop, hand_on, in_session

EVERY = 0.05


@pytest.fixture
def runs(shop: Shop) -> Path:
    """The folder that the cell's data system drops its files in."""
    folder = shop.folder / "runs"
    folder.mkdir()
    return folder


def drop(shop: Shop, runs: Path, name: str, scale: float) -> Path:
    return shop.file(scale, name).replace(runs / name)


@asynccontextmanager
async def watching(shop: Shop, runs: Path, **rest: Any) -> AsyncIterator[Hand]:
    async with in_session(shop, watch_every=EVERY, watch_folder=runs, **rest) as hand:
        await hand.until(lambda: "watching runs" in foot(hand), "the watched folder")
        yield hand


def foot(hand: Hand) -> str:
    return hand.text_of("#foot")


async def landed(hand: Hand, name: str) -> None:
    """Wait until the file is offered and read."""
    await hand.until(
        lambda: f"NEW TRACE {name}" in foot(hand) and "observed peak" in foot(hand), name
    )


async def logged(hand: Hand, number: int) -> None:
    await hand.until(lambda: hand.rows()[0].startswith(f"{number} "), f"pull {number}")


async def test_one_key_accepts_what_has_landed_but_not_at_once(shop: Shop, runs: Path) -> None:
    async with watching(shop, runs) as hand:
        drop(shop, runs, "run_9.csv", 1.02)
        await landed(hand, "run_9.csv")
        shop.clock.turn((GUARD - 0.1) / 60)
        await hand.press("enter")
        await hand.pilot.pause(0.2)
        assert hand.rows()[0].startswith("5 ")
        shop.clock.turn(0.2 / 60)
        hand.keys = 0
        await hand.press("enter")
        await logged(hand, 6)
        assert hand.keys == 1
        assert "NEW TRACE" not in foot(hand)
    pull = find_pull(shop.desk, "RB-2/last/6")
    with shop.desk.book.reading() as read:
        assert pull.source_id is not None
        assert read.source(pull.source_id).name == "run_9.csv"
    assert waiting(shop.desk) == []


async def test_timing_two_degrees_up_is_four_keys(shop: Shop, runs: Path) -> None:
    async with watching(shop, runs) as hand:
        drop(shop, runs, "run_9.csv", 1.02)
        await landed(hand, "run_9.csv")
        shop.clock.turn(1)
        hand.keys = 0
        await hand.press("plus", "plus", "enter")
        await logged(hand, 6)
        assert hand.keys <= 4
    pull = find_pull(shop.desk, "RB-2/last/6")
    with shop.desk.book.reading() as read:
        assert read.setup(pull.setup_id).timing_deg == 34


async def test_several_files_wait_in_turn_and_a_double_press_takes_one(
    shop: Shop, runs: Path
) -> None:
    async with watching(shop, runs) as hand:
        drop(shop, runs, "run_1.csv", 1.02)
        await landed(hand, "run_1.csv")
        drop(shop, runs, "run_2.csv", 1.03)
        await hand.until(lambda: "1 more waits" in foot(hand), "the second")
        shop.clock.turn(1)
        await hand.press("enter")
        await landed(hand, "run_2.csv")
        await hand.press("enter")
        await hand.pilot.pause(0.2)
        assert hand.rows()[0].startswith("6 ")
        shop.clock.turn(1)
        await hand.press("enter")
        await logged(hand, 7)


async def test_nothing_lands_under_an_open_form(shop: Shop, runs: Path) -> None:
    async with watching(shop, runs) as hand:
        await hand.press("p")
        form = await hand.front("PullForm")
        drop(shop, runs, "run_9.csv", 1.02)
        await hand.until(lambda: waiting(shop.desk), "the landing")
        await hand.pilot.pause(0.2)
        assert not form.query("TraceLine")
        await hand.press("escape")
        await landed(hand, "run_9.csv")


async def test_the_form_logs_what_has_landed_though_it_was_written_over(
    shop: Shop, runs: Path
) -> None:
    async with watching(shop, runs) as hand:
        path = drop(shop, runs, "latest.csv", 1.02)
        first = path.read_bytes()
        await landed(hand, "latest.csv")
        drop(shop, runs, "latest.csv", 1.05)
        shop.clock.turn(1)
        await hand.press("p")
        await hand.front("PullForm")
        await hand.press("ctrl+s")
        await hand.session()
        await logged(hand, 6)
    pull = find_pull(shop.desk, "RB-2/last/6")
    with shop.desk.book.reading() as read:
        assert read.source(pull.source_id or "").content == first


async def test_undo_lets_the_file_wait_again(shop: Shop, runs: Path) -> None:
    async with watching(shop, runs) as hand:
        drop(shop, runs, "run_9.csv", 1.02)
        await landed(hand, "run_9.csv")
        shop.clock.turn(1)
        await hand.press("enter")
        await logged(hand, 6)
        await hand.press("u")
        await landed(hand, "run_9.csv")


async def test_dropped_it_waits_no_longer(shop: Shop, runs: Path) -> None:
    async with watching(shop, runs) as hand:
        drop(shop, runs, "run_9.csv", 1.02)
        await landed(hand, "run_9.csv")
        await hand.press("delete")
        await hand.notice("run_9.csv waits no longer")
        assert "NEW TRACE" not in foot(hand)
    assert waiting(shop.desk) == []


async def test_what_a_watching_script_took_down_shows_too(shop: Shop, runs: Path) -> None:
    async with in_session(shop, watch_every=EVERY) as hand:
        drop(shop, runs, "run_9.csv", 1.02)
        watch = FolderWatch(runs, quiet=0.0)
        for _ in range(2):
            take_in(shop.desk, watch.look(shop.desk))
        await landed(hand, "run_9.csv")


async def test_what_landed_before_the_app_was_opened_waits(shop: Shop, runs: Path) -> None:
    drop(shop, runs, "run_9.csv", 1.02)
    watch = FolderWatch(runs, quiet=0.0)
    for _ in range(2):
        take_in(shop.desk, watch.look(shop.desk))
    async with in_session(shop) as hand:
        await landed(hand, "run_9.csv")


async def test_a_file_that_is_no_pull_is_said_and_does_not_wait(shop: Shop, runs: Path) -> None:
    async with watching(shop, runs) as hand:
        (runs / "notes.txt").write_text("gray plugs\n")
        await hand.notice("notes.txt is not taken")
        assert "NEW TRACE" not in foot(hand)


async def test_other_screens_say_that_something_landed(shop: Shop, runs: Path) -> None:
    async with hand_on(shop.book, clock=shop.clock, watch_every=EVERY, watch_folder=runs) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        drop(shop, runs, "run_9.csv", 1.02)
        await hand.notice("run_9.csv has landed and waits. Enter on its engine's session logs it.")


async def test_the_folder_is_chosen_in_the_list_of_files_and_remembered(
    shop: Shop, runs: Path
) -> None:
    FilePicker.last_folder = runs
    async with in_session(shop, watch_every=EVERY) as hand:
        await hand.press("o")
        await hand.front("FilePicker")
        await hand.press("w")
        await hand.session()
        await hand.until(lambda: "watching runs" in foot(hand), "the watched folder")
    async with in_session(shop, watch_every=EVERY) as hand:
        await hand.until(lambda: "watching runs" in foot(hand), "the remembered folder")
        drop(shop, runs, "run_9.csv", 1.02)
        await landed(hand, "run_9.csv")


async def test_a_folder_out_of_reach_is_said_and_waited_for(shop: Shop, runs: Path) -> None:
    runs.rmdir()
    async with in_session(shop, watch_every=EVERY, watch_folder=runs) as hand:
        await hand.until(lambda: "⚠ runs is out of reach" in foot(hand), "the caution")
        runs.mkdir()
        await hand.notice("there again")
        await hand.until(lambda: "watching runs" in foot(hand), "the watched folder")
        drop(shop, runs, "run_9.csv", 1.02)
        await landed(hand, "run_9.csv")


async def test_a_log_with_two_pulls_is_logged_with_two_keys(shop: Shop, runs: Path) -> None:
    rows = ["Time [s],Engine speed [rpm],Torque [lb-ft]"]
    for n in range(480):
        second = n / 10 % 24
        rpm = np.interp(second, [0, 14, 15, 22, 23, 24], [4000, 7000, 1000, 1000, 4000, 4000])
        rows.append(f"{n / 10:.1f},{rpm:.0f},{390 + n / 50 if second < 14 else 4:.1f}")
    (shop.folder / "evening.csv").write_text("\n".join(rows) + "\n")
    async with watching(shop, runs) as hand:
        (shop.folder / "evening.csv").replace(runs / "evening.csv")
        await landed(hand, "evening.csv")
        # Nobody has said yet whether files of this kind hold observed torque: asked once.
        assert "part 1 of 2" in foot(hand)
        shop.clock.turn(1)
        await hand.press("enter")
        await hand.front("PullForm")
        await hand.press("1", "enter")
        await hand.session()
        await logged(hand, 6)
        await hand.until(lambda: "part 2 of 2" in foot(hand), "the second pull")
        shop.clock.turn(1)
        await hand.press("enter")
        await logged(hand, 7)
    assert waiting(shop.desk) == []
