"""Scores, stamps, totals and the search index are never stale, whoever writes to the book."""

from __future__ import annotations

import sqlite3
from dataclasses import replace

import numpy as np
import pytest

from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.trace import Channel, Source, Trace
from logbook.store.lookups import pulls_without_scores
from logbook.store.overview import engine_rows, session_rows
from logbook.store.safety import verify
from tests.store.conftest import Shop, score

# What another program may change, and whether the corrected figures depend on it.
CHANGES = [
    ("UPDATE pulls SET peak_torque_nm = 301", True),
    ("UPDATE pulls SET torque_state = 'sae-j607'", True),
    ("UPDATE pulls SET air_id = NULL", True),
    ("UPDATE pulls SET fuel_flow_kg_h = 60", True),
    ("UPDATE airs SET pressure_kpa = 98", True),
    ("UPDATE airs SET humidity_kind = 'dew point', humidity = 9", True),
    ("UPDATE sessions SET standard = 'iso-1585'", True),
    ("UPDATE sessions SET band_high_rpm = 7500", True),
    ("UPDATE sessions SET power_source = 'torque'", True),
    ("UPDATE engines SET aspiration = 'boosted'", True),
    ("UPDATE engines SET inertia_kg_m2 = 0.2", True),
    ("UPDATE cells SET inertia_kg_m2 = 3.5", True),
    ("UPDATE pulls SET excluded_reason = 'misfire'", False),
    ("UPDATE pulls SET oil_c = 101", False),
    ("UPDATE sessions SET worth_having_percent = 1", False),
    ("UPDATE fuels SET stoichiometric_ratio = 14", False),
    ("UPDATE engines SET ready_oil_low_c = 80", False),
]


@pytest.mark.parametrize(("sql", "of_score"), CHANGES)
def test_a_change_by_any_program_bumps_the_stamp_and_deletes_stale_scores(
    shop: Shop, sql: str, of_score: bool
) -> None:
    pull = shop.pull(power_kw=100.0)
    before = shop.stamp()
    shop.plain_sql(sql)
    assert shop.stamp() > before
    with shop.book.reading() as read:
        assert (read.score(pull.id) is None) == of_score
        missing = [(shop.session.id, pull.id)] if of_score else []
        assert pulls_without_scores(read, 1) == missing
    assert verify(shop.book) == []


def test_a_trace_deletes_the_score_and_bumps_the_stamp(shop: Shop) -> None:
    pull = shop.pull(power_kw=100.0)
    before = shop.stamp()
    with shop.book.changing(who="x") as change:
        change.put_trace(pull.id, Trace((Channel("rpm", None, "rpm", np.ones(3), 0),), 0, 2))
    with shop.book.reading() as read:
        assert read.score(pull.id) is None
    assert shop.stamp() > before


def test_scores_of_another_version_are_to_be_made_again(shop: Shop) -> None:
    pull = shop.pull(power_kw=100.0)
    with shop.book.reading() as read:
        assert pulls_without_scores(read, 1) == []
        assert pulls_without_scores(read, 2) == [(shop.session.id, pull.id)]


def test_a_session_measured_from_another_ones_pull_is_stamped_with_it(shop: Shop) -> None:
    reference = shop.pull()
    other = replace(shop.session, id=new_id(), baseline=(reference.id,))
    with shop.book.changing(who="x") as change:
        change.insert(other)
    with shop.book.reading() as read:
        before = read.stamp(other.id)
    with shop.book.changing(who="x") as change:
        change.update(Pull, reference.id, excluded_reason="cold oil")
    with shop.book.reading() as read:
        assert read.stamp(other.id) > before


def test_reading_and_searching_leave_the_stamp_alone(shop: Shop) -> None:
    pull = shop.pull(power_kw=100.0)
    before = shop.stamp()
    with shop.book.reading() as read:
        read.score(pull.id)
    with shop.book.changing(who="x") as change:
        change.put_scores([score(pull.id, 101.0)])
        change.update(Pull, pull.id, notes=pull.notes)
    assert shop.stamp() == before


