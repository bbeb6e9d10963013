"""Files that land wait until somebody accepts them; none is lost, none is taken twice."""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from logbook.cases import change, landing, pulls
from logbook.cases.columns import Meaning, columns_of, name_columns
from logbook.cases.desk import open_desk
from logbook.cases.entry import PullEntry
from logbook.cases.form import preview_file
from logbook.cases.landing import FolderWatch, LandingEvent, take_in, waiting
from logbook.cases.results import Logged
from logbook.intake import landing as intake
from logbook.refusals import BadFile, Conflict, NotFound
from logbook.store import landings
from logbook.store.safety import verify
from tests.cases.conftest import Shop, sweep_csv


@pytest.fixture
def cell(shop: Shop) -> Path:
    folder = shop.folder / "cell"
    folder.mkdir()
    return folder


class Watcher:
    """A watch whose clock goes on by a second a look; two looks see a file land."""

    def __init__(self, shop: Shop, folder: Path) -> None:
        self.shop, self.seconds = shop, 0.0
        self.watch = FolderWatch(folder, tick=lambda: self.seconds)

    def look(self, times: int = 2) -> list[LandingEvent]:
        events: list[LandingEvent] = []
        for _ in range(times):
            self.seconds += 1
            looked = self.watch.look(self.shop.desk)
            if looked.anything:
                events += take_in(self.shop.desk, looked)
        return events


@pytest.fixture
def watcher(shop: Shop, cell: Path) -> Watcher:
    watcher = Watcher(shop, cell)
    watcher.look()
    return watcher


def lay(folder: Path, name: str, scale: float = 1.0, *, rows: int | None = None) -> Path:
    lines = sweep_csv(scale).splitlines(keepends=True)
    path = folder / name
    path.write_text("".join(lines[:rows]))
    return path


def accept(shop: Shop) -> Logged:
    first = waiting(shop.desk)[0]
    return pulls.add_pull(shop.desk, PullEntry(session_id=shop.session_id, landing_id=first.id))


def names(shop: Shop) -> list[str]:
    return [one.name for one in waiting(shop.desk)]


def test_a_file_lands_once_and_becomes_a_pull(shop: Shop, cell: Path, watcher: Watcher) -> None:
    lay(cell, "run_1.csv")
    (event,) = watcher.look()
    assert (event.what, event.text) == ("waiting", "run_1.csv has landed and waits.")
    assert watcher.look(5) == []
    logged = accept(shop)
    assert names(shop) == []
    pull = pulls.find_pull(shop.desk, logged.pull_id)
    with shop.desk.book.reading() as read:
        assert pull.source_id is not None
        assert read.source(pull.source_id).content == (cell / "run_1.csv").read_bytes()
    assert verify(shop.desk.book) == []


def test_what_waits_survives_a_restart_and_is_not_taken_twice(shop: Shop, cell: Path) -> None:
    first = Watcher(shop, cell)
    lay(cell, "run_1.csv")
    lay(cell, "run_2.csv", 1.01)
    first.look()
    assert names(shop) == ["run_1.csv", "run_2.csv"]
    accept(shop)
    again = open_desk(shop.desk.book.path, who="KL", now=shop.clock)
    try:
        assert [one.name for one in waiting(again)] == ["run_2.csv"]
    finally:
        again.close()
    lay(cell, "run_3.csv", 1.02)  # landed while nobody watched
    assert [event.name for event in Watcher(shop, cell).look(3)] == ["run_3.csv"]
    assert names(shop) == ["run_2.csv", "run_3.csv"]


