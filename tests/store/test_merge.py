"""What two books disagree about, what each answer does, and which files are no other book."""

from __future__ import annotations

import os
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest

from logbook.records.air import AirReading
from logbook.records.calibration import Calibration
from logbook.records.engine import Build, Engine
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.trace import Channel, Source, SourceKind, Trace
from logbook.refusals import BadInput, BookTrouble, Conflict
from logbook.store import migrations
from logbook.store.book import Book
from logbook.store.merging import plan
from logbook.store.migrations import MIGRATIONS, Migration
from logbook.store.other_book import looked_into
from logbook.store.safety import verify
from logbook.store.two_books import Answers, Clash
from tests.store.conftest import OPENED, Shop
from tests.store.joined import held, merge

Twice = tuple[Shop, Shop]


@pytest.fixture
def twice(shop: Shop, tmp_path: Path) -> Iterator[Twice]:
    """This machine's shop and another's, from one book that holds one pull."""
    shop.pull(notes="common", oil_c=90.0, typed={"oil_c": "90 C"})
    other = Shop.__new__(Shop)
    other.__dict__.update(shop.__dict__)
    path = tmp_path / "south.db"
    shop.book.copy_to(path)
    other.book = Book.open(path)
    yield shop, other
    other.book.close()


def common(shop: Shop) -> Pull:
    """The pull that both books began with."""
    with shop.book.reading() as read:
        return read.where(Pull, with_withdrawn=True)[0]


def edit(shop: Shop, cls: type, record_id: str, **fields: object) -> None:
    with shop.book.changing(who="K. L.", what="Edited", why="misread") as change:
        change.update(cls, record_id, **fields)


def pull_of(shop: Shop, pull_id: str) -> Pull:
    with shop.book.reading() as read:
        return read.get(Pull, pull_id)


def file(content: bytes) -> Source:
    digest = sha256(content).hexdigest()
    return Source(new_id(), digest, "run.csv", OPENED, content, "rpm;nm")


def only(clashes: list[Clash]) -> Clash:
    assert len(clashes) == 1, clashes
    return clashes[0]


def settled(here: Shop, there: Shop, answer: str) -> Clash:
    """Merge with one answer to the one conflict; the result is whole and asks no more."""
    before = held(here.book.path)
    clash = only(merge(here.book, there.book.path).both.open)
    assert held(here.book.path) == before, "nothing is taken while something is open"
    assert merge(here.book, there.book.path, {clash.code: answer}).both.open == []
    assert verify(here.book) == []
    assert merge(here.book, there.book.path).nothing_new
    return clash


# -- what needs no decision ------------------------------------------------------------------


def test_everything_comes_along(twice: Twice) -> None:
    here, there = twice
    source = file(b"rpm;nm\n3000;301.5\n")
    with there.book.changing(who="x") as change:
        change.put_source(source)
    pull = there.pull(power_kw=120.0, source_id=source.id, notes="quince")
    values = np.array([301.5, np.nan])
    with there.book.changing(who="x") as change:
        change.put_trace(pull.id, Trace((Channel("t", "torque", "Nm", values, 1),), 0, 1))
    stamp = here.stamp()
    merge(here.book, there.book.path)
    assert verify(here.book) == []
    assert here.stamp() > stamp, "a judgement of the session is computed anew"
    with here.book.reading() as read:
        assert read.get(Pull, pull.id) == pull
        assert read.source(source.id) == source
        trace = read.trace(pull.id)
        assert trace is not None
        assert np.array_equal(trace.channels[0].values, values, equal_nan=True)
        told = [(change.who, change.what) for change in read.changes()]
    assert told[0] == ("x", "m")
    assert ("M. B.", "Pull 2 logged") in told


def test_the_version_made_with_the_other_in_view_is_the_newer_whatever_the_clocks_say(
    twice: Twice,
) -> None:
    here, there = twice
    here.book.now = lambda: "2031-01-01T00:00:00Z"
    edit(here, Engine, here.engine.id, name="by a clock that is fast")
    merge(there.book, here.book.path)
    there.book.now = lambda: "1999-01-01T00:00:00Z"
    edit(there, Engine, here.engine.id, name="made later, by a clock that is slow")
    assert merge(here.book, there.book.path).both.clashes == []
    with here.book.reading() as read:
        assert read.get(Engine, here.engine.id).name == "made later, by a clock that is slow"