def test_totals_follow_pulls_scores_and_exclusions(shop: Shop) -> None:
    def line() -> tuple[int, float | None]:
        with shop.book.reading() as read:
            (row,), (engine,) = session_rows(read), engine_rows(read)
            assert (engine.pulls, engine.best_power_kw) == (row.pulls, row.best_power_kw)
            return row.pulls, row.best_power_kw

    assert line() == (0, None)
    shop.pull(power_kw=100.0)
    best = shop.pull(power_kw=110.0)
    assert line() == (2, 110.0)
    with shop.book.changing(who="x") as change:
        change.update(Pull, best.id, excluded_reason="misfire")
    assert line() == (2, 100.0)
    with shop.book.changing(who="x") as change:
        change.withdraw(Pull, best.id)
    assert line() == (1, 100.0)
    with shop.book.changing(who="x") as change:
        change.update(Session, shop.session.id, standard="iso-1585")
    assert line() == (1, None)


# What another program may change, and a word that must be found by it at once.
SEARCHED = [
    ("UPDATE pulls SET notes = 'quince'", "quince"),
    ("UPDATE pulls SET observations = 'quince smell'", "quince"),
    ("UPDATE pulls SET alarms = '[\"quince\"]'", "quince"),
    ("UPDATE pulls SET excluded_reason = 'quince'", "quince"),
    ("UPDATE sessions SET purpose = 'quince'", "quince"),
    ("UPDATE sessions SET operator = 'Q. U.'", "q. u"),
    ("UPDATE sessions SET exhaust = 'quince muffler'", "quince"),
    ("UPDATE engines SET tag = 'Quince'", "quince"),
    ("UPDATE engines SET owner = 'Quince'", "quince"),
    ("UPDATE builds SET label = 'quince rings'", "quince"),
    ("UPDATE fuels SET batch = 'quince drum'", "quince"),
    (
        "INSERT INTO setup_levels (setup_id, position, factor, factor_key, text)"
        " SELECT id, 9, 'plug', 'plug', 'quince' FROM setups",
        "quince",
    ),
]


@pytest.mark.parametrize(("sql", "word"), SEARCHED)
def test_the_search_index_follows_any_program(shop: Shop, sql: str, word: str) -> None:
    pull = shop.pull(notes="plum")
    found = (
        "SELECT d.pull_id FROM search_index x JOIN search_documents d ON d.docid = x.rowid"
        " WHERE search_index MATCH ?"
    )
    assert shop.plain_sql(found, f'"{word}"') == []
    shop.plain_sql(sql)
    assert shop.plain_sql(found, f'"{word}"') == [(pull.id,)]
    assert [line for line in verify(shop.book) if "set-up" not in line] == []


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE setup_levels SET text = '31'",
        "DELETE FROM setup_levels",
        "UPDATE setups SET fingerprint = 'x'",
        "UPDATE channels SET digits = replace(digits, '1', '2')",
        "DELETE FROM traces",
        "UPDATE sources SET name = 'other.csv'",
    ],
)
def test_what_was_set_or_measured_is_never_edited(shop: Shop, sql: str) -> None:
    pull = shop.pull()
    with shop.book.changing(who="x") as change:
        change.put_source(Source(new_id(), "ab" * 32, "run.csv", pull.at, b"rpm", "rpm"))
        change.put_trace(pull.id, Trace((Channel("rpm", None, "rpm", np.ones(3), 0),), 0, 2))
    with pytest.raises(sqlite3.IntegrityError, match=r"never edited|kept for ever"):
        shop.plain_sql(sql)


def test_a_pull_moved_in_time_moves_in_the_index(shop: Shop) -> None:
    first, second = shop.pull(), shop.pull()
    shop.plain_sql("UPDATE pulls SET at = '2026-03-15T09:00:00Z' WHERE id = ?", first.id)
    order = shop.plain_sql("SELECT pull_id FROM search_documents ORDER BY docid DESC")
    assert order == [(first.id,), (second.id,)]
    assert verify(shop.book) == []


def test_pulls_of_the_same_second_are_all_searched(shop: Shop) -> None:
    pulls = [shop.pull(at="2026-03-15T09:00:00Z") for _ in range(4)]
    order = shop.plain_sql("SELECT pull_id FROM search_documents ORDER BY docid")
    assert order == [(pull.id,) for pull in pulls]


def test_a_withdrawn_pull_is_not_searched_until_it_comes_back(shop: Shop) -> None:
    pull = shop.pull()
    with shop.book.changing(who="x") as change:
        change.withdraw(Pull, pull.id)
    assert shop.plain_sql("SELECT count(*) FROM search_documents") == [(0,)]
    with shop.book.changing(who="x") as change:
        change.update(Pull, pull.id, withdrawn=False)
    assert shop.plain_sql("SELECT count(*) FROM search_documents") == [(1,)]
    assert verify(shop.book) == []