def test_a_file_is_accepted_though_the_next_run_was_written_over_it(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    first = lay(cell, "latest.csv").read_bytes()
    watcher.look()
    lay(cell, "latest.csv", 1.05)
    watcher.look()
    (cell / "latest.csv").unlink()
    assert names(shop) == ["latest.csv", "latest.csv"]
    one, two = accept(shop), accept(shop)
    with shop.desk.book.reading() as read:
        contents = [
            read.source(pulls.find_pull(shop.desk, logged.pull_id).source_id or "").content
            for logged in (one, two)
        ]
    assert contents[0] == first != contents[1]


def test_a_file_that_paused_while_it_was_written_lands_whole(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    lay(cell, "slow.csv", rows=20)
    watcher.look()
    whole = lay(cell, "slow.csv").read_bytes()
    watcher.look()
    (one,) = waiting(shop.desk)
    assert one.size == len(whole)
    accept(shop)
    assert names(shop) == []


def test_who_accepted_half_a_file_is_told(shop: Shop, cell: Path, watcher: Watcher) -> None:
    lay(cell, "slow.csv", rows=20)
    watcher.look()
    accept(shop)
    lay(cell, "slow.csv")
    (event,) = watcher.look()
    assert event.what == "waiting"
    assert "written on after it had landed" in event.text


def test_the_same_bytes_under_another_name_are_left_alone(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    lay(cell, "run_1.csv")
    watcher.look()
    lay(cell, "copy.csv")
    (event,) = watcher.look()
    assert (event.what, event.text) == (
        "ignored", "copy.csv is left alone: it is the same file as run_1.csv.",
    )  # fmt: skip
    logged = shop.trace(1.03, name="logged.csv")
    lay(cell, "again.csv", 1.03)
    (event,) = watcher.look()
    assert f"already pull RB-2/2026-03-14/{logged.number}" in event.text
    assert names(shop) == ["run_1.csv"]


def test_a_renamed_file_is_the_same_landing(shop: Shop, cell: Path, watcher: Watcher) -> None:
    path = lay(cell, "run_1.csv")
    watcher.look()
    path.rename(cell / "best.csv")
    (event,) = watcher.look()
    assert (event.what, event.text) == ("renamed", "run_1.csv is now called best.csv.")
    assert names(shop) == ["best.csv"]


def test_a_touched_file_is_no_news(shop: Shop, cell: Path, watcher: Watcher) -> None:
    path = lay(cell, "run_1.csv")
    watcher.look()
    seen = path.stat()
    os.utime(path, ns=(seen.st_atime_ns, seen.st_mtime_ns + 1))
    assert watcher.look() == []
    assert Watcher(shop, cell).look() == []


def test_foreign_files_are_refused_or_left_alone_and_told_once(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    (cell / "notes.txt").write_text("plugs were gray\n")
    (cell / "dyno.jpg").write_bytes(b"\xff\xd8\xff")
    found = {event.name: event for event in watcher.look()}
    assert found["notes.txt"].what == "refused"
    assert "notes.txt" in found["notes.txt"].text
    assert found["dyno.jpg"].what == "ignored"
    assert found["dyno.jpg"].foreign
    assert watcher.look() == []
    assert Watcher(shop, cell).look() == []
    assert names(shop) == []
    with shop.desk.book.reading() as read:
        landed = landings.newest_by_name(read, str(cell))
        assert read.source_of_content(landed["notes.txt"].sha256) is None


def test_old_files_of_a_folder_watched_for_the_first_time_have_not_landed(
    shop: Shop, cell: Path
) -> None:
    for number in range(3):
        old = lay(cell, f"old_{number}.csv", 1 + number / 100)
        os.utime(old, (shop.clock.moment.timestamp() - 2 * 86_400,) * 2)
    watcher = Watcher(shop, cell)
    (event,) = watcher.look()
    assert "3 files older than a day" in event.text
    lay(cell, "new.csv", 1.1)
    assert [event.name for event in watcher.look()] == ["new.csv"]
    assert Watcher(shop, cell).look(3) == []


def test_a_locked_file_is_told_once_and_taken_when_it_is_let_go(
    shop: Shop, cell: Path, watcher: Watcher, monkeypatch: pytest.MonkeyPatch
) -> None:
    lay(cell, "run_1.csv")
    read = intake.read_settled

    def locked(*_: object) -> None:
        raise PermissionError(errno.EACCES, "Permission denied")

    monkeypatch.setattr(intake, "read_settled", locked)
    (event,) = watcher.look(30)
    assert event.what == "locked"
    assert "Trying on" in event.text
    monkeypatch.setattr(intake, "read_settled", read)
    assert [event.what for event in watcher.look()] == ["waiting"]


def test_a_network_folder_may_go_and_come_back(shop: Shop, cell: Path, watcher: Watcher) -> None:
    lay(cell, "run_1.csv")
    watcher.look()
    away = cell.rename(cell.with_name("away"))
    assert [event.what for event in watcher.look(4)] == ["unreachable"]
    lay(away, "run_2.csv", 1.01)
    away.rename(cell)
    assert [event.what for event in watcher.look(3)] == ["reachable again", "waiting"]


def test_a_folder_that_was_never_there_is_refused(shop: Shop) -> None:
    with pytest.raises(BadFile, match="cannot be read"):
        FolderWatch(shop.folder / "nowhere").look(shop.desk)


def test_undo_of_the_pull_lets_the_file_wait_again(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    lay(cell, "run_1.csv")
    watcher.look()
    accept(shop)
    assert change.undo_last(shop.desk).sentence == "Taken back: Pull 1 logged"
    assert names(shop) == ["run_1.csv"]
    change.redo_last(shop.desk)
    assert names(shop) == []


def kept(shop: Shop) -> list[tuple[bytes, bool]]:
    """The bytes of every file in the book, and whether it is outlined over a trace."""
    with shop.desk.book.reading() as read:
        rows = list(read.rows("SELECT id, trace_pull_id IS NOT NULL FROM sources ORDER BY id"))
        return [(read.source(source_id).content, bool(outlined)) for source_id, outlined in rows]


def test_what_waits_is_a_whole_copy_and_what_was_accepted_is_as_good(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    content = lay(cell, "run_1.csv").read_bytes()
    watcher.look()
    assert kept(shop) == [(content, False)]
    accept(shop)
    assert kept(shop) == [(content, True)]
    change.undo_last(shop.desk)
    assert (names(shop), kept(shop)) == (["run_1.csv"], [(content, True)])
    logged = accept(shop)
    shop.clock.turn(1)
    pulls.change_pull(shop.desk, logged.pull_id, {}, samples="3-50", why="cold")
    assert kept(shop) == [(content, True)]
    assert verify(shop.desk.book) == []


def test_a_landing_is_nothing_that_undo_takes_back(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    logged = shop.peaks(300)
    lay(cell, "run_1.csv")
    watcher.look()
    assert change.undo_last(shop.desk).sentence == f"Taken back: Pull {logged.number} logged"


def test_logging_the_file_from_a_script_takes_the_landing_too(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    path = lay(cell, "run_1.csv")
    watcher.look()
    pulls.add_pull(shop.desk, PullEntry(session_id=shop.session_id, trace=path))
    assert names(shop) == []


def test_a_landing_is_previewed_and_accepted_only_once(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    path = lay(cell, "run_1.csv")
    watcher.look()
    (one,) = waiting(shop.desk)
    path.unlink()
    preview = preview_file(shop.desk, shop.session_id, path, one.id)
    assert (preview.name, preview.samples_taken) == ("run_1.csv", "1–61")
    accept(shop)
    with pytest.raises(Conflict, match="already pull"):
        pulls.add_pull(shop.desk, PullEntry(session_id=shop.session_id, landing_id=one.id))
    with pytest.raises(NotFound, match="does not wait"):
        pulls.add_pull(shop.desk, PullEntry(session_id=shop.session_id, landing_id="x"))


def test_set_aside_waits_no_longer(shop: Shop, cell: Path, watcher: Watcher) -> None:
    lay(cell, "run_1.csv")
    watcher.look()
    landing.set_aside(shop.desk, waiting(shop.desk)[0].id)
    assert names(shop) == []
    assert watcher.look(4) == []
    assert Watcher(shop, cell).look() == []


def test_the_apps_folder_is_remembered_in_the_book(shop: Shop, cell: Path) -> None:
    assert landing.app_folder(shop.desk) is None
    landing.choose_app_folder(shop.desk, cell)
    assert landing.app_folder(shop.desk) == cell
    landing.choose_app_folder(shop.desk, None)
    assert landing.app_folder(shop.desk) is None
    with pytest.raises(BadFile):
        landing.choose_app_folder(shop.desk, cell / "nowhere")


def test_a_name_that_would_steer_a_terminal_is_shown_harmless(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    lay(cell, "run\x1b[2J\u202e.csv")
    (event,) = watcher.look()
    assert "\x1b" not in event.text
    assert "\u202e" not in event.text
    accept(shop)


def test_a_landing_reads_columns_as_they_were_named(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    path = lay(cell, "first.csv")
    path.write_text(path.read_text().replace("Torque [lb-ft]", "TQ"))
    (cell / "weather.csv").write_text("Time [s],Pressure [kPa]\n0,99.1\n60,99.1\n120,99.2\n")
    events = watcher.look()
    assert {event.name: event.what for event in events} == {
        "first.csv": "waiting", "weather.csv": "refused",
    }  # fmt: skip
    assert waiting(shop.desk)[0].reason == 'column "TQ" has no unit'
    with pytest.raises(BadFile):
        accept(shop)
    view = columns_of(shop.desk, path, waiting(shop.desk)[0].id)
    assert [column.quantity for column in view.columns[:3]] == [
        "engine speed", "torque", "manifold vacuum",
    ]  # fmt: skip
    assert view.columns[1].first == ("355.56", "359.89", "364.00")
    with pytest.raises(BadFile):
        name_columns(shop.desk, view)
    said = view.saying("TQ", Meaning("torque", "lb·ft"))
    named = columns_of(shop.desk, path, waiting(shop.desk)[0].id, said)
    assert named.refusal == ""
    name_columns(shop.desk, named)
    assert waiting(shop.desk)[0].reason == ""
    assert columns_of(shop.desk, path).said == {"TQ": Meaning("torque", "lb·ft")}
    accept(shop)
    path = lay(cell, "second.csv", 1.01)
    path.write_text(path.read_text().replace("Torque [lb-ft]", "TQ"))
    (event,) = watcher.look()
    assert event.what == "waiting"
    preview = preview_file(shop.desk, shop.session_id, path, waiting(shop.desk)[0].id)
    assert preview.known_torque_state is None
    accept(shop)


def test_recordings_land_and_are_old_files_as_csv_is(
    shop: Shop, cell: Path, watcher: Watcher
) -> None:
    from logbook.cases.backfill import PastFile, files_in
    from logbook.cases.past import Terms, take_all
    from tests.intake import recordings

    (cell / "run_1.mf4").write_bytes(recordings.mdf())
    (cell / "run_2.parquet").write_bytes(
        recordings.parquet({"Speed [rpm]": recordings.SPEED, "Torque [Nm]": recordings.TORQUE})
    )
    watcher.look()
    assert names(shop) == ["run_1.mf4", "run_2.parquet"]
    mdf = pulls.find_pull(shop.desk, accept(shop).pull_id)
    with shop.desk.book.reading() as read:
        trace = read.trace(mdf.id)
    assert trace is not None
    torque = trace.of("torque")
    assert torque is not None
    assert (torque.values == recordings.TORQUE).all()  # single precision, to the last bit
    terms = Terms("RB-2", band="2500-5000", torque_state="observed")
    past = [PastFile(path, terms) for path in files_in([cell])]
    assert [one.what for one in take_all(shop.desk, past)] == ["taken before", "taken"]
    assert verify(shop.desk.book) == []
