"""What goes into the book comes out of it, and what may not go in is refused in a sentence."""

from __future__ import annotations

from dataclasses import replace

import pytest

from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine, Fuel
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.setup import Level, SetUp
from logbook.records.trace import Source, SourceKind
from logbook.refusals import BadInput, Conflict, NotFound, Refusal
from tests.store.conftest import OPENED, Shop, score, timing


def test_every_record_comes_back_as_it_went_in(shop: Shop) -> None:
    pull = shop.pull(
        oil_c=92.5, throttle_open=True, alarms=("knock", "lambda"), typed={"oil_c": "198.5 F"},
        notes="zwölf Grad später – plugs ok ✓",
    )  # fmt: skip
    with shop.book.reading() as read:
        assert read.get(Cell, shop.cell.id) == shop.cell
        assert read.get(Engine, shop.engine.id) == shop.engine
        assert read.get(Build, shop.build.id) == shop.build
        assert read.get(Fuel, shop.fuel.id) == shop.fuel
        assert read.get(Session, shop.session.id) == shop.session
        assert read.get(AirReading, shop.air.id) == shop.air
        assert read.get(Pull, pull.id) == pull


def test_where_filters_orders_and_limits(shop: Shop) -> None:
    pulls = [shop.pull(oil_c=float(oil)) for oil in (90, 80, 85)]
    with shop.book.reading() as read:
        assert read.where(Pull, session_id=shop.session.id, order="oil_c") == [
            pulls[1], pulls[2], pulls[0],
        ]  # fmt: skip
        assert read.where(Pull, order="number", descending=True, limit=1) == [pulls[2]]
        assert read.where(Pull, number=[1, 3]) == [pulls[0], pulls[2]]
        assert read.where(Pull, number=[]) == []
        assert read.where(Pull, source_id=None, number=2) == [pulls[1]]
        assert read.find_one(Pull, number=9) is None


def test_a_name_that_is_no_field_never_reaches_the_database(shop: Shop) -> None:
    with shop.book.reading() as read, pytest.raises(TypeError, match="no field"):
        read.where(Pull, order="id; DROP TABLE pulls")


def test_an_unknown_id_is_said(shop: Shop) -> None:
    with shop.book.reading() as read, pytest.raises(NotFound, match="holds no engine nowhere"):
        read.get(Engine, "nowhere")


def test_set_ups_are_found_again_and_read_back_as_written(shop: Shop) -> None:
    typed = SetUp({"Main jet": Level("0.30 mm", 0.3, "mm"), "timing": Level("30", 30.0, "deg")})
    same = SetUp({"timing": Level("30", 30.0, "deg"), "main-jet": Level("0.3 mm", 0.3, "mm")})
    with shop.book.changing(who="M. B.") as change:
        first, again, other = (change.put_setup(s) for s in (typed, typed, same))
        assert first == again
        assert change.setup(first) == typed
        assert list(change.setup(other).levels.items()) == list(same.levels.items())
        assert change.setup(first).fingerprint == change.setup(other).fingerprint
        assert change.setup(change.put_setup(SetUp({}))) == SetUp({})


def test_a_source_file_is_stored_once_byte_for_byte(shop: Shop) -> None:
    content = bytes(range(256)) * 40
    sha256 = "AB" * 32
    source = Source(new_id(), sha256, "run7.csv", OPENED, content, "rpm;torque")
    with shop.book.changing(who="M. B.") as change:
        assert change.put_source(source) == source.id
        assert change.put_source(replace(source, id=new_id(), name="copy.csv")) == source.id
    pull = shop.pull(source_id=source.id)
    with shop.book.reading() as read:
        assert read.source(source.id).content == content
        assert read.pull_of_source(sha256) == pull
    with shop.book.changing(who="M. B.") as change:
        change.withdraw(Pull, pull.id)
    with shop.book.reading() as read:
        assert read.pull_of_source(sha256) is None


def test_the_answer_for_a_kind_of_file_is_remembered_and_may_change(shop: Shop) -> None:
    kind = SourceKind(new_id(), "rpm;torque", "bench export", "observed")
    with shop.book.changing(who="M. B.") as change:
        change.put_source_kind(kind)
        change.put_source_kind(replace(kind, id=new_id(), torque_state="sae-j607"))
    with shop.book.reading() as read:
        found = read.source_kind("rpm;torque")
    assert found is not None
    assert (found.id, found.torque_state) == (kind.id, "sae-j607")


def test_a_failed_change_leaves_nothing(shop: Shop) -> None:
    before = shop.plain_sql("SELECT count(*) FROM audit_fields")

    def fail_halfway() -> None:
        with shop.book.changing(who="M. B.") as change:
            change.insert(Engine(new_id(), "Heron"))
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_halfway()
    with shop.book.reading() as read:
        assert read.find_one(Engine, tag="Heron") is None
    assert shop.plain_sql("SELECT count(*) FROM audit_fields") == before


def test_pull_numbers_are_taken_inside_the_change(shop: Shop) -> None:
    assert [shop.pull().number for _ in range(3)] == [1, 2, 3]


