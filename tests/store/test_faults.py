"""What a shop floor does to a book: power cuts, full disks, wrong folders, damaged pages.

Whatever was acknowledged is still there afterwards, value by value, and whatever goes wrong
is said in a sentence with what to do about it.
"""

from __future__ import annotations

import json
import os
import random
import resource
import shutil
import signal
import sqlite3
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path

import numpy as np
import pytest

from logbook.records.engine import Engine
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.trace import Channel, Trace
from logbook.refusals import BookTrouble, Refusal
from logbook.store import trouble
from logbook.store.book import Book
from logbook.store.safety import backup, verify
from logbook.store.trouble import Interrupted, file_system
from tests.store.conftest import Shop

# Another process that logs pulls with a trace and says on stdout what was acknowledged.
WRITER = """
import json, sys
from pathlib import Path
import numpy as np
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.trace import Channel, Trace
from logbook.store.book import Book

path, session_id, setup_id, many, seed = Path(sys.argv[1]), *sys.argv[2:]
with Book.open(path, create=False, busy_seconds=30) as book:
    for n in range(int(many)):
        rng = np.random.default_rng([int(seed), n])
        values = np.round(rng.normal(300, 20, 200), 2)
        with book.changing(who="w" + seed, what="logged") as change:
            pull = Pull(new_id(), session_id, change.next_number(session_id),
                        "2026-03-14T15:00:00Z", "sweep", setup_id, oil_c=float(values[0]),
                        notes=f"writer {seed} pull {n}")
            change.insert(pull)
            change.put_trace(pull.id, Trace((Channel("t", "torque", "Nm", values, 2),), 0, 199))
        print(json.dumps([pull.id, pull.number, n, pull.oil_c]), flush=True)
"""


def start_writer(shop: Shop, many: int, seed: int) -> subprocess.Popen[str]:
    setup_id = shop.plain_sql("SELECT id FROM setups LIMIT 1")[0][0]
    return subprocess.Popen(
        [
            sys.executable, "-c", WRITER, str(shop.book.path), shop.session.id, setup_id,
            str(many), str(seed),
        ],
        stdout=subprocess.PIPE,
        text=True,
        cwd=Path(__file__).parents[2],
    )  # fmt: skip


def check_acknowledged(book: Book, seed: int, lines: list[str]) -> None:
    """Every acknowledged pull is there with the very values it was given."""
    with book.reading() as read:
        for pull_id, number, n, oil_c in map(json.loads, lines):
            pull, trace = read.get(Pull, pull_id), read.trace(pull_id)
            wanted = np.round(np.random.default_rng([seed, n]).normal(300, 20, 200), 2)
            assert (pull.number, pull.oil_c, pull.notes) == (
                number, oil_c, f"writer {seed} pull {n}",
            )  # fmt: skip
            assert trace is not None
            assert np.array_equal(trace.channels[0].values, wanted)


@pytest.mark.parametrize("acknowledged", [1, 4, 9])
def test_nothing_acknowledged_is_lost_to_kill_9(shop: Shop, acknowledged: int) -> None:
    shop.pull()
    process = start_writer(shop, 10_000, seed=acknowledged)
    assert process.stdout is not None
    lines = [process.stdout.readline() for _ in range(acknowledged)]
    process.send_signal(signal.SIGKILL)
    lines += process.stdout.readlines()
    process.wait()
    process.stdout.close()
    shop.book.close()
    with Book.open(shop.book.path, create=False) as book:
        check_acknowledged(book, acknowledged, [line for line in lines if line.endswith("\n")])
        assert verify(book) == []
        with book.reading() as read:
            # At most the one that was being written when the power went.
            assert len(read.where(Pull)) - 1 - len(lines) in (0, 1)


