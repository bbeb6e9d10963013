"""The book in a notebook: frames with the figures of the screens."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import logbook
from logbook.cases.desk import open_desk
from logbook.cases.judge import pull_story
from logbook.notebook import OpenLogbook
from logbook.refusals import BadInput, BookTrouble, NotFound, Refusal


@pytest.fixture(scope="module")
def book(built_demo: Path) -> Iterator[OpenLogbook]:
    with logbook.open(built_demo) as opened:
        yield opened


def test_engines_sessions_and_found_pulls_are_the_lists_of_the_screens(book: OpenLogbook) -> None:
    engines = book.engines()
    assert set(engines["tag"]) == {"HC-4A", "HC-4B", "PT-6", "RB-4", "RB-8"}
    sessions = book.sessions("RB-8")
    assert sessions["opened_at"].is_monotonic_decreasing
    assert str(sessions["opened_at"].dt.tz) == "UTC"
    assert sessions["pulls"].sum() == engines.set_index("tag").loc["RB-8", "pulls"]
    found = book.find("engine:RB-8")
    assert len(found) == sessions["pulls"].sum()


def test_a_judged_session_has_the_figures_of_the_screen(
    book: OpenLogbook, built_demo: Path
) -> None:
    judged = book.judged("RB-8/last")
    assert list(judged["Pull"]) == sorted(judged["Pull"])
    row = judged[judged["Verdict"].notna()].iloc[-1]
    desk = open_desk(built_demo, create=False)
    try:
        worth = pull_story(desk, row["Pull id"]).worth
    finally:
        desk.close()
    assert worth is not None
    assert row["Against baseline, kW"] == worth.difference_kw
    assert (row["Interval from, kW"], row["Interval to, kW"]) == worth.interval_kw
    assert row["Verdict"] == worth.verdict
    assert judged["Blow-by, m³/h"].dtype == "float64", "numbers, also where nobody read any"


def test_the_pulls_of_a_query_are_those_that_the_search_box_finds(book: OpenLogbook) -> None:
    pulls = book.pulls("engine:RB-4")
    assert list(pulls["Pull id"]) == list(book.find("engine:RB-4")["pull_id"])


def test_a_trace_has_every_channel_and_the_curve_agrees_with_it(book: OpenLogbook) -> None:
    pull = book.find("engine:RB-8")["pull_id"][0]
    trace, curve = book.trace(pull), book.curve(pull)
    assert {"Engine speed, rpm", "Torque, N·m", "Lambda"} <= set(trace.columns)
    counted = trace[trace["Counts"]]
    assert (
        curve["speed_rpm"]
        .between(counted["Engine speed, rpm"].min() - 50, counted["Engine speed, rpm"].max() + 50)
        .all()
    )
    power = curve["torque_nm"] * curve["speed_rpm"] / 9549.2966
    assert (power - curve["power_kw"]).abs().max() < 1e-3 * curve["power_kw"].max()


def test_the_steps_of_the_ledger_add_up(book: OpenLogbook) -> None:
    steps = book.ledger("RB-8/last")
    assert len(steps)
    assert (steps["worth.low_kw"] < steps["worth.difference_kw"]).all()


def test_plain_sql_reads_and_cannot_write(book: OpenLogbook) -> None:
    counted = book.sql("SELECT engine, count(*) AS pulls FROM corrected_pulls GROUP BY engine")
    assert counted["pulls"].sum() == book.engines()["pulls"].sum()
    assert len(book.sql("SELECT id FROM engines WHERE tag = ?", ["RB-8"])) == 1
    with pytest.raises(BookTrouble):
        book.sql("DELETE FROM pulls")
    with pytest.raises(BadInput):
        book.sql(" ")


def test_what_is_not_there_is_said_in_words(book: OpenLogbook, tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        book.judged("NOBODY/last")
    with pytest.raises(Refusal):
        book.sql("SELEC 1")
    with pytest.raises(BookTrouble):
        logbook.open(tmp_path / "nowhere.db")
    assert not (tmp_path / "nowhere.db").exists()


def test_the_example_of_the_readme_runs(built_demo: Path) -> None:
    readme = (Path(__file__).parents[1] / "README.md").read_text(encoding="utf-8")
    found = re.search(r"```python\n(.*?)```", readme, re.DOTALL)
    assert found
    names: dict[str, object] = {}
    exec(found[1].replace("cell.db", built_demo.as_posix()), names)
    assert all(len(names[name]) for name in ("engines", "late", "session", "curve", "samples"))  # type: ignore[arg-type]