REFUSED = [
    ("station pressure must lie within 50 to 110 kPa", "airs", {"pressure_kpa": 29.92}),
    ("air temperature must lie within", "airs", {"temperature_c": 72.0}),
    ("relative humidity must lie within", "airs", {"humidity": 1.4}),
    ("must not be above dry bulb", "airs", {"humidity_kind": "wet bulb", "humidity": 25.0}),
    ("must not be above dry bulb", "airs", {"humidity_kind": "dew point", "humidity": 25.0}),
    ("one of the known kinds", "airs", {"humidity_kind": "guessed"}),
    ("speed must lie within", "pulls", {"peak_torque_rpm": 30001.0}),
    ("sweep, steady points or typed peaks", "pulls", {"kind": "guess"}),
    ("none, heard or not checked", "pulls", {"knock": "perhaps"}),
    ("UTC time", "pulls", {"at": "yesterday"}),
    ("UTC time", "pulls", {"at": "2026-03-14 15:00"}),
    ("must be a date", "builds", {"built_on": "2026-02-30"}),
    ("numbered from 1", "pulls", {"number": 0}),
    ("open or closed", "sessions", {"status": "ajar"}),
    ("low end must be below", "sessions", {"band_low_rpm": 8000.0}),
    ("two- or four-stroke", "engines", {"strokes": 3}),
    ("timing must lie within", "engines", {"limit_timing_deg": 81.0}),
    ("needs a tag", "engines", {"tag": "  "}),
    ("needs a label", "builds", {"label": ""}),
]


@pytest.mark.parametrize(("said", "table", "fields"), REFUSED)
def test_values_beyond_the_hard_limits_are_refused_by_the_book_itself(
    shop: Shop, said: str, table: str, fields: dict[str, object]
) -> None:
    record, record_id = {
        "airs": (AirReading, shop.air.id),
        "pulls": (Pull, shop.pull().id),
        "sessions": (Session, shop.session.id),
        "engines": (Engine, shop.engine.id),
        "builds": (Build, shop.build.id),
    }[table]
    with pytest.raises(BadInput, match=f"(?i){said}"), shop.book.changing(who="M. B.") as change:
        change.update(record, record_id, **fields)


@pytest.mark.parametrize("value", [float("nan"), float("inf"), float("-inf")])
def test_numbers_that_are_not_finite_are_refused(shop: Shop, value: float) -> None:
    pull = shop.pull()
    with pytest.raises(BadInput, match="not a finite number"), shop.book.changing(who="x") as c:
        c.update(Pull, pull.id, oil_c=value)
    with pytest.raises(BadInput, match="not a finite number"), shop.book.changing(who="x") as c:
        c.put_scores([score(pull.id, value)])


def test_timing_beyond_the_limits_is_refused_in_a_set_up(shop: Shop) -> None:
    with pytest.raises(BadInput, match="-20 to 80"), shop.book.changing(who="x") as change:
        change.put_setup(timing(95))


@pytest.mark.parametrize("field", ["session_id", "setup_id", "air_id", "fuel_id", "source_id"])
def test_a_reference_to_nothing_is_refused(shop: Shop, field: str) -> None:
    pull = shop.pull()
    with pytest.raises(Conflict, match="does not hold"), shop.book.changing(who="x") as change:
        change.update(Pull, pull.id, **{field: new_id()})


def test_a_baseline_names_pulls_of_this_book(shop: Shop) -> None:
    pull = shop.pull()
    with shop.book.changing(who="x") as change:
        change.update(Session, shop.session.id, baseline=(pull.id,))
    assert shop.plain_sql("SELECT pull_id FROM baseline_pulls") == [(pull.id,)]
    with pytest.raises(Conflict, match="does not hold"), shop.book.changing(who="x") as change:
        change.update(Session, shop.session.id, baseline=(new_id(),))


def test_tags_are_unique_among_engines_in_use(shop: Shop) -> None:
    with (
        pytest.raises(Conflict, match="engine with this tag exists"),
        shop.book.changing(who="x") as change,
    ):
        change.insert(Engine(new_id(), "OTTER"))
    with shop.book.changing(who="x") as change:
        other = change.insert(Engine(new_id(), "Heron"))
        change.withdraw(Engine, other)
        change.insert(Engine(new_id(), "Heron"))


def test_text_that_is_not_text_is_stored_without_harm(shop: Shop) -> None:
    notes = "lone \ud800 half, NUL \x00, quote ' and \"; DROP TABLE pulls; --"
    pull = shop.pull(notes=notes)
    with shop.book.reading() as read:
        assert read.get(Pull, pull.id).notes == notes.replace("\ud800", "?")


def test_withdrawn_records_leave_the_lists_but_not_the_book(shop: Shop) -> None:
    pull = shop.pull()
    with shop.book.changing(who="x") as change:
        change.withdraw(Pull, pull.id)
    with shop.book.reading() as read:
        assert read.where(Pull) == []
        assert [p.id for p in read.where(Pull, with_withdrawn=True)] == [pull.id]
        assert read.get(Pull, pull.id).withdrawn


def test_what_others_lean_on_cannot_be_taken_back(shop: Shop) -> None:
    shop.pull()
    for record, record_id in ((Session, shop.session.id), (Engine, shop.engine.id)):
        with pytest.raises(Refusal, match="still belong to it"), shop.book.changing(who="x") as c:
            c.withdraw(record, record_id)
