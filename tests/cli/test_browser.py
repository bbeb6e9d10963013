"""`logbook serve` as a tablet in the cell sees it: in a real browser, if there is one here."""

from __future__ import annotations

import io
import shutil
import socket
import sqlite3
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from PIL import Image

from tests.cli import browser

BROWSER = browser.found()
pytestmark = pytest.mark.skipif(BROWSER is None, reason="no Chromium on this machine")
TOKEN = "a-token-of-the-shop"


@contextmanager
def served(book: Path, *more: str) -> Iterator[str]:
    """`logbook serve` on a free port of this machine; its address."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    command = [sys.executable, "-m", "logbook", "--db", str(book), "serve", "--port", str(port)]
    process = subprocess.Popen([*command, *more], stderr=subprocess.DEVNULL)
    try:
        for _ in range(400):
            with socket.socket() as asked:
                if asked.connect_ex(("127.0.0.1", port)) == 0:
                    break
            assert process.poll() is None, "it ended"
            time.sleep(0.05)
        yield f"http://127.0.0.1:{port}/"
    finally:
        process.terminate()
        process.wait(20)


async def test_a_browser_shows_the_app_and_takes_its_keys(
    demo_book_path: Path, tmp_path: Path
) -> None:
    book = shutil.copy(demo_book_path, tmp_path / "shop.db")
    before = told(book)
    assert BROWSER is not None
    async with browser.page(BROWSER, tmp_path / "profile") as page:
        with served(book) as address:
            await page.go(address)
            rows = await page.shows("HC-4A")
            assert "help" in rows.splitlines()[-1]
            assert inked(await page.picture()) > 0.01, "letters are painted, not only received"
            await page.tap(550, 300)
            await page.type("/")
            await page.shows("History  191 pulls")
            await page.leave()
        with served(book, "--wall") as address:
            await page.go(address)
            await page.shows("gain so far")
            await page.tap(550, 350)
            await page.type("uz\r")
            assert "gain so far" in (await page.rows()).casefold()
            await page.leave()
        with served(book, "--host", "0.0.0.0", "--token", TOKEN) as address:
            await page.go(address)
            await page.says("asks for its token")
            await page.go(f"{address}?token={TOKEN}")
            await page.shows("HC-4A")
            assert TOKEN not in str(await page.value("location.href"))
            await page.leave()
    assert told(book) == before, "nobody changed anything"


def told(book: Path) -> list[str]:
    """Everything in a book, its write-ahead log included."""
    with closing(sqlite3.connect(book)) as db:
        return list(db.iterdump())


def inked(png: bytes) -> float:
    """The share of a picture that is not of its commonest color."""
    image = Image.open(io.BytesIO(png)).convert("RGB")
    counts = sorted((count for count, _ in image.getcolors(maxcolors=1 << 24) or []), reverse=True)
    return 1.0 - counts[0] / sum(counts)
