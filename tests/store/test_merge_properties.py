"""On small random books: in any order, any number of times, the result of a merge is the same."""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from logbook.records.air import AirReading
from logbook.records.engine import Engine
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.trace import Channel, Source, SourceKind, Trace
from logbook.refusals import Conflict
from logbook.store.book import Book
from logbook.store.change import Change
from logbook.store.safety import verify
from tests.store.conftest import OPENED, Shop, timing
from tests.store.joined import either_way, held, merge, merge_deciding

COMMON_PULLS = 4
SMALL = settings(
    max_examples=8, suppress_health_check=[HealthCheck.function_scoped_fixture], database=None
)

# One thing that somebody does to a book: a kind of act, and two small numbers.
ACTS = (
    "note",
    "oil",
    "air",
    "owner",
    "pull",
    "shared pull",
    "session",
    "file",
    "kind",
    "take back",
)
act = st.tuples(st.sampled_from(ACTS), st.integers(0, COMMON_PULLS - 1), st.integers(0, 2))
days = st.lists(act, max_size=4)
# Only what cannot clash between books that act apart: every book touches pulls of its own.
calm = st.lists(
    st.tuples(st.sampled_from(("own", "session", "take own back")), st.just(0), st.integers(0, 2)),
    max_size=4,
)


@pytest.fixture(scope="module")
def base(template: Shop, tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """A book that all three cells start from: the shop with some pulls."""
    path = tmp_path_factory.mktemp("base") / "base.db"
    shutil.copy(template.book.path, path)
    shop = Shop.__new__(Shop)
    shop.__dict__.update(template.__dict__)
    with Book.open(path) as book:
        shop.book = book
        for n in range(COMMON_PULLS):
            shop.pull(notes=f"common {n}", typed={"oil_c": "90 C"}, oil_c=90.0)
    return shop


class Cell:
    """One of the machines: its book and how people act on it."""

    def __init__(self, base: Shop, folder: Path, name: str) -> None:
        self.base = base
        self.name = name
        path = folder / f"{name}.db"
        shutil.copy(base.book.path, path)
        self.book = Book.open(path)

    def do(self, acts: list[tuple[str, int, int]]) -> None:
        for what, which, value in acts:
            with self.book.changing(who=self.name, what=f"{what} {value}") as change:
                getattr(self, "_" + what.replace(" ", "_"))(change, which, value)

    def _pulls(self, change: Change) -> list[Pull]:
        return change.where(Pull, session_id=self.base.session.id, with_withdrawn=True)

    def _note(self, change: Change, which: int, value: int) -> None:
        change.update(Pull, self._pulls(change)[which].id, notes=f"note {value}")

    def _own(self, change: Change, which: int, value: int) -> None:
        at = ord(self.name) - ord("a")
        pull = self._pulls(change)[at]
        change.update(Pull, pull.id, notes=f"{self.name} {value}", coolant_c=80.0 + value,
                      typed={**pull.typed, "coolant_c": f"{80 + value} C"})  # fmt: skip

    def _oil(self, change: Change, which: int, value: int) -> None:
        pull = self._pulls(change)[which]
        change.update(
            Pull, pull.id, oil_c=90.0 + value, typed={**pull.typed, "oil_c": f"{90 + value} C"}
        )

    def _air(self, change: Change, which: int, value: int) -> None:
        change.update(AirReading, self.base.air.id, humidity=0.4 + value / 10)

    def _owner(self, change: Change, which: int, value: int) -> None:
        field: dict[str, Any] = {("owner", "family")[which % 2]: f"family {value}"}
        change.update(Engine, self.base.engine.id, **field)

    def _log(self, change: Change, session_id: str, value: int, **fields: Any) -> Pull:
        pull = Pull(
            new_id(), session_id, change.next_number(session_id), f"2026-03-15T1{value}:00:00Z",
            "sweep", change.put_setup(timing(28 + value)), **fields,
        )  # fmt: skip
        change.insert(pull)
        values = np.array([300.0 + value, 301.5])
        change.put_trace(pull.id, Trace((Channel("t", "torque", "Nm", values, 1),), 0, 1))
        return pull

    def _new_session(self, change: Change) -> str:
        session = replace(self.base.session, id=new_id(), purpose=f"{self.name}'s own")
        return change.insert(session)

    def _session(self, change: Change, which: int, value: int) -> None:
        self._log(change, self._new_session(change), value)

    def _pull(self, change: Change, which: int, value: int) -> None:
        own = change.find_one(Session, purpose=f"{self.name}'s own")
        self._log(change, own.id if own else self._new_session(change), value)

    def _shared_pull(self, change: Change, which: int, value: int) -> None:
        self._log(change, self.base.session.id, value)

    def _file(self, change: Change, which: int, value: int) -> None:
        content = f"rpm;nm\n{value}".encode()
        source = Source(
            new_id(), sha256(content).hexdigest(), f"{self.name}.csv", OPENED, content, "rpm;nm"
        )
        if change.pull_of_source(source.sha256) is None:
            self._log(change, self._new_session(change), value, source_id=change.put_source(source))

    def _kind(self, change: Change, which: int, value: int) -> None:
        state = ("observed", "sae-j1349")[which % 2]
        change.put_source_kind(SourceKind(new_id(), f"header {value}", "x.csv", state))

    def _take_back(self, change: Change, which: int, value: int) -> None:
        change.update(Pull, self._pulls(change)[which].id, withdrawn=True)

    def _take_own_back(self, change: Change, which: int, value: int) -> None:
        at = ord(self.name) - ord("a")
        change.update(Pull, self._pulls(change)[at].id, withdrawn=bool(value % 2))


@contextmanager
def cells(base: Shop, *acts: list[tuple[str, int, int]]) -> Iterator[list[Cell]]:
    """Cells a, b, c … that started from one book and have acted apart since."""
    with tempfile.TemporaryDirectory() as folder, ExitStack() as open_books:
        made = [Cell(base, Path(folder), "abc"[n]) for n in range(len(acts))]
        for cell, done in zip(made, acts, strict=True):
            open_books.callback(cell.book.close)
            cell.do(done)
        yield made


@contextmanager
def copied(cell: Cell) -> Iterator[Book]:
    """A copy of a cell's book, to merge into."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "copy.db"
        cell.book.copy_to(path)
        with Book.open(path) as book:
            yield book


@SMALL
@given(a=days, b=days)
def test_whichever_is_merged_into_which(base: Shop, a: Any, b: Any) -> None:
    with cells(base, a, b) as (one, two), copied(one) as here, copied(two) as there:
        asked = merge(here, two.book.path).both.clashes
        mirrored = merge(there, one.book.path).both.clashes
        assert {c.code for c in asked} == {c.code for c in mirrored}
        merge_deciding(here, two.book.path, either_way)
        merge_deciding(there, one.book.path, either_way)
        assert verify(here) == []
        assert verify(there) == []
        assert held(here.path) == held(there.path)


@SMALL
@given(a=days, b=days)
def test_however_often(base: Shop, a: Any, b: Any) -> None:
    with cells(base, a, b) as (one, two), copied(one) as here:
        merge_deciding(here, two.book.path, either_way)
        once = held(here.path)
        assert merge(here, two.book.path).nothing_new
        assert merge(here, one.book.path).nothing_new
        assert held(here.path) == once
        # Brought back, the other machine holds the same and asks nothing.
        back = merge(two.book, here.path)
        assert back.both.clashes == []
        assert held(two.book.path) == once
        assert merge(here, two.book.path).nothing_new


@SMALL
@given(a=calm, b=calm, c=calm)
def test_in_whatever_order(base: Shop, a: Any, b: Any, c: Any) -> None:
    with (
        cells(base, a, b, c) as (one, two, three),
        copied(one) as left, copied(two) as right, copied(one) as alone,
    ):  # fmt: skip
        for other in (two, three):
            assert merge(left, other.book.path).both.open == []
        assert merge(right, three.book.path).both.open == []
        assert merge(alone, right.path).both.open == []
        assert verify(left) == []
        assert held(left.path) == held(alone.path)


@settings(SMALL, max_examples=5)
@given(a=days, b=days, c=days)
def test_in_whatever_order_where_nobody_has_to_decide(base: Shop, a: Any, b: Any, c: Any) -> None:
    with (
        cells(base, a, b, c) as (one, two, three),
        copied(one) as left, copied(two) as right, copied(one) as alone,
    ):  # fmt: skip
        assume(not merge(left, two.book.path).both.open)
        assume(not merge(left, three.book.path).both.open)
        assume(not merge(right, three.book.path).both.open)
        assert merge(alone, right.path).both.open == []
        assert held(left.path) == held(alone.path)


@settings(SMALL, max_examples=5)
@given(a=days, b=days, more=days)
def test_an_edit_made_with_the_other_in_view_is_taken_without_asking(
    base: Shop, a: Any, b: Any, more: Any
) -> None:
    with cells(base, a, b) as (one, two):
        merge_deciding(one.book, two.book.path, either_way)
        try:
            one.do([act for act in more if act[0] != "kind"])
        except Conflict:
            assume(False)
        newest = held(one.book.path)
        back = merge(two.book, one.book.path)
        assert back.both.clashes == []
        assert held(two.book.path) == newest
