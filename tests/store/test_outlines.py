"""A file that is kept as its outline comes back byte for byte, or is named as lost; never else."""

from __future__ import annotations

import json
import os
import signal
import sqlite3
import zlib
from collections.abc import Callable
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import numpy as np
import pytest

from logbook.intake.file import read_bytes
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.trace import Channel, Source, Trace
from logbook.refusals import BookTrouble, Conflict
from logbook.store import sources
from logbook.store.book import Book
from logbook.store.change import Change
from logbook.store.migrations import MIGRATIONS, migrate
from logbook.store.outline import Outline, written
from logbook.store.outlining import outline_of
from logbook.store.rescue import rescue
from logbook.store.safety import verify
from logbook.store.traces import stored_trace
from tests.benchmarks.intake_files import sweep_file
from tests.store.conftest import OPENED, Shop, timing

SWEEP = sweep_file(7, 80)


def cells(text: str, change: Callable[[int, int, str], str]) -> str:
    """The file with every cell but those of the header changed, given its row and column."""
    head, *rows = text.splitlines()
    changed = (
        ",".join(change(at, column, cell) for column, cell in enumerate(row.split(",")))
        for at, row in enumerate(rows)
    )
    return "\n".join((head, *changed, ""))


def trimmed(cell: str) -> str:
    return cell.rstrip("0").rstrip(".") if "." in cell else cell


LIKE = {
    "as it is": SWEEP,
    "lines end as on another system": SWEEP.replace("\n", "\r\n"),
    "no end of the last line": SWEEP.replace("\n", "\r\n")[:-2],
    "nor of this one": SWEEP[:-1],
    "decimal commas": SWEEP.replace(",", ";").replace(".", ","),
    "a comma too many": SWEEP.replace("\n", ",\n"),
    "quoted": cells(SWEEP, lambda row, column, cell: f'"{cell}"'),
    "plus signs": cells(SWEEP, lambda row, column, cell: f"+{cell}"),
    "blanks": SWEEP.replace(",", ",   "),
    "rows counted": cells(SWEEP, lambda row, column, cell: cell if column else f"{row},{cell}")
    .replace("Time", "Row,Time", 1),
    "no zeros at the end": cells(SWEEP, lambda row, column, cell: trimmed(cell)),
    "at least one decimal": cells(
        SWEEP, lambda row, column, cell: text if "." in (text := trimmed(cell)) else f"{text}.0"
    ),
    "a clock": cells(SWEEP, lambda row, column, cell: cell if column else f"14:05:{row:02},{cell}")
    .replace("Time", "Clock,Time", 1),
    "samples missing": cells(
        SWEEP, lambda row, column, cell: "" if column > 4 and row % (column + 3) == 0 else cell
    ),
    "said otherwise now and then": cells(
        SWEEP, lambda row, column, cell: f"{float(cell):.4e}" if (row, column) in ((9, 5), (30, 7))
        else "-0.00" if (row, column) == (12, 0) else cell
    ),
    "long numbers": cells(
        SWEEP, lambda row, column, cell: f"{float(cell) * 10**6:.7f}" if column == 5
        else f"-{cell}" if column == 7 else cell
    ),
    "latin-1 and more lines": "Prüfstand 3\nÖl 96 °C\n\n" + SWEEP + "\nEnde der Datei\n",
}  # fmt: skip


def source_of(content: bytes) -> Source:
    return Source(new_id(), sha256(content).hexdigest(), "run_1.csv", OPENED, content, "12 columns")


def log(shop: Shop, content: bytes, trace: Trace) -> tuple[str, str]:
    """A pull with this file and trace; gives the ids of the pull and of the file."""
    with shop.book.changing(who="x", what="Logged") as change:
        return fill(change, shop, content, trace)


def fill(change: Change, shop: Shop, content: bytes, trace: Trace) -> tuple[str, str]:
    """The same within a change."""
    stored, pull_id = stored_trace(trace), new_id()
    source_id = change.put_source(source_of(content), pull_id=pull_id, trace=stored)
    pull = Pull(
        id=pull_id, session_id=shop.session.id, number=change.next_number(shop.session.id),
        at=OPENED, kind="sweep", setup_id=change.put_setup(timing(30)), source_id=source_id,
    )  # fmt: skip
    change.insert(pull)
    change.put_trace(pull_id, stored)
    return pull_id, source_id


