"""The samples taken as a pull are shown, and its edges moved by keys."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.cases import change
from logbook.cases.edges import edges_of, figures_with
from logbook.cases.judge import pull_story
from logbook.cases.pulls import find_pull
from tests.app.conftest import Shop, in_session
from tests.app.test_landing import foot, landed, logged, watching


@pytest.fixture
def runs(shop: Shop) -> Path:
    folder = shop.folder / "runs"
    folder.mkdir()
    return folder


def evening_csv() -> str:
    """A log of two rises with a drop between, ten samples a second."""
    rows = ["Time [s],Engine speed [rpm],Torque [lb-ft]"]
    for n in range(480):
        second = n / 10 % 24
        rpm = np.interp(second, [0, 14, 15, 22, 23, 24], [4000, 7000, 1000, 1000, 4000, 4000])
        rows.append(f"{n / 10:.1f},{rpm:.0f},{390 + n / 50 if second < 14 else 4:.1f}")
    return "\n".join(rows) + "\n"


async def test_the_edge_of_a_finished_pull_moves_for_a_reason(shop: Shop) -> None:
    async with in_session(shop) as hand:
        await hand.press("E")
        await hand.front("EdgesScreen")
        await hand.until(lambda: "peak 419.7 hp" in hand.text_of("#figures"), "the figures")
        assert "first sample 1 · " in hand.text_of("#head")
        assert "░ taken as the pull" in hand.text_of("#trace")
        await hand.press("tab", "down", "left", "left", "right", "pageup", "down")
        assert "last sample 51 was 61" in hand.text_of("#head")
        await hand.until(
            lambda: "band average 397.6 hp" in hand.text_of("#figures"), "figures as they would be"
        )
        await hand.press("v")
        assert "closer" not in hand.screen_text()
        await hand.press("enter")
        await hand.front("WhyForm")
        await hand.press("enter")
        await hand.notice("only for a reason")
        await hand.type("lifted")
        await hand.press("enter")
        await hand.session()
        await hand.notice("Pull 5 is now samples 1–51")
        assert pull_story(shop.desk, "RB-2/last/5").samples == (1, 51)
        await hand.press("u")
        await hand.until(lambda: pull_story(shop.desk, "RB-2/last/5").samples == (1, 61), "undo")
    assert change.history(shop.desk)[1].why == "lifted"


async def test_the_edges_of_a_log_that_waits_move_without_asking(shop: Shop, runs: Path) -> None:
    async with watching(shop, runs) as hand:
        (runs / "evening.csv").write_text(evening_csv())
        await landed(hand, "evening.csv")
        await hand.press("E")
        await hand.front("EdgesScreen")
        await hand.until(lambda: "part 2" in hand.text_of("#trace"), "the other part")
        before = hand.text_of("#head")
        await hand.press("up", "delete")
        assert hand.text_of("#head") == before
        await hand.press("up", "right", "right", "enter")
        await hand.session()
        await hand.until(lambda: "samples 13–141" in foot(hand), "the samples as moved")
        shop.clock.turn(1)
        await hand.press("enter")
        await hand.front("PullForm")
        await hand.press("1", "enter")
        await hand.session()
        await logged(hand, 6)
        await hand.until(lambda: "part 2 of 2" in foot(hand), "the second pull")
    assert pull_story(shop.desk, "RB-2/last/6").samples == (13, 141)


def test_what_is_shown_is_what_it_becomes(shop: Shop) -> None:
    from logbook.cases.pulls import change_pull

    pull = find_pull(shop.desk, "RB-2/last/4")
    view = edges_of(shop.desk, pull.id)
    taken = view.moved("last", -15, view.moved("first", 4, (view.first, view.last)))
    assert taken == (4, 45)
    shown, corrected = figures_with(view, taken)
    change_pull(shop.desk, pull.id, {}, samples=view.said(taken), why="lifted")
    assert corrected
    score = pull_story(shop.desk, pull.id).row.score
    assert score is not None
    assert score.corrected == shown


def test_an_edge_stops_at_the_ends_and_before_the_other(shop: Shop) -> None:
    view = edges_of(shop.desk, shop.pull_ids[0])
    assert view.moved("first", -100, (5, 40)) == (0, 40)
    assert view.moved("first", 100, (5, 40)) == (38, 40)
    assert view.moved("last", 1000, (5, 40)) == (5, 60)
    assert view.moved("last", -1000, (5, 40)) == (5, 7)
