"""One time log with several pulls: found, shown, logged one by one, their edges movable."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from logbook.cases import change, pulls
from logbook.cases.entry import PullEntry
from logbook.cases.form import preview_file
from logbook.cases.judge import pull_story
from logbook.cases.landing import FolderWatch, take_in, waiting
from logbook.cases.parts import parts_of
from logbook.cases.results import Logged
from logbook.records.pull import Pull
from logbook.refusals import BadInput, Conflict
from logbook.store.safety import verify
from tests.cases.conftest import Shop

STEP_S = 0.1
# Seconds, engine speed and torque of an invented evening: idle, two pulls with a run down after
# each, a third one in which the gear is changed half-way.
AT = [-5, 5, 6, 16, 17, 27, 28, 38, 39, 49, 50, 58, 58.5, 66, 67, 75]
RPM = [900, 900, 3000, 6500, 6500, 900, 3000, 6600, 6600, 900, 3000, 6400, 4200, 6400, 6400, 900]
LOAD_AT = [-5, 5.9, 6, 16, 17, 27.9, 28, 38, 39, 49.9, 50, 58, 58.5, 66, 67, 75]
LOAD = [5, 5, 300, 280, -40, 5, 303, 283, -40, 5, 310, 290, 310, 290, -40, 5]


def evening(path: Path, *, gap: bool = False) -> Path:
    """The log as a file, 10 samples a second, from five seconds before nought."""
    time = np.arange(AT[0], AT[-1], STEP_S)
    lines = ["Time [s],Engine speed [rpm],Torque [N·m],Oil temperature [°C]"]
    for at, rpm, torque in zip(
        time, np.interp(time, AT, RPM), np.interp(time, LOAD_AT, LOAD), strict=True
    ):
        if not (gap and 30 < at < 31.5):
            lines.append(f"{at:.2f},{rpm:.1f},{torque:.2f},{80 + at / 10:.1f}")
    path.write_text("\n".join(lines) + "\n")
    return path


@pytest.fixture
def log(shop: Shop) -> Path:
    return evening(shop.folder / "evening.csv")


def add(shop: Shop, log: Path, **rest: object) -> Logged:
    shop.clock.turn(5)
    entry = PullEntry(session_id=shop.session_id, trace=log, torque_state="observed", **rest)  # type: ignore[arg-type]
    return pulls.add_pull(shop.desk, entry)


def samples(shop: Shop, pull_id: str) -> tuple[int, int] | None:
    return pull_story(shop.desk, pull_id).samples


def test_every_rise_under_load_is_a_part(shop: Shop, log: Path) -> None:
    parts = parts_of(shop.desk, log).parts
    assert [part.number for part in parts] == [1, 2, 3, 4]
    speeds = [(part.speed_from_rpm, part.speed_to_rpm) for part in parts]
    for found, told in zip(
        speeds, [(3000, 6500), (3000, 6600), (3000, 6400), (4200, 6400)], strict=True
    ):
        assert found == pytest.approx(told, abs=250)
    # Sample 1 lies at −5 s: the first pull rises from 6 s to 16 s.
    assert parts[0].first_sample == pytest.approx(111, abs=4)
    assert parts[0].last_sample == pytest.approx(211, abs=4)
    assert parts[0].seconds == pytest.approx(10, abs=0.6)
    assert parts[1].peak_torque_nm == pytest.approx(303, abs=2)


def test_each_part_becomes_a_pull_and_none_becomes_two(shop: Shop, log: Path) -> None:
    one, three = add(shop, log, part=1), add(shop, log, part=3)
    assert samples(shop, one.pull_id) != samples(shop, three.pull_id)
    with pytest.raises(Conflict) as refused:
        add(shop, log, part=1)
    assert "of this file are already pull RB-2/2026-03-14/1" in refused.value.sentence
    assert "part 2 of it" in refused.value.sentence
    with pytest.raises(BadInput, match="there is no part 5"):
        add(shop, log, part=5)
    named = [part.pull for part in parts_of(shop.desk, log).parts]
    assert named == ["RB-2/2026-03-14/1", None, "RB-2/2026-03-14/2", None]
    change.undo_last(shop.desk)
    assert add(shop, log, part=3).number == 2
    with shop.desk.book.reading() as read:
        kept = list(read.rows("SELECT id, trace_pull_id FROM sources"))
        assert [over for _, over in kept] == [None], "a file of several pulls stays whole"
        assert read.source(kept[0][0]).content == log.read_bytes()
    assert verify(shop.desk.book) == []


def test_a_part_keeps_the_samples_around_it_up_to_its_neighbors(shop: Shop, log: Path) -> None:
    parts = parts_of(shop.desk, log).parts
    logged = add(shop, log, part=2)
    with shop.desk.book.reading() as read:
        trace = read.trace(logged.pull_id)
        pull = read.get(Pull, logged.pull_id)
    assert trace is not None
    assert pull.first_in_file == parts[0].last_sample
    assert len(trace.channels[0].values) == parts[2].first_sample - 1 - parts[0].last_sample
    assert {channel.name for channel in trace.channels} >= {"Time", "Oil temperature"}
    assert samples(shop, logged.pull_id) == (parts[1].first_sample, parts[1].last_sample)


def test_without_a_part_the_longest_rise_is_taken_and_said(shop: Shop, log: Path) -> None:
    logged = add(shop, log)
    assert samples(shop, logged.pull_id) == (
        (part := parts_of(shop.desk, log).parts[1]).first_sample, part.last_sample,
    )  # fmt: skip
    assert any("part 2 of 4" in caution.text for caution in logged.cautions)


def test_samples_can_be_given_and_are_refused_outside_the_file(shop: Shop, log: Path) -> None:
    logged = add(shop, log, samples="120-200")
    assert samples(shop, logged.pull_id) == (120, 200)
    assert any("Samples 120 to 200 of 800" in caution.text for caution in logged.cautions)
    for text, says in (
        ("900-950", "outside the samples 1–800"), ("300-301", "fewer than 3"),
        ("x", "not two samples"), ("0-100", "outside"),
    ):  # fmt: skip
        with pytest.raises(BadInput, match=says):
            add(shop, log, samples=text)
    with pytest.raises(BadInput, match="one of them"):
        add(shop, log, samples="300-400", part=2)
    with pytest.raises(Conflict, match="120–200"):
        add(shop, log, samples="150-260")


def test_the_edges_of_a_pull_are_moved_with_a_reason_and_back(shop: Shop, log: Path) -> None:
    logged = add(shop, log, part=1)
    before = pull_story(shop.desk, logged.pull_id)
    pulls.change_pull(shop.desk, logged.pull_id, {}, samples="120-180", why="throttle lifted")
    after = pull_story(shop.desk, logged.pull_id)
    assert after.samples == (120, 180)
    assert before.row.score is not None
    assert after.row.score is not None
    assert after.row.score.observed.peak_power_kw != before.row.score.observed.peak_power_kw
    (newest, *_) = change.history(shop.desk)
    assert (newest.what, newest.why) == ("Pull 1 corrected", "throttle lifted")
    assert verify(shop.desk.book) == []
    change.undo_last(shop.desk)
    assert samples(shop, logged.pull_id) == before.samples
    assert verify(shop.desk.book) == []


def test_edges_are_not_moved_over_another_pull_or_out_of_the_trace(shop: Shop, log: Path) -> None:
    one = add(shop, log, samples="120-160")
    add(shop, log, samples="170-200")
    with pytest.raises(Conflict, match="samples 170–200 are pull RB-2/2026-03-14/2"):
        pulls.change_pull(shop.desk, one.pull_id, {}, samples="120-175", why="too far")
    two = add(shop, log, part=2)
    with pytest.raises(BadInput, match="trace holds the samples"):
        pulls.change_pull(shop.desk, two.pull_id, {}, samples="1-300", why="too far")
    typed = shop.peaks(300)
    with pytest.raises(BadInput, match="no trace"):
        pulls.change_pull(shop.desk, typed.pull_id, {}, samples="1-300", why="none")


def test_a_gap_in_the_recording_parts_a_pull(shop: Shop) -> None:
    parts = parts_of(shop.desk, evening(shop.folder / "gap.csv", gap=True)).parts
    # Of the second pull only what was recorded after the gap is long enough to be one.
    assert (parts[1].speed_from_rpm, parts[1].speed_to_rpm) == pytest.approx((4260, 6600), abs=120)


def test_a_landed_log_waits_until_all_its_pulls_are_taken(shop: Shop) -> None:
    folder = shop.folder / "cell"
    folder.mkdir()
    log = evening(folder / "evening.csv")
    watch = FolderWatch(folder, quiet=0.0)
    said = [take_in(shop.desk, watch.look(shop.desk)) for _ in range(2)][-1]
    assert said[0].text == "evening.csv has landed and waits, 4 pulls in it."
    shown = []
    for _ in range(4):
        (one,) = waiting(shop.desk)
        preview = preview_file(shop.desk, shop.session_id, log, one.id)
        shown.append((preview.part, preview.parts, preview.more))
        pulls.add_pull(
            shop.desk,
            PullEntry(session_id=shop.session_id, landing_id=one.id, part=preview.part),
        )
    assert shown == [(1, 4, 3), (2, 4, 2), (3, 4, 1), (4, 4, 0)]
    assert waiting(shop.desk) == []
    change.undo_last(shop.desk)
    assert len(waiting(shop.desk)) == 1
