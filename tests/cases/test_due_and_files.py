"""Due marks counted from pulls, and files kept beside the book."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.cases import attachments, builds, change, due, inspections, merge, pulls, safety
from logbook.cases.attachments import Owner
from logbook.cases.desk import open_desk
from logbook.cases.entry import PullEntry
from logbook.refusals import BadFile, BadInput, Conflict, NotFound
from tests.cases.conftest import Shop


def timed(shop: Shop, seconds: float) -> str:
    """A sweep of so many seconds."""
    shop.clock.turn(10)
    path = shop.folder / f"timed-{shop.clock.moment:%d%H%M}.csv"
    lines = ["Time [s],Engine speed [rpm],Torque [N·m]"]
    lines += [f"{n * seconds / 60:.3f},{4000 + 50 * n},{400 - n}" for n in range(61)]
    path.write_text("\n".join(lines))
    return pulls.add_pull(
        shop.desk, PullEntry(session_id=shop.session_id, trace=path, torque_state="observed")
    ).pull_id


def test_a_mark_counts_pulls_recorded_time_and_days(shop: Shop) -> None:
    early = due.add_due(shop.desk, "RB-2", "oil", {"pulls": "3", "minutes": "1 min"})
    assert (early.pulls, early.minutes, early.share, early.is_due) == (0, 0.0, 0.0, False)
    timed(shop, 30)
    out = timed(shop, 27)
    shop.peaks(400)
    pulls.exclude(shop.desk, out, "misfire")  # it has run all the same
    springs = due.add_due(shop.desk, "RB-2", "springs", {"days": "365"}, since="2025-04-10")
    (oil, other) = due.list_due(shop.desk, "RB-2")
    assert (oil.pulls, oil.untimed, oil.is_due) == (3, 1, True)
    assert oil.minutes == pytest.approx(0.95)
    assert (other.mark.id, other.days, other.is_soon) == (springs.mark.id, 338, True)
    shop.clock.turn(1)
    assert due.done_due(shop.desk, oil.mark.id, why="changed").pulls == 0
    change.undo_last(shop.desk)
    assert due.list_due(shop.desk)[0].is_due
    due.change_due(shop.desk, oil.mark.id, {"pulls": "30", "minutes": ""})
    assert due.list_due(shop.desk, "RB-2")[-1].share == pytest.approx(0.1)
    due.drop_due(shop.desk, oil.mark.id)
    assert [state.mark.what for state in due.list_due(shop.desk)] == ["springs"]
    assert safety.verify(shop.desk) == []


def test_a_mark_on_a_build_counts_only_its_pulls(shop: Shop) -> None:
    shop.peaks(400)
    builds.add_build(shop.desk, "RB-2", "build 2")
    first, second = (
        due.add_due(shop.desk, "RB-2", "rings", {"pulls": "10"}, build=label, since="2026-01-01")
        for label in ("build 1", "build 2")
    )
    assert (first.pulls, second.pulls) == (1, 0)


def test_a_mark_that_says_nothing_is_refused(shop: Shop) -> None:
    with pytest.raises(BadInput, match="no limit"):
        due.add_due(shop.desk, "RB-2", "oil", {"note": "soon"})
    mark = due.add_due(shop.desk, "RB-2", "oil", {"pulls": "3"}).mark
    with pytest.raises(Conflict):
        due.add_due(shop.desk, "RB-2", "Oil", {"days": "3"})
    with pytest.raises(BadInput, match="no limit would be left"):
        due.change_due(shop.desk, mark.id, {"pulls": ""})
    with pytest.raises(NotFound):
        due.done_due(shop.desk, "ffff")


@pytest.fixture
def photo(tmp_path: Path) -> Path:
    path = tmp_path / "ring gap.png"
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(2000))
    return path


def test_files_hang_on_what_they_belong_to(shop: Shop, photo: Path, tmp_path: Path) -> None:
    looked = inspections.add_inspection(shop.desk, "RB-2", {"note": "rings out"}).inspection
    owners = [
        Owner("RB-2"), Owner("RB-2", build="build 1"), Owner(session="RB-2/last"),
        Owner(inspection=looked.id[:13]),
    ]  # fmt: skip
    for owner in owners:
        shop.clock.turn(1)
        attachments.attach(shop.desk, photo, owner)
    found = attachments.list_attached(shop.desk, "RB-2")
    assert [view.of for view in found] == [
        "inspection of RB-2, 2026-03-14", "session RB-2, 2026-03-14", "build build 1 of RB-2",
        "engine RB-2",
    ]  # fmt: skip
    assert {view.attachment.media_type for view in found} == {"image/png"}
    assert len({view.path for view in found}) == 1, "the same bytes are kept once"
    gone = attachments.detach(shop.desk, found[0].attachment.id)
    assert len(attachments.list_attached(shop.desk, "RB-2")) == 3
    change.undo_last(shop.desk)
    saved = attachments.save_attached(shop.desk, gone.id, tmp_path / "out.png")
    assert (tmp_path / "out.png").read_bytes() == photo.read_bytes()
    saved.path.unlink()
    assert not attachments.list_attached(shop.desk, "RB-2")[0].there
    assert any("ring gap.png: it is not there" in said for said in safety.verify(shop.desk))


@pytest.mark.parametrize(
    ("name", "on_disk"),
    [("../../etc/passwd", "_.._etc_passwd"), ("C:\\x?.png", "C__x_.png"), ("...", "file")],
)
def test_a_name_is_only_a_name(
    shop: Shop, photo: Path, tmp_path: Path, name: str, on_disk: str
) -> None:
    view = attachments.attach(shop.desk, photo, Owner("RB-2"), name=name)
    assert view.attachment.name == name
    assert view.path.is_relative_to(tmp_path / "book-files")
    out = tmp_path / "out"
    out.mkdir()
    attachments.save_attached(shop.desk, view.attachment.id, out)
    assert [path.name for path in out.iterdir()] == [on_disk]
    with pytest.raises(Conflict):
        attachments.save_attached(shop.desk, view.attachment.id, out)


def test_what_cannot_be_attached_is_said_and_nothing_copied(shop: Shop, tmp_path: Path) -> None:
    with pytest.raises(BadFile):
        attachments.attach(shop.desk, tmp_path / "none.jpg", Owner("RB-2"))
    with pytest.raises(BadFile):
        attachments.attach(shop.desk, tmp_path, Owner("RB-2"))
    (tmp_path / "real.jpg").write_bytes(b"x")
    for owner in (Owner(), Owner("RB-9"), Owner(inspection="ffff")):
        with pytest.raises((BadInput, NotFound)):
            attachments.attach(shop.desk, tmp_path / "real.jpg", owner)
    assert not (tmp_path / "book-files").exists() or not any(
        path.is_file() for path in (tmp_path / "book-files").rglob("*")
    )


def test_a_merge_and_a_rescue_bring_the_files_along(
    shop: Shop, photo: Path, tmp_path: Path
) -> None:
    view = attachments.attach(shop.desk, photo, Owner("RB-2"), name="ring gap")
    other = open_desk(tmp_path / "elsewhere" / "other.db", who="MB", now=shop.clock)
    assert merge.look(other, shop.desk.book.path).notes == ()
    merge.merge(other, shop.desk.book.path)
    assert [one.there for one in attachments.list_attached(other, "RB-2")] == [True]
    assert safety.verify(other) == []
    other.close()
    rescued = safety.rescue(shop.desk.book.path, tmp_path / "rescued.db", who="KL")
    assert [loss for loss in rescued.lost if "file" in loss] == []
    assert list((tmp_path / "rescued-files").rglob(view.attachment.sha256))
    view.path.unlink()
    late = open_desk(tmp_path / "late.db", who="MB", now=shop.clock)
    said = "attached file not beside either book: ring gap"
    assert merge.look(late, shop.desk.book.path).notes == (said,)
    late.close()
    lost = safety.rescue(shop.desk.book.path, tmp_path / "again.db", who="KL").lost
    assert any("attached file ring gap" in one for one in lost)
