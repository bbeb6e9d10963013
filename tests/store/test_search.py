"""Any pull is found again: case by case on a small shop, and never an SQL error."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.records.engine import Engine, Fuel
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.setup import Level, SetUp
from logbook.refusals import BadInput
from logbook.store import search
from logbook.store.book import Book
from logbook.store.query import parse_query
from logbook.store.search import count, find
from tests.store.conftest import Shop, timing

NOW = datetime(2026, 3, 20, tzinfo=UTC)


@pytest.fixture(scope="module")
def full(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Shop]:
    """Six pulls: what each holds is what the cases below look for."""
    book = Book.open(tmp_path_factory.mktemp("search") / "shop.db")
    shop = Shop(book)
    race = Fuel(new_id(), "Oxygen blend", batch="B7")
    with book.changing(who="x") as change:
        change.insert(race)
        change.insert(Engine(new_id(), "Otter two", family="hill-climb four"))
    shop.pull(power_kw=140.0, notes="Plugs clean, new rings bedding in", oil_c=88.0)
    shop.pull(power_kw=150.0, set_up=timing(32), notes="rich at the top", knock="none")
    shop.pull(set_up=timing(34), notes="100% rich_er; plugs dark", knock="heard", oil_c=99.0)
    shop.pull(
        power_kw=155.0,
        fuel_id=race.id,
        set_up=SetUp(
            {
                "timing": Level("33.5", 33.5, "deg"),
                "Main jet": Level("70", 70.0),
                "Carburetor": Level("four-barrel 650"),
                "spacer": Level("25 mm", 25.0, "mm"),
                "header": Level("1.75 in", 44.45, "mm"),
                "main air": Level("1,750 rpm", 1750.0, "rpm"),
            }
        ),
        observations="smell of rubber",
    )
    shop.pull(at="2026-03-17T09:00:00Z", excluded_reason="misfire", crankcase_vacuum_kpa=40.0)
    shop.pull(at="2025-11-02T09:00:00Z", kind="typed peaks", notes="señor Müller's jets")
    withdrawn = shop.pull(notes="rich plugs rings")
    with book.changing(who="x") as change:
        change.withdraw(Pull, withdrawn.id)
    yield shop
    book.close()


def numbers(shop: Shop, text: str) -> list[int]:
    query = parse_query(text, now=NOW)
    with shop.book.reading() as read:
        hits = find(read, query)
        assert count(read, query) == len(hits)
    return [hit.number for hit in hits]


CASES = [
    ("", [5, 4, 3, 2, 1, 6]),
    ("plugs", [3, 1]),
    ("PLUG", [3, 1]),
    ("plug*", [3, 1]),
    ("plugs clean", [1]),
    ('"new rings"', [1]),
    ('"rings new"', []),
    ("plugs -dark", [1]),
    ("-plugs", [5, 4, 2, 6]),
    ('-"new rings" -rich', [5, 4, 6]),
    ("muller", [6]),
    ("Müller", [6]),
    ("senor", [6]),
    ("rubber", [4]),
    ("misfire", [5]),
    ("otter", [5, 4, 3, 2, 1, 6]),
    ("engine:otter", [5, 4, 3, 2, 1, 6]),
    ('engine:"Otter two"', []),
    ("engine:heron", []),
    ("-engine:heron", [5, 4, 3, 2, 1, 6]),
    ('owner:"K. L."', [5, 4, 3, 2, 1, 6]),
    ("family:four", [5, 4, 3, 2, 1, 6]),
    ("build:first", [5, 4, 3, 2, 1, 6]),
    ("build:second", []),
    ("cell:north", [5, 4, 3, 2, 1, 6]),
    ("purpose:header", [5, 4, 3, 2, 1, 6]),
    ("operator:M.", [5, 4, 3, 2, 1, 6]),
    ("standard:sae-j1349", [5, 4, 3, 2, 1, 6]),
    ("session:2026-03-14", [5, 4, 3, 2, 1, 6]),
    ("session:2026-03-15", []),
    ("fuel:oxygen", [4]),
    ("fuel:B7", [4]),
    ("-fuel:oxygen", [5, 3, 2, 1, 6]),
    ("note:rich", [3, 2]),
    ("note:100%", [3]),
    ("note:rich_er", [3]),
    ("note:rubber", [4]),
    ("-note:rich", [5, 4, 1, 6]),
    ("knock:heard", [3]),
    ("knock:none", [2]),
    ("knock:not-checked", [5, 4, 1, 6]),
    ("kind:peaks", [6]),
    ("excluded:yes", [5]),
    ("excluded:no", [4, 3, 2, 1, 6]),
    ("number:3", [3]),
    ("number:>=5", [5, 6]),
    ("timing:>32", [4, 3]),
    ("timing:>=32", [4, 3, 2]),
    ("timing:30", [5, 1, 6]),
    ("timing:33.5", [4]),
    ("timing:33", []),
    ("timing:31..33.5", [4, 2]),
    ("-timing:>30", [5, 1, 6]),
    ("main-jet:70", [4]),
    ('"main jet":>=68', [4]),
    # A number without a unit is the figure that was typed, whatever it is stored in.
    ("header:1.75", [4]),
    ("header:1.5..2", [4]),
    ("header:>2", []),
    ("header:>2mm", [4]),
    ("header:44.45", []),
    ("spacer:25", [4]),
    ("spacer:>26", []),
    ('"main air":>1700', [4]),
    ('"main air":<2', []),
    ("carburetor:four", [4]),
    ("carburetor:650", [4]),
    ("spacer:>20mm", [4]),
    ("spacer:1in", []),
    ("spacer:>0.9in", [4]),
    ("power:>145kW", [4, 2]),
    ("power:>200hp", [4, 2]),
    ("-power:>145kW", [5, 3, 1, 6]),
    ("power:140kW", [1]),
    ("torque:285.6Nm", [4, 2, 1]),
    ("oil:>190F", [3, 1]),
    ("oil:>95C", [3]),
    ("vacuum:>10inHg", [5]),
    ("manifold-vacuum:>10inHg", []),
    ("date:2026-03-17", [5]),
    ("date:2025", [6]),
    ("date:2026-03..", [5, 4, 3, 2, 1]),
    ("date:..2026-01", [6]),
    ("-date:2026", [6]),
    ("rich power:>145kW engine:otter -knock:heard", [2]),
    ("blow-by:>1cfm", []),
    ("coolant:>190F", []),
    ("lambda:>0.8", []),
]


@pytest.mark.parametrize(("text", "wanted"), CASES)
def test_what_is_found_newest_first(full: Shop, text: str, wanted: list[int]) -> None:
    assert numbers(full, text) == wanted


@pytest.mark.parametrize(("text", "wanted"), CASES)
def test_the_same_is_found_where_it_is_one_of_many(
    full: Shop, text: str, wanted: list[int], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(search, "_FEW", 0)
    monkeypatch.setattr(search, "_FEW_OF_WORDS", 0)
    assert numbers(full, text) == wanted


def test_a_hit_says_what_the_list_shows(full: Shop) -> None:
    with full.book.reading() as read:
        (hit,) = find(read, parse_query("number:4", now=NOW))
        (plain,) = find(read, parse_query("number:3", now=NOW))
    assert (hit.engine_tag, hit.build, hit.timing_deg) == ("Otter", "first rings", 33.5)
    assert (hit.fuel, hit.power_kw, hit.power_is_band) == ("Oxygen blend", 155.0, True)
    assert (hit.standard, hit.excluded, hit.session_id) == ("sae-j1349", False, full.session.id)
    assert (plain.power_kw, plain.note) == (None, "100% rich_er; plugs dark")


def test_pages_follow_one_another(full: Shop) -> None:
    with full.book.reading() as read:
        every = parse_query("", now=NOW)
        pages = [find(read, every, limit=2, offset=start) for start in (0, 2, 4, 6)]
    assert [[hit.number for hit in page] for page in pages] == [[5, 4], [3, 2], [1, 6], []]


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("enigne:otter", "neither a field nor a factor"),
        ("enigne:otter", "perhaps engine"),
        ("mainjet:70", "perhaps main jet"),
        ("zzzz:1", "one of engine, owner"),
        ("knock:loud", "one of none, heard, not checked"),
        ("excluded:perhaps", "yes or no"),
    ],
)
def test_an_unknown_field_or_choice_is_explained(full: Shop, text: str, said: str) -> None:
    with pytest.raises(BadInput) as refused:
        numbers(full, text)
    assert said in refused.value.sentence


ODDITIES = [
    "'; DROP TABLE pulls; --", "NEAR(a b)", "a AND OR NOT b", "text:x*", "^rich", "{a b}:c",
    "rich + plugs", "(((", "\x00", "\\", "%", "_", "col : x", "a\u0301", "𝔘𝔫𝔦", "½", "é*", "*",
]  # fmt: skip


@pytest.mark.parametrize("text", ODDITIES)
def test_oddities_are_searched_for_or_explained(full: Shop, text: str) -> None:
    with suppress(BadInput):
        numbers(full, text)


@given(text=st.text(max_size=60) | st.text("\":->.<=*() ^+{}\\%'aN0", max_size=30))
def test_anything_typed_is_safe(full: Shop, text: str) -> None:
    with suppress(BadInput):
        numbers(full, text)


def test_the_book_is_only_read(full: Shop, tmp_path: Path) -> None:
    before = full.plain_sql("SELECT count(*) FROM audit_fields")
    numbers(full, "rich")
    assert full.plain_sql("SELECT count(*) FROM audit_fields") == before