def test_two_programs_that_log_at_once_lose_nothing_and_share_the_numbers(shop: Shop) -> None:
    shop.pull()
    writers = [start_writer(shop, 50, seed) for seed in (1, 2)]
    said = [writer.communicate()[0].splitlines() for writer in writers]
    assert [len(lines) for lines in said] == [50, 50]
    for seed, lines in zip((1, 2), said, strict=True):
        check_acknowledged(shop.book, seed, lines)
    with shop.book.reading() as read:
        assert [pull.number for pull in read.where(Pull, order="number")] == list(range(1, 102))
    assert verify(shop.book) == []


def test_threads_that_log_at_once_take_turns(shop: Shop) -> None:
    threads = [threading.Thread(target=lambda: [shop.pull() for _ in range(10)]) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with shop.book.reading() as read:
        assert [pull.number for pull in read.where(Pull, order="number")] == list(range(1, 41))


def test_a_reader_sees_one_moment_while_somebody_writes(shop: Shop) -> None:
    shop.pull()
    with shop.book.reading() as read:
        assert len(read.where(Pull)) == 1
        writer = threading.Thread(target=shop.pull)
        writer.start()
        writer.join()
        assert len(read.where(Pull)) == 1
    with shop.book.reading() as read:
        assert len(read.where(Pull)) == 2


def test_a_superseded_query_is_stopped(shop: Shop) -> None:
    stopped: list[Exception] = []
    started = threading.Event()

    def read_for_long() -> None:
        try:
            with shop.book.reading() as read:
                started.set()
                list(
                    read.rows(
                        "WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n)"
                        " SELECT count(*) FROM n"
                    )
                )
        except Interrupted as error:
            stopped.append(error)

    reader = threading.Thread(target=read_for_long)
    reader.start()
    started.wait()
    while reader.is_alive():
        shop.book.interrupt(reader)
        reader.join(0.02)
    assert len(stopped) == 1


def test_what_is_read_after_a_stopped_query_is_not_stopped_with_it(shop: Shop) -> None:
    shop.pull()
    endless = "WITH RECURSIVE n(k) AS (SELECT 1 UNION ALL SELECT k + 1 FROM n) SELECT {} FROM n"
    held: list[object] = []  # as a traceback holds what was being read
    started = threading.Event()

    def read_twice() -> None:
        with suppress(Interrupted), shop.book.reading() as read:
            rows = read.rows(endless.format("k"))
            held.extend([next(rows), rows])
            started.set()
            next(read.rows(endless.format("count(*)")))
        with shop.book.reading() as read:
            held.append(len(read.where(Pull)))

    reader = threading.Thread(target=read_twice)
    reader.start()
    started.wait()
    time.sleep(0.1)
    shop.book.interrupt(reader)
    reader.join()
    assert held[-1] == 1


def trouble_of(path: Path, **options: bool) -> BookTrouble:
    with pytest.raises(BookTrouble) as refused:
        Book.open(path, busy_seconds=0.1, **options).close()
    assert refused.value.wanted
    return refused.value


def test_a_locked_book_is_said_and_then_usable(shop: Shop) -> None:
    shop.book.close()
    path = shop.book.path
    with Book.open(path, busy_seconds=0.1) as book:
        with closing(sqlite3.connect(path, isolation_level=None)) as other:
            other.execute("BEGIN IMMEDIATE")
            with (
                pytest.raises(BookTrouble, match="locked: another program"),
                book.changing(who="x"),
            ):
                pass
            with book.reading() as read:
                assert read.where(Engine) == [shop.engine]
        with book.changing(who="x") as change:
            change.insert(Engine(new_id(), "Heron"))


def test_a_folder_is_not_a_book(tmp_path: Path) -> None:
    assert "this is a folder" in trouble_of(tmp_path).sentence


def test_a_missing_folder_is_made(tmp_path: Path) -> None:
    path = tmp_path / "a" / "b" / "shop.db"
    Book.open(path).close()
    assert path.is_file()


def test_a_folder_that_cannot_be_made_is_said(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("")
    assert "cannot be made" in trouble_of(tmp_path / "file" / "b" / "shop.db").sentence


def test_a_missing_book_is_not_made_unasked(tmp_path: Path) -> None:
    path = tmp_path / "none" / "shop.db"
    assert "no book here" in trouble_of(path, create=False).sentence
    assert not path.parent.exists()


@pytest.mark.parametrize("content", [b"\x89PNG\r\n\x1a\n" + bytes(900), b"engine,bore\n", b"S"])
def test_another_file_is_not_a_book_and_stays_as_it_is(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "shop.db"
    path.write_bytes(content)
    assert "not a logbook" in trouble_of(path).sentence
    assert path.read_bytes() == content


def test_an_empty_file_becomes_a_book(tmp_path: Path) -> None:
    path = tmp_path / "shop.db"
    path.touch()
    with Book.open(path) as book:
        assert verify(book) == []


@pytest.mark.parametrize(
    ("folder", "kind"),
    [
        ("/mnt/shop", "nfs4"),
        ("/mnt/shop/deep/down", "nfs4"),
        ("/mnt/shop floor", "cifs"),
        ("/mnt/shopping", "ext4"),
        ("/home", "ext4"),
    ],
)
def test_the_file_system_of_a_folder(tmp_path: Path, folder: str, kind: str) -> None:
    mounts = tmp_path / "mounts"
    mounts.write_text(
        "/dev/sda1 / ext4 rw 0 0\nserver:/a /mnt/shop nfs4 rw 0 0\n"
        "//b/c /mnt/shop\\040floor cifs rw\n"
    )
    assert file_system(Path(folder), mounts) == kind


def test_a_network_file_system_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(trouble, "file_system", lambda folder: "nfs4")
    refused = trouble_of(tmp_path / "shop.db")
    assert "network file system (nfs4)" in refused.sentence
    assert "one book per machine" in refused.sentence
    assert list(tmp_path.iterdir()) == []


@contextmanager
def ordinary_user() -> Iterator[Path]:
    """A folder of somebody who is not allowed everything, even where the tests run as root."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        root = os.geteuid() == 0
        if root:
            os.chown(folder, 65534, 65534)
            os.seteuid(65534)
        try:
            yield folder
        finally:
            folder.chmod(0o700)
            if root:
                os.seteuid(0)


@pytest.mark.parametrize("what", ["file", "folder"])
def test_a_read_only_place_is_said(what: str) -> None:
    with ordinary_user() as folder:
        path = folder / "shop.db"
        Book.open(path).close()
        before = path.read_bytes()
        (path if what == "file" else folder).chmod(0o400 if what == "file" else 0o500)
        refused = trouble_of(path)
        assert "read-only" in refused.sentence
        assert path.read_bytes() == before


def test_a_new_book_in_a_read_only_folder_is_said() -> None:
    with ordinary_user() as folder:
        folder.chmod(0o500)
        assert "read-only" in trouble_of(folder / "shop.db").sentence
        assert "cannot be made" in trouble_of(folder / "sub" / "shop.db").sentence


@contextmanager
def files_at_most(size: int) -> Iterator[None]:
    """No file of this process may grow beyond `size` bytes: a disk that is full."""
    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


def test_a_full_disk_is_said_and_loses_nothing_that_was_acknowledged(shop: Shop) -> None:
    pulls = [shop.pull()]
    log = shop.book.path.with_name("shop.db-wal")

    def log_until_refused() -> None:
        while len(pulls) < 200:
            pulls.append(shop.pull(notes="x" * 3000))

    with files_at_most(log.stat().st_size + 120_000):
        with pytest.raises(BookTrouble, match="full") as refused:
            log_until_refused()
        assert "was not written" in refused.value.sentence
        assert len(pulls) > 1
        with shop.book.reading() as read:
            assert read.where(Pull, order="number") == pulls
    pulls.append(shop.pull(notes="after somebody made room"))
    with shop.book.reading() as read:
        assert read.where(Pull, order="number") == pulls
    assert verify(shop.book) == []


def test_a_backup_onto_a_full_disk_is_said_and_leaves_nothing(shop: Shop, tmp_path: Path) -> None:
    shop.pull()
    target = tmp_path / "usb" / "copy.db"
    with files_at_most(50_000), pytest.raises(BookTrouble, match="copy cannot be written"):
        backup(shop.book, target)
    assert list(target.parent.iterdir()) == []


def test_a_book_that_was_moved_away_takes_no_more(shop: Shop) -> None:
    shop.book.path.rename(shop.book.path.with_name("elsewhere.db"))
    with pytest.raises(BookTrouble, match="moved, deleted or replaced"):
        shop.pull()


def test_a_closed_book_says_so(shop: Shop) -> None:
    shop.book.close()
    with pytest.raises(BookTrouble, match="the book is closed"), shop.book.reading():
        pass
    with pytest.raises(BookTrouble, match="the book is closed"):
        shop.pull()


def look_at(book: Book) -> list[object]:
    """Every trace and search text of a book; its records are read, their values not compared:
    a single value of a record has no checksum of its own."""
    with book.reading() as read:
        pulls = read.where(Pull, with_withdrawn=True)
        traces = read.traces([pull.id for pull in pulls])
        return [
            {pull_id: trace.channels[0].values.tolist() for pull_id, trace in traces.items()},
            list(read.rows("SELECT text FROM search_documents ORDER BY docid")),
        ]


def test_flipped_bytes_are_found_or_do_no_harm(shop: Shop, tmp_path: Path) -> None:
    """Whatever byte of the file is damaged: a sentence, or nothing that matters has changed."""
    for n in range(6):
        pull = shop.pull(notes=f"note {n}", power_kw=100.0 + n)
        values = np.round(np.random.default_rng(n).normal(300, 20, 200), 2)
        with shop.book.changing(who="x") as change:
            change.put_trace(pull.id, Trace((Channel("t", "torque", "Nm", values, 2),), 0, 199))
    whole = look_at(shop.book)
    shop.book.close()
    content = shop.book.path.read_bytes()
    rng = random.Random(20260314)
    noticed = 0
    for turn in range(60):
        place = rng.randrange(100) if turn % 6 == 0 else rng.randrange(len(content))
        damaged = bytearray(content)
        damaged[place] ^= 1 << rng.randrange(8)
        path = tmp_path / f"damaged-{turn}" / "shop.db"
        path.parent.mkdir()
        path.write_bytes(damaged)
        try:
            with Book.open(path, busy_seconds=0.1) as book:
                problems = verify(book)
                if problems:
                    noticed += 1
                elif look_at(book) != whole:
                    pytest.fail(f"a flipped bit in byte {place} changed the book unnoticed")
        except Refusal:
            noticed += 1
        shutil.rmtree(path.parent)
    assert noticed > 0


def test_a_torn_file_is_said(shop: Shop) -> None:
    shop.pull()
    shop.book.close()
    content = shop.book.path.read_bytes()
    shop.book.path.write_bytes(content[: len(content) // 2])
    with pytest.raises(BookTrouble) as refused, Book.open(shop.book.path) as book:
        raise BookTrouble(" ".join(verify(book)))
    assert "damaged" in refused.value.sentence


def test_programs_that_make_the_same_new_book_at_once_all_get_it(tmp_path: Path) -> None:
    code = (
        "import sys; from pathlib import Path; from logbook.store.book import Book\n"
        "Book.open(Path(sys.argv[1])).close()"
    )
    path, root = tmp_path / "new.db", Path(__file__).parents[2]
    openers = [
        subprocess.Popen([sys.executable, "-c", code, str(path)], cwd=root) for _ in range(4)
    ]
    assert [opener.wait() for opener in openers] == [0, 0, 0, 0]
    with Book.open(path, create=False) as book:
        assert verify(book) == []
