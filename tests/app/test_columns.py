"""A file whose header leaves something open is asked about once, by keys."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.cases.columns import Meaning, columns_of
from logbook.cases.pulls import find_pull
from tests.app.conftest import Hand, Shop, in_session, sweep_csv
from tests.app.test_landing import foot, landed, logged, watching


def bare_csv(scale: float) -> str:
    """The usual sweep without units, the speed under a letter."""
    header = "N,TQ,Manifold vacuum [inHg],Crankcase vacuum [inHg],Blow-by [cfm]"
    return "\n".join([header, *sweep_csv(scale).splitlines()[1:]])


@pytest.fixture
def runs(shop: Shop) -> Path:
    folder = shop.folder / "runs"
    folder.mkdir()
    return folder


async def answer(hand: Hand, column: str, digit: str) -> None:
    """Say what a column is by the number of the line in the list of meanings."""
    screen = await hand.front("ColumnsScreen")
    await hand.until(lambda: column in "".join(hand.rows()), "the columns")
    for at, row in enumerate(hand.rows()):
        if row.startswith(f"{column} "):
            screen.query_one("Rows").cursor = at
    await hand.press("enter")
    await hand.front("Chooser")
    await hand.press(digit)
    await hand.front("ColumnsScreen")
    await hand.until(lambda: any(r.startswith(column) and "●" in r for r in hand.rows()), column)


async def test_what_has_landed_is_asked_about_and_the_next_file_is_not(
    shop: Shop, runs: Path
) -> None:
    async with watching(shop, runs) as hand:
        (runs / "run_9.csv").write_text(bare_csv(1.02))
        await hand.until(lambda: "Enter asks what is what" in foot(hand), "the question")
        await hand.press("enter")
        assert type(hand.app.screen).__name__ == "SessionScreen"  # within 0.7 s: not meant for it
        shop.clock.turn(1)
        await hand.press("enter")
        await answer(hand, "N", "1")
        await hand.press("s")  # the torque still has no unit: nothing to remember yet
        await answer(hand, "TQ", "1")
        await hand.until(lambda: "peak 408.0 lb·ft at 5000" in hand.text_of("#read"), "the reading")
        await hand.press("s")
        await hand.session()
        await landed(hand, "run_9.csv")
        shop.clock.turn(1)
        await hand.press("enter")
        await hand.front("PullForm")  # observed or corrected: asked once as well
        await hand.press("1", "enter")
        await hand.session()
        await logged(hand, 6)
        (runs / "run_10.csv").write_text(bare_csv(1.03))
        await landed(hand, "run_10.csv")
        shop.clock.turn(1)
        await hand.press("enter")
        await logged(hand, 7)
    pull = find_pull(shop.desk, "RB-2/last/7")
    with shop.desk.book.reading() as read:
        trace = read.trace(pull.id)
    assert trace is not None
    assert [channel.unit for channel in trace.channels[:2]] == ["rpm", "lb·ft"]


async def test_the_form_asks_too_and_m_corrects_a_wrong_answer(shop: Shop) -> None:
    path = shop.folder / "cell" / "zz.csv"
    path.write_text(bare_csv(1.02).replace("N,", "Speed [rpm],"))
    async with in_session(shop) as hand:
        await hand.press("p")
        form = await hand.front("PullForm")
        await form.take_trace(path)
        await answer(hand, "TQ", "2")  # newton meters: wrong
        await hand.press("s")
        await hand.front("PullForm")
        await hand.until(lambda: form.query("TraceLine"), "the trace")
        await hand.until(lambda: form.preview is not None, "the reading")
        await hand.press("escape")
        await hand.session()
        await hand.press("m")
        await answer(hand, "TQ", "2")  # the user's unit stands after the one said
        await hand.press("s")
        await hand.session()
    assert columns_of(shop.desk, path).said == {"TQ": Meaning("torque", "lb·ft")}
