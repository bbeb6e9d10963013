"""The book is open: plain sqlite3, Datasette and pandas read it with readable names."""

from __future__ import annotations

import csv
import shutil
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import fields
from pathlib import Path

import numpy as np
import pytest

from logbook.records.trace import Channel, Trace
from logbook.store.tables import TABLES
from tests.store.conftest import Shop, score, timing

# Corrected band power by pull, as the manual shows it.
QUERY = (
    "SELECT engine, session_date, pull_number, timing_deg, standard, corrected_band_power_kw"
    " FROM corrected_pulls WHERE excluded_reason IS NULL ORDER BY at"
)
WANTED = [
    ("Otter", "2026-03-14", 1, 30.0, "sae-j1349", 100.0),
    ("Otter", "2026-03-14", 2, 32.0, "sae-j1349", 102.5),
]


@pytest.fixture
def told(shop: Shop) -> Shop:
    """Three pulls, one excluded; the second with a trace."""
    shop.pull(power_kw=100.0)
    pull = shop.pull(power_kw=102.5, set_up=timing(32, plug="cold"))
    shop.pull(power_kw=90.0, excluded_reason="misfire")
    torque = Channel("Torque", "torque", "Nm", np.array([300.5, np.nan, 310.0]), 1, "N·m")
    with shop.book.changing(who="x") as change:
        change.put_trace(pull.id, Trace((torque,), 0, 2))
        change.put_scores([score(pull.id, 102.5)])
    return shop


def test_corrected_band_power_by_pull(told: Shop) -> None:
    assert told.plain_sql(QUERY) == WANTED


@pytest.mark.skipif(shutil.which("sqlite3") is None, reason="no sqlite3 program here")
def test_the_sqlite3_program_reads_the_views(told: Shop) -> None:
    done = subprocess.run(
        ["sqlite3", "-readonly", "-csv", str(told.book.path), QUERY, "SELECT * FROM trace_points"],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    lines = list(csv.reader(done.stdout.splitlines()))
    assert lines[1] == ["Otter", "2026-03-14", "2", "32.0", "sae-j1349", "102.5"]
    assert [line[4:] for line in lines[2:]] == [
        ["0", "300.5", "300.5", "N·m"],
        ["1", "", "", "N·m"],
        ["2", "310.0", "310.0", "N·m"],
    ]


async def test_datasette_shows_the_views_and_follows_the_references(told: Shop) -> None:
    app = pytest.importorskip("datasette.app").Datasette([str(told.book.path)])
    await app.invoke_startup()
    rows = (await app.client.get("/shop/corrected_pulls.json?_shape=array")).json()
    assert [row["corrected_band_power_kw"] for row in rows] == [100.0, 102.5, 90.0]
    points = (await app.client.get("/shop/trace_points.json?_shape=array")).json()
    assert [point["value"] for point in points] == [300.5, None, 310.0]
    for page in ("set_up_levels", "audit_trail", "pulls", "channels", "search_documents"):
        assert (await app.client.get(f"/shop/{page}")).status_code == 200
    pulls = (await app.client.get("/shop/pulls.json?_shape=array&_labels=on")).json()
    assert pulls[0]["fuel_id"]["label"] == "Pump 98"


def test_pandas_reads_a_trace_by_its_pull(told: Shop) -> None:
    pandas = pytest.importorskip("pandas")
    with closing(sqlite3.connect(told.book.path)) as db:
        frame = pandas.read_sql(
            "SELECT t.* FROM trace_points t JOIN pulls p ON p.id = t.pull_id WHERE p.number = 2", db
        )
    assert frame["si_value"].tolist()[::2] == [300.5, 310.0]


def test_columns_are_the_records_fields(told: Shop) -> None:
    for record, table in TABLES.items():
        columns = {row[1] for row in told.plain_sql(f"PRAGMA table_info({table.name})")}
        assert {field.name for field in fields(record)} <= columns


def test_every_field_that_ends_in_id_is_a_foreign_key(told: Shop) -> None:
    tables = [row[0] for row in told.plain_sql("SELECT name FROM sqlite_schema WHERE type='table'")]
    for table in tables:
        linked = {row[3] for row in told.plain_sql(f"PRAGMA foreign_key_list({table})")}
        columns = {row[1] for row in told.plain_sql(f"PRAGMA table_info({table})")}
        # The audit trail names records of every table.
        wanted = {name for name in columns if name.endswith("_id")} - {"record_id"}
        assert wanted <= linked, table


def test_opening_a_book_loads_nothing_heavy(told: Shop) -> None:
    code = (
        "import sys; from pathlib import Path; from logbook.store.book import Book\n"
        "from logbook.store import overview, search, query, safety\n"
        f"with Book.open(Path({str(told.book.path)!r})) as b, b.reading() as read:\n"
        "    assert overview.engine_rows(read)\n"
        "print(sorted({'numpy', 'pandas', 'pint', 'scipy', 'sqlite_utils', 'textual'}"
        " & set(sys.modules)))"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip
    assert done.stdout.strip() == "[]"