def kept_as(book: Book | Path, source_id: str) -> tuple[int, str | None]:
    """The bytes that a file takes in the book, and the pull that it is outlined over."""
    with closing(sqlite3.connect(book if isinstance(book, Path) else book.path)) as db:
        found: tuple[int, str | None] = db.execute(
            "SELECT length(content_zlib), trace_pull_id FROM sources WHERE id = ?", (source_id,)
        ).fetchone()
    return found


def outlined(shop: Shop) -> tuple[bytes, str, str]:
    """A file kept as its outline: its bytes, the pull's and its own id."""
    content = SWEEP.encode()
    pull_id, source_id = log(shop, content, read_bytes("run_1.csv", content).trace)
    assert kept_as(shop.book, source_id)[1] == pull_id
    return content, pull_id, source_id


@pytest.mark.parametrize("like", LIKE)
def test_a_file_whose_numbers_are_in_the_trace_takes_little_room(shop: Shop, like: str) -> None:
    content = LIKE[like].encode("latin-1")
    pull_id, source_id = log(shop, content, read_bytes("run_1.csv", content).trace)
    size, over = kept_as(shop.book, source_id)
    assert over == pull_id
    assert size < len(content) / 8, f"{size} of {len(content)} bytes"
    with shop.book.reading() as read:
        assert read.source(source_id).content == content
        assert read.source_of_content(sha256(content).hexdigest()) is not None
    assert verify(shop.book) == []


@pytest.mark.parametrize(
    "content",
    [b"\x00\x01\x02" * 900, bytes(range(256)) * 20, b"speed;torque\n" * 300, b"1,2\n" * 4],
    ids=["binary", "every byte", "no numbers", "short"],
)
def test_what_the_trace_does_not_say_is_kept_as_a_copy(shop: Shop, content: bytes) -> None:
    trace = Trace((Channel("Torque", "torque", "Nm", np.linspace(1.0, 9.0, 200), 2),), 0, 199)
    _, source_id = log(shop, content, trace)
    assert kept_as(shop.book, source_id)[1] is None
    with shop.book.reading() as read:
        assert read.source(source_id).content == content


def test_a_waiting_copy_gives_way_to_the_outline_and_stays_one_after_kill_9(shop: Shop) -> None:
    content = SWEEP.encode()
    trace = read_bytes("run_1.csv", content).trace
    with shop.book.changing(who="x", what="Landed") as change:
        source_id = change.put_source(source_of(content))
    before = kept_as(shop.book, source_id)
    assert before[1] is None
    child = os.fork()
    if child == 0:  # pragma: no cover
        with Book.open(shop.book.path) as book, book.changing(who="x", what="Killed") as change:
            fill(change, shop, content, trace)
            (size,) = next(change.rows("SELECT length(content_zlib) FROM sources"))
            os.kill(os.getpid(), signal.SIGKILL if size < before[0] else signal.SIGTERM)
    assert os.WTERMSIG(os.waitpid(child, 0)[1]) == signal.SIGKILL
    assert kept_as(shop.book, source_id) == before
    pull_id, again = log(shop, content, trace)
    assert again == source_id
    size, over = kept_as(shop.book, source_id)
    assert (size < before[0], over) == (True, pull_id)
    with shop.book.reading() as read:
        assert read.source(source_id).content == content
    assert verify(shop.book) == []


def test_a_pull_gets_the_trace_that_its_file_was_outlined_over(shop: Shop) -> None:
    content = SWEEP.encode()
    trace = read_bytes("run_1.csv", content).trace

    def mix_up() -> None:
        with shop.book.changing(who="x", what="Mixed up") as change:
            change.put_source(source_of(content), pull_id="p", trace=stored_trace(trace))
            change.put_trace("p", stored_trace(trace))

    with pytest.raises(RuntimeError, match="another trace of this pull"):
        mix_up()
    with shop.book.reading() as read:
        assert read.source_of_content(sha256(content).hexdigest()) is None


