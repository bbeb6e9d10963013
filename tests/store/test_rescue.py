"""What can be read of a damaged book goes over; what cannot is named; nothing is made up."""

from __future__ import annotations

import json
import random
import sqlite3
from collections.abc import Callable
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest

from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.records.trace import Channel, Source, Trace
from logbook.refusals import BookTrouble, Conflict
from logbook.store import migrations, salvage
from logbook.store.book import Book
from logbook.store.migrations import MIGRATIONS, Migration
from logbook.store.rescue import rescue
from logbook.store.safety import verify
from logbook.store.traces import stored_trace
from tests.store.conftest import OPENED, Shop, timing
from tests.store.joined import held

PULLS = 12
PAGE = 4096


@pytest.fixture(scope="module")
def full(template: Shop, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A closed book of many pulls with traces, files, set-ups, notes and edits."""
    path = tmp_path_factory.mktemp("full") / "shop.db"
    path.write_bytes(template.book.path.read_bytes())
    shop = Shop.__new__(Shop)
    shop.__dict__.update(template.__dict__)
    with Book.open(path) as book:
        shop.book = book
        for n in range(PULLS):
            values = np.round(np.random.default_rng(n).normal(300, 20, 120), 2)
            channels = tuple(Channel(f"c{k}", None, "Nm", values + k, 2) for k in range(4))
            trace = stored_trace(Trace(channels, 1, 118))
            content = f"rpm;nm\n{n}\n".encode() * 400
            if n % 2:  # then the file's numbers are those of its trace
                rows = (";".join(f"{value + k:.2f}" for k in range(4)) for value in values)
                content = "\n".join(("c0;c1;c2;c3", *rows, "")).encode()
            source = Source(
                new_id(), sha256(content).hexdigest(), f"run{n}.csv", OPENED, content, "rpm;nm"
            )
            with book.changing(who="x", what="File") as change:
                change.put_source(source)
            pull = shop.pull(set_up=timing(28 + n % 3), notes=f"note {n} " * 30, oil_c=90.0 + n,
                             source_id=source.id)  # fmt: skip
            with book.changing(who="x", what="Trace") as change:
                change.put_source(source, pull_id=pull.id, trace=trace)
                change.put_trace(pull.id, trace)
                change.update(Pull, pull.id, coolant_c=80.0)
        with book.changing(who="x", what="Baseline") as change:
            first = change.where(Pull)[0].id
            change.update(Session, shop.session.id, baseline=(first,))
    return path


def records(path: Path) -> dict[str, dict[str, str]]:
    """Table → id → everything the row says, but for how it keeps a file."""
    with closing(sqlite3.connect(path)) as db:
        db.row_factory = sqlite3.Row
        how = {"content_zlib": None, "trace_pull_id": None}
        return {
            table: {
                row["id"]: json.dumps(dict(row) | how, sort_keys=True, default=str)
                for row in db.execute(f"SELECT * FROM {table}")
            }
            for table in ("engines", "builds", "sessions", "airs", "pulls", "setups", "sources")
        }


def test_of_a_whole_book_everything_goes_over(full: Path, tmp_path: Path) -> None:
    before = full.read_bytes()
    rescued = rescue(full, tmp_path / "new.db", who="KL")
    assert rescued.lost == ()
    assert rescued.saved["pull"] == PULLS
    assert held(rescued.path) == held(full)
    with closing(sqlite3.connect(rescued.path)) as db:
        kept = list(db.execute("SELECT name FROM sources WHERE trace_pull_id IS NOT NULL"))
    assert len(kept) == PULLS // 2, "outlines over traces that were saved"
    assert full.read_bytes() == before
    assert [file.name for file in tmp_path.iterdir()] == ["new.db"]
    with Book.open(rescued.path) as book:
        assert verify(book) == []
        with book.reading() as read:
            last = read.changes(1)[0]
        assert last.what == "Rescued from shop.db"
        with (
            pytest.raises(Conflict, match="cannot be taken back"),
            book.changing(who="x") as change,
        ):
            change.undo(last.group)


def test_what_was_logged_last_is_still_in_the_log_beside_the_file(
    shop: Shop, tmp_path: Path
) -> None:
    pull = shop.pull(notes="a moment ago")
    assert shop.book.path.with_name("shop.db-wal").stat().st_size > 0
    rescued = rescue(shop.book.path, tmp_path / "new.db", who="KL")
    with Book.open(rescued.path) as book, book.reading() as read:
        assert read.get(Pull, pull.id).notes == "a moment ago"


def test_around_damaged_pages_everything_else_is_saved_and_every_loss_is_named(
    full: Path, tmp_path: Path
) -> None:
    content = full.read_bytes()
    whole = records(full)
    rng = random.Random(20260314)
    saved = 0
    for turn in range(8):
        damaged = bytearray(content)
        for _ in range(3):
            page = rng.randrange(1, len(content) // PAGE)
            damaged[page * PAGE : (page + 1) * PAGE] = rng.randbytes(PAGE)
        path = tmp_path / f"damaged-{turn}.db"
        path.write_bytes(damaged)
        rescued = rescue(path, tmp_path / f"new-{turn}.db", who="KL")
        told = "\n".join(rescued.lost)
        with Book.open(rescued.path) as book:
            assert verify(book) == []
        after = records(rescued.path)
        for table, rows in whole.items():
            for record_id, row in rows.items():
                same = after[table].get(record_id) == row
                assert same or record_id in told, (turn, table, record_id)
        saved += len(after["pulls"])
    assert saved > 4 * PULLS, "damage of three pages leaves most of a book"


@pytest.mark.parametrize("place", [0, 16, 28, 60])
def test_a_damaged_header_costs_nothing(full: Path, tmp_path: Path, place: int) -> None:
    damaged = bytearray(full.read_bytes())
    damaged[place : place + 4] = bytes(255 - byte for byte in damaged[place : place + 4])
    path = tmp_path / "damaged.db"
    path.write_bytes(damaged)
    rescued = rescue(path, tmp_path / "new.db", who="KL")
    assert rescued.lost == ()
    assert held(rescued.path) == held(full)


GONE = [
    ("DELETE FROM engines", "engine {engine}: gone; the stand-in LOST-"),
    ("DELETE FROM builds", "build {build}: gone; the stand-in LOST-"),
    ("DELETE FROM cells", "cell {cell}: gone; the stand-in LOST-"),
    ("DELETE FROM sessions", "session {session}: gone; the stand-in LOST-"),
    ("DELETE FROM setups", "not all of its factors can be read"),
    ("UPDATE setup_levels SET number = 35", "not all of its factors can be read"),
    ("DELETE FROM airs", "its air reading {air} is gone"),
    ("DELETE FROM fuels", "its fuel {fuel} is gone"),
    ("DELETE FROM sources", " is gone"),
    ("UPDATE sources SET content_zlib = x'00'", "its bytes are damaged"),
    ("DELETE FROM traces", "which samples count is gone"),
    ("UPDATE channels SET digits = replace(digits, '1', '2')", "no channel of it is whole"),
    ("DELETE FROM channels WHERE position = 2", "its numbers are those of the trace of pull"),
    ("UPDATE pulls SET knock = 'loud' WHERE number = 2", "damaged (knock is none, heard"),
    ("UPDATE sessions SET baseline = 'x'", "its baseline cannot be read"),
    ("DELETE FROM pulls WHERE number = 1", "a pull of its baseline is gone"),
    ("DELETE FROM audit_changes WHERE number > 5", None),
]


@pytest.mark.parametrize(("sql", "said"), GONE)
def test_what_hung_on_a_lost_record_is_saved(
    full: Path, template: Shop, tmp_path: Path, sql: str, said: str | None
) -> None:
    path = tmp_path / "damaged.db"
    path.write_bytes(full.read_bytes())
    with closing(sqlite3.connect(path)) as db:
        triggers = db.execute("SELECT name FROM sqlite_schema WHERE type = 'trigger'").fetchall()
        for (name,) in triggers:
            db.execute(f"DROP TRIGGER {name}")
        db.executescript(f"PRAGMA ignore_check_constraints = ON; {sql}")
    rescued = rescue(path, tmp_path / "new.db", who="KL")
    if said is not None:
        ids = {name: getattr(template, name).id
               for name in ("engine", "build", "cell", "session", "air", "fuel")}  # fmt: skip
        assert said.format(**ids) in "\n".join(rescued.lost)
    lost_pulls = "pulls" in sql
    with Book.open(rescued.path) as book:
        assert verify(book) == []
        with book.reading() as read:
            pulls = read.where(Pull, order="number")
            assert len(pulls) == PULLS - lost_pulls
            assert [pull.oil_c for pull in pulls][2:] == [92.0 + n for n in range(PULLS - 2)][
                lost_pulls:
            ]
            for pull in pulls:
                read.setup(pull.setup_id)


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda path: None, "there is no book here"),
        (lambda path: path.write_bytes(b"engine,bore\n" * 900), "nothing can be read"),
        (lambda path: path.write_bytes(b""), "nothing can be read"),
        (lambda path: sqlite3.connect(path).execute("CREATE TABLE recipes (id)"), "nothing can be"),
    ],
)
def test_of_what_is_no_book_nothing_is_made(
    tmp_path: Path, make: Callable[[Path], object], said: str
) -> None:
    path = tmp_path / "other.db"
    make(path)
    with pytest.raises(BookTrouble, match=said):
        rescue(path, tmp_path / "new.db", who="KL")
    assert not (tmp_path / "new.db").exists()


def test_an_older_book_is_rescued_too(
    full: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    step = Migration(
        "2031-01-01-later",
        "for this test",
        "ALTER TABLE pulls ADD COLUMN mood TEXT DEFAULT 'good';",
    )
    monkeypatch.setattr(migrations, "MIGRATIONS", (*MIGRATIONS, step))
    monkeypatch.setattr(salvage, "MIGRATIONS", (*MIGRATIONS, step))
    rescued = rescue(full, tmp_path / "new.db", who="KL")
    assert rescued.lost == ()
    with closing(sqlite3.connect(rescued.path)) as db:
        assert db.execute("SELECT DISTINCT mood FROM pulls").fetchall() == [("good",)]


def test_a_newer_book_is_not_damaged(full: Path, tmp_path: Path) -> None:
    path = tmp_path / "newer.db"
    path.write_bytes(full.read_bytes())
    with closing(sqlite3.connect(path)) as db:
        db.executescript(
            "INSERT INTO migrations VALUES (99, '2031-01-01-later', 'x', 'y');"
            "PRAGMA user_version = 99"
        )
    with pytest.raises(BookTrouble, match="newer version"):
        rescue(path, tmp_path / "new.db", who="KL")


def test_nothing_is_overwritten(full: Path, tmp_path: Path) -> None:
    new = tmp_path / "new.db"
    new.write_text("precious")
    with pytest.raises(Conflict, match="a file of this name exists"):
        rescue(full, new, who="KL")
    assert new.read_text() == "precious"