def test_different_fields_of_one_record_are_joined_with_what_was_typed(twice: Twice) -> None:
    here, there = twice
    pull = common(here)
    edit(here, Pull, pull.id, oil_c=95.0, typed={"oil_c": "95 C"})
    edit(there, Pull, pull.id, coolant_c=80.0, typed={"oil_c": "90 C", "coolant_c": "80 C"})
    assert merge(here.book, there.book.path).both.clashes == []
    merged = pull_of(here, pull.id)
    assert (merged.oil_c, merged.coolant_c) == (95.0, 80.0)
    assert merged.typed == {"oil_c": "95 C", "coolant_c": "80 C"}
    with here.book.reading() as read:
        edited = [change for change in read.changes() if change.what == "Edited"]
    with (
        pytest.raises(Conflict, match="later changed the same pull"),
        here.book.changing(who="x") as change,
    ):  # an undo must not carry the other's typed text off
        change.undo(edited[0].group)


def test_the_same_edit_in_both_is_no_conflict(twice: Twice) -> None:
    here, there = twice
    for shop in twice:
        edit(shop, Pull, common(here).id, notes="rich")
    assert merge(here.book, there.book.path).both.clashes == []
    assert pull_of(here, common(here).id).notes == "rich"


def test_an_undo_in_one_book_is_an_edit_like_any(twice: Twice) -> None:
    here, there = twice
    with there.book.changing(who="x") as change:
        change.undo(there.last_group)
    merge(here.book, there.book.path)
    assert pull_of(here, common(here).id).withdrawn
    assert verify(here.book) == []


def test_one_file_under_two_ids_is_kept_once(twice: Twice) -> None:
    here, there = twice
    for shop in twice:
        with shop.book.changing(who="x") as change:
            change.put_source(file(b"x"))
    planned = merge(here.book, there.book.path)
    assert planned.notes[0] == "source files in both books under two ids, kept once each: 1"
    assert here.plain_sql("SELECT count(*) FROM sources") == [(1,)]


def test_a_merge_is_not_undone_as_one_change_but_says_where_the_copy_is(twice: Twice) -> None:
    here, there = twice
    there.pull()
    merge(here.book, there.book.path)
    with here.book.reading() as read:
        last = read.changes(1)[0]
    with pytest.raises(Conflict, match=r"kept\.db"), here.book.changing(who="x") as change:
        change.undo(last.group)


# -- conflicts -------------------------------------------------------------------------------


@pytest.mark.parametrize(("answer", "kept"), [("here", "rich"), ("there", "lean")])
def test_a_field_changed_in_both(twice: Twice, answer: str, kept: str) -> None:
    here, there = twice
    pull = common(here)
    edit(here, Pull, pull.id, notes="rich")
    edit(there, Pull, pull.id, notes="lean")
    clash = settled(here, there, answer)
    assert clash.sentence == (
        "pull 1 of Otter, 2026-03-14, notes: changed in both books."
        " Here: notes rich. There: notes lean."
    )
    assert pull_of(here, pull.id).notes == kept
    trail = here.plain_sql("SELECT old, new FROM audit_trail WHERE what = 'Decided in a merge'")
    assert set(trail[0]) == {"rich", "lean"}, "both versions stay in the trail"
    assert merge(there.book, here.book.path).both.clashes == [], "decided once is decided"
    assert pull_of(there, pull.id).notes == kept


def test_an_air_reading_is_taken_whole(twice: Twice) -> None:
    here, there = twice
    edit(here, AirReading, here.air.id, humidity_kind="dew point", humidity=20.0)
    edit(there, AirReading, here.air.id, temperature_c=18.0)
    settled(here, there, "there")
    with here.book.reading() as read:
        air = read.get(AirReading, here.air.id)
    assert (air.temperature_c, air.humidity_kind, air.humidity) == (18.0, "relative", 0.41)


def test_how_torque_was_taken_goes_with_the_calibration_it_is_taken_through(twice: Twice) -> None:
    here, there = twice
    pull = common(here)
    one = Calibration(
        new_id(), here.cell.id, OPENED, "load cell", "lb·ft", (0.0, 1.0), (0.0, 1.1), ("up", "up")
    )
    with there.book.changing(who="x", what="Calibrated") as change:
        change.insert(one)
    edit(there, Pull, pull.id, recalibration_id=one.id)
    edit(here, Pull, pull.id, torque_state="sae-j1349")
    settled(here, there, "here")
    kept = pull_of(here, pull.id)
    assert (kept.torque_state, kept.recalibration_id) == ("sae-j1349", None)