def test_an_outline_without_its_trace_is_never_written(shop: Shop) -> None:
    content = SWEEP.encode()
    stored = stored_trace(read_bytes("run_1.csv", content).trace)
    with (
        pytest.raises(Conflict, match="a record that this book does not hold"),
        shop.book.changing(who="x", what="Half") as change,
    ):
        change.put_source(source_of(content), pull_id=new_id(), trace=stored)
    with shop.book.reading() as read:
        assert read.source_of_content(sha256(content).hexdigest()) is None


@pytest.mark.parametrize(
    "sql",
    [
        "UPDATE sources SET trace_pull_id = NULL",
        "UPDATE sources SET content_zlib = x'00'",
        "UPDATE sources SET trace_pull_id = NULL, content_zlib = zeroblob(9999)",
        "DELETE FROM sources",
        "DELETE FROM traces",
        "UPDATE traces SET pull_id = 'other'",
        "UPDATE traces SET samples = 3",
        "DELETE FROM channels",
        "UPDATE channels SET digits = replace(digits, '1', '2')",
    ],
)
def test_other_programs_cannot_part_an_outline_from_its_trace(shop: Shop, sql: str) -> None:
    content, _, source_id = outlined(shop)
    with pytest.raises(sqlite3.DatabaseError, match="what was measured is kept for ever"):
        shop.plain_sql(sql)
    with shop.book.reading() as read:
        assert read.source(source_id).content == content


@pytest.mark.parametrize(
    "columns",
    [
        "content_zlib = zeroblob(9999), trace_pull_id = '{pull}'",
        "trace_pull_id = '{pull}'",
        "content_zlib = x'00'",
        "content_zlib = x'00', trace_pull_id = '{pull}', name = 'other.csv'",
        "content_zlib = x'00', trace_pull_id = '{pull}', sha256 = upper(sha256)",
        "content_zlib = x'00', trace_pull_id = 'nobody'",
        "content_zlib = x'00', trace_pull_id = '{other}'",
    ],
)
def test_a_copy_gives_way_to_nothing_but_a_smaller_outline(shop: Shop, columns: str) -> None:
    _, other, _ = outlined(shop)
    content = b"another file" * 99
    with shop.book.changing(who="x", what="Landed") as change:
        source_id = change.put_source(source_of(content))
    pull = shop.pull(source_id=source_id)
    trace = Trace((Channel("Torque", "torque", "Nm", np.ones(3), 2),), 0, 2)
    with shop.book.changing(who="x", what="Trace") as change:
        change.put_trace(pull.id, trace)
    said = columns.format(pull=pull.id, other=other)
    with pytest.raises(sqlite3.DatabaseError, match="what was measured is kept for ever"):
        shop.plain_sql(f"UPDATE sources SET {said} WHERE id = ?", source_id)
    with shop.book.reading() as read:
        assert read.source(source_id).content == content


def damaged(shop: Shop, sql: str) -> Path:
    """The closed book with its channels or files spoiled behind its back."""
    shop.book.close()
    with closing(sqlite3.connect(shop.book.path)) as db:
        for name in ("channels_no_update", "channels_no_delete", "sources_no_update"):
            db.execute(f"DROP TRIGGER {name}")
        db.executescript(sql)
    return shop.book.path


def test_a_flipped_digit_is_found_through_the_file_and_its_trace(
    shop: Shop, tmp_path: Path
) -> None:
    _, pull_id, source_id = outlined(shop)
    path = damaged(
        shop,
        "UPDATE channels SET digits = substr(digits, 1, 9) || (9 - substr(digits, 10, 1))"
        " || substr(digits, 11) WHERE name = 'Torque'",
    )
    with Book.open(path) as book:
        told = "\n".join(verify(book))
        assert "source file run_1.csv: its numbers are those of the trace of pull" in told
        assert f"pull {pull_id}: channel Torque is not as it was stored" in told
        with book.reading() as read, pytest.raises(BookTrouble, match=r"run_1\.csv is damaged"):
            read.source(source_id)
    rescued = rescue(path, tmp_path / "new.db", who="KL")
    lost = "\n".join(rescued.lost)
    assert f"channel Torque of pull {pull_id}: damaged" in lost
    assert f"source file run_1.csv, {source_id}: its bytes are damaged" in lost
    assert f"pull {pull_id}: its source file {source_id} is gone" in lost
    with Book.open(rescued.path) as book, book.reading() as read:
        assert read.get(Pull, pull_id).source_id is None
        assert len(read.traces([pull_id])[pull_id].channels) == 11
    with Book.open(rescued.path) as book:
        assert verify(book) == []


