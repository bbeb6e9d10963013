"""The generated books that everything is measured on are whole books."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.cases import finding, safety
from logbook.cases.desk import open_desk
from logbook.cases.engines import list_engines
from tests.benchmarks.big_book import fill


@pytest.mark.parametrize("traces", [True, False])
def test_a_generated_book_is_whole(tmp_path: Path, traces: bool) -> None:
    fill(tmp_path / "book.db", 45, traces=traces)
    desk = open_desk(tmp_path / "book.db", who="test")
    assert safety.verify(desk) == []
    assert sum(engine.pulls for engine in list_engines(desk)) == 45
    assert finding.count(desk, "plug") > 0
    with desk.book.reading() as read:
        samples = next(read.rows("SELECT count(*), min(samples), max(samples) FROM traces"))
        assert samples == ((45, 300, 300) if traces else (0, None, None))
    desk.close()