def add_engine(shop: Shop, tag: str, **fields: object) -> str:
    engine = Engine(new_id(), tag, **fields)  # type: ignore[arg-type]
    build = Build(new_id(), engine.id, "as bought")
    session = Session(new_id(), engine.id, build.id, shop.cell.id, OPENED)
    with shop.book.changing(who="x", what="Entered") as change:
        for record in (engine, build, session):
            change.insert(record)
    return engine.id


def test_two_engines_with_one_tag_may_be_one(twice: Twice) -> None:
    here, there = twice
    older = add_engine(there, "Heron", bore_mm=101.6)
    younger = add_engine(here, "heron", bore_mm=102.0)
    clash = settled(here, there, "same")
    assert "bore mm 102.0" in clash.here
    assert "bore mm 101.6" in clash.there
    with here.book.reading() as read:
        assert read.get(Engine, younger).withdrawn
        assert len(read.where(Session, engine_id=older)) == 2
    # The other machine goes on with what it knows: its work finds the engine that was kept.
    merge(there.book, here.book.path)
    assert verify(there.book) == []


def test_what_goes_on_under_an_engine_that_became_another_finds_it(twice: Twice) -> None:
    here, there = twice
    older = add_engine(here, "Heron")
    younger = add_engine(there, "Heron")
    settled(here, there, "same")
    with there.book.changing(who="x") as change:
        build = change.where(Build, engine_id=younger)[0]
        change.insert(Session(new_id(), younger, build.id, there.cell.id, OPENED, purpose="late"))
    settled(here, there, "same")
    with here.book.reading() as read:
        late = read.find_one(Session, purpose="late")
    assert late is not None
    assert late.engine_id == older


@pytest.mark.parametrize(("answer", "tags"), [
    ("there:Heron S", {"Otter", "Heron", "Heron S"}), ("here:Teal", {"Otter", "Heron", "Teal"}),
])  # fmt: skip
def test_two_engines_with_one_tag_may_be_two(twice: Twice, answer: str, tags: set[str]) -> None:
    here, there = twice
    mine = add_engine(here, "Heron")
    add_engine(there, "Heron")
    settled(here, there, answer)
    with here.book.reading() as read:
        assert {engine.tag for engine in read.where(Engine)} == tags
        assert (read.get(Engine, mine).tag == "Heron") == answer.startswith("there")


def test_a_new_name_that_is_taken_is_asked_again(twice: Twice) -> None:
    here, there = twice
    add_engine(here, "Heron")
    add_engine(there, "Heron")
    clash = only(merge(here.book, there.book.path).both.open)
    with pytest.raises(Conflict, match="tag exists"):
        merge(here.book, there.book.path, {clash.code: "there:otter"})
    assert merge(here.book, there.book.path).both.open == [clash]


def test_pulls_of_one_number_in_one_session(twice: Twice) -> None:
    here, there = twice
    mine = here.pull(at="2026-03-14T16:00:00Z", notes="mine")
    theirs = there.pull(at="2026-03-14T15:00:00Z", notes="theirs")
    settled(here, there, "renumber")
    assert pull_of(here, theirs.id).number == 2
    assert pull_of(here, mine.id).number == 3, "the later one moves on"


def test_pulls_that_swap_their_numbers_are_no_conflict(twice: Twice) -> None:
    here, there = twice
    second = here.pull()
    merge(there.book, here.book.path)
    with there.book.changing(who="x", what="swapped") as change:
        change.update(Pull, second.id, number=9)
        change.update(Pull, common(there).id, number=2)
        change.update(Pull, second.id, number=1)
    assert merge(here.book, there.book.path).both.clashes == []
    assert pull_of(here, second.id).number == 1
    assert verify(here.book) == []


@pytest.mark.parametrize(("answer", "numbers"), [("both", 2), ("here", 1), ("there", 1)])
def test_one_file_logged_twice(twice: Twice, answer: str, numbers: int) -> None:
    here, there = twice
    for n, shop in enumerate(twice):
        with shop.book.changing(who="x", what="Session") as change:
            source = change.put_source(file(b"x"))
            session = Session(new_id(), shop.engine.id, shop.build.id, shop.cell.id, OPENED)
            change.insert(session)
        shop.pull(source_id=source, session_id=session.id, number=1 + n)
    clash = settled(here, there, answer)
    assert clash.kind == "one file was logged twice"
    rows = here.plain_sql(
        "SELECT count(*) FROM pulls WHERE source_id IS NOT NULL AND withdrawn = 0"
    )
    assert rows == [(numbers,)]