@pytest.mark.parametrize("sql", ["", "UPDATE pulls SET knock = 'loud'"], ids=["whole", "no pull"])
def test_a_rescue_saves_an_outlined_file_even_without_its_pull(
    shop: Shop, tmp_path: Path, sql: str
) -> None:
    content, pull_id, source_id = outlined(shop)
    size, _ = kept_as(shop.book, source_id)
    path = damaged(shop, f"PRAGMA ignore_check_constraints = ON; {sql}")
    rescued = rescue(path, tmp_path / "new.db", who="KL")
    assert kept_as(rescued.path, source_id) == ((size, pull_id) if not sql else
                                                (len(sources.copy_of(content)), None))  # fmt: skip
    with Book.open(rescued.path) as book:
        assert verify(book) == []
        with book.reading() as read:
            assert read.source(source_id).content == content


def test_a_book_from_before_outlines_keeps_its_copies(shop: Shop, tmp_path: Path) -> None:
    older = tmp_path / "older.db"
    with closing(sqlite3.connect(older, isolation_level=None)) as db:
        migrate(db, older, steps=len(MIGRATIONS) - 1)
        db.execute(
            "INSERT INTO sources VALUES ('s', ?, 'old.csv', ?, '', ?, ?)",
            (sha256(SWEEP.encode()).hexdigest(), OPENED, len(SWEEP),
             sources.copy_of(SWEEP.encode())),
        )  # fmt: skip
        (old,) = sources.kept(db)
        assert sources.content_of(old, []) == SWEEP.encode()
    with Book.open(older) as book:
        assert verify(book) == []
        assert kept_as(book, "s")[1] is None
        with book.reading() as read:
            assert read.source("s").content == SWEEP.encode()


def test_outlines_that_fit_nothing_are_refused() -> None:
    content = SWEEP.encode()
    channels = stored_trace(read_bytes("run_1.csv", content).trace).channels
    whole = outline_of(content, channels)
    assert whole is not None
    assert written(whole, channels, len(content)) == content
    broken = [
        (whole[:-4], channels), (b"", channels), (b"x" * 40, channels), (whole, channels[:-1]),
        (whole, []), (Outline("\x01" * 9999, "\x01", "\x02", ".", "f").packed(), channels),
        (Outline("\x01", "\x01", "\x01", ".", "f").packed(), channels),
        (Outline("\x01", "\x01", "\x02", "!", "f").packed(), channels),
        (Outline("\x01", "\x01", "\x02", ".", "x").packed(), channels),
        (Outline("\x02" * 999 + "\x01", "\x01", "\x02", ".", "f").packed(), channels),
    ]  # fmt: skip
    for packed, over in broken:
        with pytest.raises(ValueError, match=r"trace|outline|bytes"):
            written(packed, over, len(content))


def test_outlines_are_read_for_ever_as_they_are_written_today() -> None:
    channels = stored_trace(
        Trace(
            (Channel("rpm", None, "", np.array([4000.0, 12050.0]), 0),
             Channel("nm", None, "", np.array([-0.5, 300.25]), 2),
             Channel("x", None, "", np.array([np.nan, 2.0]), 1)),
            0, 1,
        )
    ).channels  # fmt: skip
    even = {"number": "#", "skipped": "~", "point": ",", "printed": "ff", "rows": 2}
    uneven = {"number": "#", "skipped": "~", "point": ".", "printed": "ftr", "rows": None}
    for told, text, content in (
        (even, "a;b\n#;#\r\n", b"a;b\n4000;-0,50\r\n12050;300,25\r\n"),
        (even, "a;b\n#;#\r\n", b"a;b\n4000;-0,50\r\n12050;300,25"),
        (uneven, "#,#,\n~+12 050,#,#\n\xe9", b"4000,-0.5,\n+12 050,300.25,2.0\n\xe9"),
    ):
        packed = zlib.compress(f"{json.dumps(told)}\n{text}".encode("latin-1"))
        assert written(packed, channels, len(content)) == content
