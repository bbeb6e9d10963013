"""What was written into a table file is what is read out of it, value and type."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from logbook.store.archive import ANY, NUMBER, TEXT, WHOLE, Column
from logbook.store.archive_formats import CSV, FORMS, PARQUET, read_table, write_table

COLUMNS = (Column("t", TEXT), Column("=w", WHOLE), Column("'n", NUMBER), Column("a", ANY),
           Column("d", NUMBER, decimals=2))  # fmt: skip
texts = st.text(st.characters(codec="utf-8"), max_size=20) | st.sampled_from(
    ["", "'", "''", "0", "1_000", "+2", "1e3", "inf", "nan", "=1", "\\u0041", "\r\n", "\t", "None"]
)
wholes = st.integers(-(2**63), 2**63 - 1)
numbers = st.floats(allow_nan=False, allow_infinity=False)
rows = st.lists(
    st.tuples(
        texts | st.none(), wholes | st.none(), numbers | st.none(),
        texts | wholes | numbers | st.none(),
        st.integers(-(10**12), 10**12).map(lambda n: n / 100) | st.none(),
    ),
    max_size=4,
)  # fmt: skip


@pytest.mark.parametrize("form", FORMS)
def test_values_come_back(form: str, tmp_path_factory: pytest.TempPathFactory) -> None:
    path = tmp_path_factory.mktemp(form) / "table"

    @settings(max_examples=25 if form == PARQUET else 100)
    @given(rows)
    def come_back(given_rows: list[tuple[object, ...]]) -> None:
        assert write_table(form, path, COLUMNS, given_rows) == len(given_rows)
        with path.open("rb") as file:
            found = list(read_table(form, file, "table"))
        names = [column.name for column in COLUMNS]
        assert [list(row) for row in found] == [names] * len(given_rows)
        for row, given_row in zip(found, given_rows, strict=True):
            assert list(map(repr, row.values())) == list(map(repr, given_row))

    come_back()


def test_a_channel_stands_there_as_it_was_printed(tmp_path: Path) -> None:
    path = tmp_path / "t.csv"
    columns = (Column("rpm", NUMBER, decimals=0), Column("torque", NUMBER, decimals=2))
    write_table(CSV, path, columns, [(4000.0, 300.4), (None, 0.1)])
    assert path.read_text() == "rpm,torque\n4000,300.40\n,0.10\n"
