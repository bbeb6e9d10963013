"""A kept file unpacks to what it was, and to nothing larger than it says."""

from __future__ import annotations

import random
import sqlite3
import tracemalloc
import zlib
from contextlib import closing
from hashlib import sha256
from pathlib import Path

import pytest

from logbook.refusals import BookTrouble
from logbook.store.book import Book
from logbook.store.packed import MOST_BYTES, measured, unpacked
from tests.store.conftest import OPENED, Shop
from tests.store.joined import merge


@pytest.mark.parametrize("size", [0, 1, 1000, 1024 * 1024, 1024 * 1024 + 1, 3_000_000])
@pytest.mark.parametrize("noise", [True, False])
def test_what_was_packed_comes_back(size: int, noise: bool) -> None:
    content = random.Random(1).randbytes(size) if noise else bytes(size)
    packed = zlib.compress(content, 6)
    assert measured(packed, size) == sha256(content).hexdigest()
    assert unpacked(packed, size) == content
    for wrong in (size + 1, max(0, size - 1)):
        if wrong != size:
            with pytest.raises(ValueError, match="unpacks to other than"):
                measured(packed, wrong)
    with pytest.raises((ValueError, zlib.error)):
        measured(packed[:-5], size)


def test_more_than_any_file_has_is_not_even_tried() -> None:
    with pytest.raises(ValueError, match="more than any file may have"):
        unpacked(b"", MOST_BYTES + 1)


@pytest.mark.parametrize("claimed", [4, 10 * MOST_BYTES])
def test_a_book_whose_file_unpacks_to_gigabytes_is_refused_in_little_memory(
    shop: Shop, tmp_path: Path, claimed: int
) -> None:
    bomb = zlib.compressobj(9)
    piece = bytes(1024 * 1024)
    packed = b"".join(bomb.compress(piece) for _ in range(200)) + bomb.flush()
    path = tmp_path / "south.db"
    Book.open(path).close()
    with closing(sqlite3.connect(path)) as db:
        db.execute(
            "INSERT INTO sources VALUES ('s', ?, 'bomb.csv', ?, '', ?, ?, NULL)",
            ("0" * 64, OPENED, claimed, packed),
        )
        db.commit()
    tracemalloc.start()
    with pytest.raises(BookTrouble, match=r"bomb\.csv: it cannot be unpacked"):
        merge(shop.book, path)
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert peak < 20_000_000
