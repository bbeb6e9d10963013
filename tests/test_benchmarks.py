"""The one command that measures everything: its parts are there, and misses are said."""

from __future__ import annotations

from importlib.util import find_spec
from pathlib import Path

import pytest

from tests.benchmarks.__main__ import parts_of
from tests.benchmarks.figures import KEPT, figure, kept_in


def test_every_part_is_a_benchmark_that_is_there() -> None:
    parts = parts_of(Path("book.db"), Path("past.db"), 1.0)
    for module, *_ in parts.values():
        assert find_spec(f"tests.benchmarks.{module}") is not None


def test_a_figure_is_printed_beside_its_aim_and_kept_for_the_table(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    kept = tmp_path / "figures.jsonl"
    monkeypatch.setenv(KEPT, str(kept))
    figure("first screen", 1.304, 1.3)
    figure("book", 1.46, 1.1)
    figure("slowest search", 18.3, 50, "ms")
    met, missed, search = capsys.readouterr().out.splitlines()
    assert met.split() == ["first", "screen", "1.30", "×", "aim", "1.3"]
    assert missed.split()[-1] == "missed"
    assert search.split()[-4:] == ["18", "ms", "aim", "50"]
    assert [one.line() for one in kept_in(kept)] == [met, missed, search]
