"""Any SQLite program can read the book: the README's queries, tried in SQLite and in Datasette."""

from __future__ import annotations

import json
import re
import shutil
import sqlite3
import subprocess
import sys
from pathlib import Path

import pytest

from logbook.cases import judge, sessions
from logbook.cases.desk import open_desk

README = Path(__file__).parents[2] / "README.md"


def documented_queries() -> list[str]:
    """The SQL blocks of the README, in order."""
    return re.findall(r"```sql\n(.*?)```", README.read_text(), flags=re.DOTALL)


@pytest.mark.parametrize("query", documented_queries())
def test_the_documented_queries_answer_from_the_demo_book(query: str, demo_book_path: Path) -> None:
    with sqlite3.connect(demo_book_path) as book:
        assert book.execute(query).fetchmany(3)


def test_corrected_band_power_in_plain_sql_is_what_the_logbook_shows(demo_book_path: Path) -> None:
    with sqlite3.connect(demo_book_path) as book:
        by_sql = dict(
            book.execute(
                "SELECT pull_number, corrected_band_power_kw FROM corrected_pulls"
                " WHERE engine = 'RB-8' AND session_date = '2026-11-14'"
            ).fetchall()
        )
    desk = open_desk(demo_book_path)
    view = judge.session_view(desk, sessions.find_session(desk, "RB-8/2026-11-14").id)
    desk.close()
    shown = {row.pull.number: row.score.corrected.band_power_kw for row in view.rows if row.score}
    assert by_sql == shown


def test_the_sqlite_shell_opens_the_book(demo_book_path: Path) -> None:
    shell = shutil.which("sqlite3")
    if shell is None:
        pytest.skip("the sqlite3 shell is not installed here")
    done = subprocess.run(
        [shell, str(demo_book_path), documented_queries()[0]],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    assert "RB-8" in done.stdout


def test_datasette_opens_the_book_and_answers_a_documented_query(demo_book_path: Path) -> None:
    from urllib.parse import urlencode

    place = f"/{demo_book_path.stem}.json?{urlencode({'sql': documented_queries()[0]})}"
    done = subprocess.run(
        [sys.executable, "-m", "datasette", str(demo_book_path), "--get", place],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    answer = json.loads(done.stdout)
    assert answer["ok"]
    assert len(answer["rows"]) > 1


def test_every_table_names_what_it_refers_to(demo_book_path: Path) -> None:
    with sqlite3.connect(demo_book_path) as book:
        for table, column, target in (
            ("pulls", "session_id", "sessions"),
            ("sessions", "engine_id", "engines"),
            ("builds", "engine_id", "engines"),
        ):
            links = book.execute(f"PRAGMA foreign_key_list({table})").fetchall()
            assert (target, column) in {(link[2], link[3]) for link in links}