@pytest.mark.parametrize(("first_in_file", "asked"), [(0, 1), (1, 1), (2, 0)])
def test_other_samples_of_one_log_are_another_pull(
    twice: Twice, first_in_file: int, asked: int
) -> None:
    here, there = twice
    for shop, first in ((here, 0), (there, first_in_file)):
        with shop.book.changing(who="x", what="Session") as change:
            source = change.put_source(file(b"x"))
            session = Session(new_id(), shop.engine.id, shop.build.id, shop.cell.id, OPENED)
            change.insert(session)
        pull = shop.pull(source_id=source, session_id=session.id, first_in_file=first)
        with shop.book.changing(who="x", what="Trace") as change:
            values = np.array([301.5, 300.0])
            change.put_trace(pull.id, Trace((Channel("t", "torque", "Nm", values, 1),), 0, 1))
    assert len(merge(here.book, there.book.path).both.open) == asked


def test_files_whose_torque_is_taken_differently(twice: Twice) -> None:
    here, there = twice
    for shop, state in zip(twice, ("observed", "sae-j1349"), strict=True):
        with shop.book.changing(who="x", what="Told") as change:
            change.put_source_kind(SourceKind(new_id(), "rpm;nm", "run.csv", state))
    clash = settled(here, there, "there")
    assert (clash.here, clash.there) == ("observed", "sae-j1349")
    with here.book.reading() as read:
        kind = read.source_kind("rpm;nm")
    assert kind is not None
    assert kind.torque_state == "sae-j1349"


def test_taken_back_in_one_book_and_changed_in_the_other(twice: Twice) -> None:
    here, there = twice
    edit(here, Pull, common(here).id, notes="this one counts")
    with there.book.changing(who="x", what="Taken back") as change:
        change.withdraw(Pull, common(here).id)
    settled(here, there, "here")
    merged = pull_of(here, common(here).id)
    assert not merged.withdrawn
    assert merged.notes == "this one counts"


def test_taken_back_in_one_book_and_in_use_in_the_other(twice: Twice) -> None:
    here, there = twice
    engine = add_engine(here, "Heron")
    merge(there.book, here.book.path)
    with here.book.changing(who="x", what="Taken back") as change:
        for cls in (Session, Build, Engine):
            ids = [one.id for one in change.where(cls) if engine in (
                one.id, getattr(one, "engine_id", ""))]  # fmt: skip
            for one in ids:
                change.withdraw(cls, one)
    with there.book.changing(who="x", what="Opened") as change:
        build = change.where(Build, engine_id=engine)[0]
        change.insert(Session(new_id(), engine, build.id, there.cell.id, OPENED, purpose="late"))
    asked = merge(here.book, there.book.path).both.open
    assert {clash.what for clash in asked} == {"engine Heron", "build as bought of Heron"}
    answers = {clash.code: "bring-back" for clash in asked}
    assert merge(here.book, there.book.path, answers).both.open == []
    assert verify(here.book) == []
    with here.book.reading() as read:
        assert not read.get(Engine, engine).withdrawn


def test_a_value_changed_by_another_program_is_asked(twice: Twice) -> None:
    here, there = twice
    there.plain_sql("UPDATE pulls SET notes = 'by hand'")
    assert settled(here, there, "here").kind == "changed outside the logbook"


@pytest.mark.parametrize(
    ("answers", "said"),
    [({"{}": "perhaps"}, "is no answer to"), ({"0badc0de": "here"}, "there is no conflict")],
)
def test_an_answer_that_fits_nothing_is_refused(
    twice: Twice, answers: dict[str, str], said: str
) -> None:
    here, there = twice
    edit(here, Pull, common(here).id, notes="rich")
    edit(there, Pull, common(here).id, notes="lean")
    code = only(merge(here.book, there.book.path).both.open).code
    with pytest.raises(BadInput, match=said):
        merge(here.book, there.book.path, {k.format(code): v for k, v in answers.items()})


# -- files that are no other book, or are in a state -----------------------------------------


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: None, "there is no book here"),
        (lambda path: path.mkdir(), "this is a folder"),
        (lambda path: path.write_bytes(b""), "this file is empty"),
        (lambda path: path.write_bytes(b"engine,bore\n" * 40), "not a logbook"),
        (lambda path: sqlite3.connect(path).execute("CREATE TABLE recipes (id)"), "not a logbook"),
    ],
)
def test_what_is_no_book_is_refused(
    shop: Shop, tmp_path: Path, make: Callable[[Path], object], said: str
) -> None:
    path = tmp_path / "other.db"
    make(path)
    with pytest.raises(BookTrouble, match=said):
        merge(shop.book, path)


