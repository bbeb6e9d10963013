"""The lists: engines and sessions a page at a time."""

from __future__ import annotations

from dataclasses import replace

from logbook.records.engine import Build, Engine
from logbook.records.ids import new_id
from logbook.records.session import Session
from logbook.store.overview import engine_rows, session_rows
from tests.store.conftest import Shop


def test_engines_never_run_come_first_then_the_last_session(shop: Shop) -> None:
    heron, wren = Engine(new_id(), "Heron"), Engine(new_id(), "Wren")
    build = Build(new_id(), heron.id, "as received")
    later = replace(
        shop.session, id=new_id(), engine_id=heron.id, build_id=build.id,
        opened_at="2026-04-01T09:00:00Z", status="closed",
    )  # fmt: skip
    with shop.book.changing(who="x") as change:
        for record in (heron, wren, build, later):
            change.insert(record)
    shop.pull(power_kw=120.0)
    with shop.book.reading() as read:
        rows = engine_rows(read)
        assert [row.tag for row in rows] == ["Wren", "Heron", "Otter"]
        assert [row.tag for row in engine_rows(read, limit=1, offset=1)] == ["Heron"]
    otter = rows[2]
    assert (otter.build, otter.sessions, otter.pulls) == ("first rings", 1, 1)
    assert (otter.last_session_at, otter.open_session_id) == (
        shop.session.opened_at, shop.session.id,
    )  # fmt: skip
    assert (otter.best_power_kw, otter.best_standard) == (120.0, "sae-j1349")
    assert (rows[0].sessions, rows[0].last_session_at, rows[0].best_power_kw) == (0, None, None)
    assert rows[1].open_session_id is None


def test_the_best_power_is_under_the_standard_the_engine_runs_under_now(shop: Shop) -> None:
    shop.pull(power_kw=120.0)
    earlier = replace(
        shop.session, id=new_id(), standard="sae-j607", opened_at="2020-01-01T09:00:00Z"
    )
    with shop.book.changing(who="x") as change:
        change.insert(earlier)
    shop.session = earlier
    shop.pull(power_kw=125.0)
    with shop.book.reading() as read:
        (row,) = engine_rows(read)
    assert (row.best_power_kw, row.best_standard) == (120.0, "sae-j1349")


def test_sessions_are_listed_newest_first(shop: Shop) -> None:
    shop.pull(power_kw=120.0)
    later = replace(shop.session, id=new_id(), opened_at="2026-04-01T09:00:00Z", purpose="timing")
    gone = replace(shop.session, id=new_id(), opened_at="2026-05-01T09:00:00Z")
    with shop.book.changing(who="x") as change:
        change.insert(later)
        change.insert(gone)
        change.withdraw(Session, gone.id)
    with shop.book.reading() as read:
        rows = session_rows(read, shop.engine.id)
        assert rows == session_rows(read)
        assert session_rows(read, new_id()) == []
        assert session_rows(read, limit=1, offset=1) == rows[1:]
    assert [(row.purpose, row.pulls, row.best_power_kw) for row in rows] == [
        ("timing", 0, None), ("new header", 1, 120.0),
    ]  # fmt: skip


def test_no_list_visits_every_pull(shop: Shop) -> None:
    """The plans of the lists touch sessions and their totals, never the pulls themselves."""
    from logbook.store import glance, overview

    for sql in (glance.ENGINES, overview._SESSIONS.format(of_engine="")):
        plan = shop.plain_sql(f"EXPLAIN QUERY PLAN {sql}", 200, 0)
        assert not [step for *_, step in plan if "pulls" in step]
