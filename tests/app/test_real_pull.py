"""A real pull goes in by the app: its own peaks, and the caution that they disagree."""

from __future__ import annotations

import shutil
from pathlib import Path

from logbook.app.next_pull import GUARD
from logbook.app.screens.file_picker import FilePicker
from logbook.cases import engines, sessions
from tests.app.conftest import Shop, hand_on


async def test_the_real_pull_is_chosen_asked_about_and_logged(
    shop: Shop, sample_pull: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "from the car"
    folder.mkdir()
    shutil.copyfile(sample_pull, folder / sample_pull.name)
    FilePicker.last_folder = folder
    engines.add_engine(shop.desk, "FS-1", {"limit-speed": "12000"}, band="7000-11000")
    opened = sessions.open_session(shop.desk, "FS-1", purpose="as it came")
    async with hand_on(shop.book, size=(120, 40), clock=shop.clock) as hand:
        hand.app.show_session(opened.id)
        screen = await hand.session()
        await hand.press("o")
        await hand.front("FilePicker")
        await hand.until(lambda: bool(hand.rows()), "the file")
        await hand.press("enter")
        await hand.session()
        await hand.until(lambda: screen.next.preview is not None, "the preview")
        await hand.notice("disagree")
        assert "observed peak 68.4 hp" in hand.text_of("#foot")
        shop.clock.turn(GUARD / 60 + 0.01)
        await hand.press("enter")  # nobody has said yet what this kind of file holds
        await hand.front("PullForm")
        await hand.until(lambda: "68.4 hp at 10600 rpm" in hand.text_of("#trace"), "the trace")
        assert "34.9 lb·ft at 7700 rpm" in hand.text_of("#trace")
        await hand.press("1", "enter")
        await hand.session()
        await hand.until(lambda: len(screen.view.rows) == 1, "the pull")
        observed = screen.view.rows[0].score.observed
        assert round(observed.band_power_kw / 0.745699872, 2) == 56.81
        await hand.until(lambda: "air reading" in hand.text_of("#answer"), "why none")
        assert "disagree" in hand.text_of("#answer")