@pytest.mark.parametrize(
    ("sql", "said"),
    [
        ("PRAGMA user_version = 99", "newer version"),
        (
            "DROP TRIGGER channels_no_update; UPDATE channels SET digits = replace(digits,'0','1')",
            "damaged",
        ),
        ("PRAGMA foreign_keys = OFF; UPDATE pulls SET fuel_id = 'nowhere'", "damaged"),
    ],
)
def test_a_newer_or_damaged_book_is_refused_and_left_as_it_is(
    twice: Twice, sql: str, said: str
) -> None:
    here, there = twice
    pull = there.pull()
    with there.book.changing(who="x") as change:
        values = np.array([301.5, 300.0])
        change.put_trace(pull.id, Trace((Channel("t", "torque", "Nm", values, 1),), 0, 1))
    there.book.close()
    with closing(sqlite3.connect(there.book.path)) as db:
        db.executescript(sql)
    before, mine = there.book.path.read_bytes(), held(here.book.path)
    with pytest.raises(BookTrouble, match=said) as refused:
        merge(here.book, there.book.path)
    assert str(there.book.path) in refused.value.sentence
    assert there.book.path.read_bytes() == before
    assert held(here.book.path) == mine


def test_a_torn_book_is_refused(twice: Twice) -> None:
    here, there = twice
    there.book.close()
    content = there.book.path.read_bytes()
    there.book.path.write_bytes(content[: len(content) // 2])
    with pytest.raises(BookTrouble, match="damaged"):
        merge(here.book, there.book.path)


@pytest.mark.parametrize("name", ["shop.db", "link.db", "hard.db"])
def test_a_book_is_not_merged_into_itself(shop: Shop, tmp_path: Path, name: str) -> None:
    (tmp_path / "link.db").symlink_to(shop.book.path)
    os.link(shop.book.path, tmp_path / "hard.db")
    with pytest.raises(Conflict, match="the very book"):
        merge(shop.book, tmp_path / name)


def test_the_other_book_is_only_read(twice: Twice, tmp_path: Path) -> None:
    here, there = twice
    there.pull(notes="quince")
    there.book.close()
    folder = tmp_path / "stick"
    folder.mkdir()
    stick = Path(shutil.copy(there.book.path, folder / "south.db"))
    before = stick.read_bytes()
    merge(here.book, stick)
    assert stick.read_bytes() == before
    assert [file.name for file in folder.iterdir()] == ["south.db"], "nothing is left beside it"


def test_a_book_that_is_open_elsewhere_is_merged_with_what_was_just_logged(twice: Twice) -> None:
    here, there = twice
    pull = there.pull(notes="a moment ago")
    assert there.book.path.with_name("south.db-wal").stat().st_size > 0
    merge(here.book, there.book.path)
    assert pull_of(here, pull.id).notes == "a moment ago"


def test_an_older_book_is_brought_up_in_a_copy(
    twice: Twice, monkeypatch: pytest.MonkeyPatch
) -> None:
    here, there = twice
    pull = there.pull()
    there.book.close()
    here.book.close()
    before = there.book.path.read_bytes()
    step = Migration("2027-01-01-test-step", "for this test", "CREATE TABLE tools (id TEXT);")
    monkeypatch.setattr(migrations, "MIGRATIONS", (*MIGRATIONS, step))
    with Book.open(here.book.path) as book:
        merge(book, there.book.path)
        with book.reading() as read:
            assert read.get(Pull, pull.id) == pull
    assert there.book.path.read_bytes() == before
    assert not list(here.book.path.parent.glob(".merge-*"))


def half_a_merge(here: Shop, there: Shop) -> None:
    with (
        looked_into(there.book.path, beside=here.book.path) as other,
        here.book.changing(who="x") as change,
    ):
        change.merge(plan(change, other, Answers({})), book="x", backup="y")
        raise RuntimeError("the power went")


def test_a_merge_that_breaks_leaves_nothing(twice: Twice) -> None:
    here, there = twice
    there.pull()
    before = held(here.book.path)
    with pytest.raises(RuntimeError, match="the power went"):
        half_a_merge(here, there)
    assert held(here.book.path) == before
    assert verify(here.book) == []
