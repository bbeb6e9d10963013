"""The page as a browser takes it, where there is one: opened and printed on both papers."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
from pathlib import Path

import pytest

from logbook.cases.desk import Desk
from logbook.reports.issue import HTML, session_text
from tests.reports.page_reader import read_page

CHROMIUM = next(filter(None, map(shutil.which, ("chromium", "chromium-browser"))), None)
PAPERS = {"A4": (594.96, 841.92), "Letter": (612.0, 792.0)}


def browser(folder: Path, *arguments: str) -> str:
    assert CHROMIUM is not None
    ended = subprocess.run(
        [CHROMIUM, "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
         "--no-first-run", "--disable-background-networking", "--disable-component-update",
         "--disable-sync", f"--user-data-dir={folder / 'profile'}", *arguments],
        capture_output=True, text=True, check=True, timeout=120, env={**os.environ, "LANG": "C"},
    )  # fmt: skip
    return ended.stdout


@pytest.mark.skipif(CHROMIUM is None, reason="no chromium on this machine")
def test_chromium_opens_and_prints_it(demo: Desk, tmp_path: Path) -> None:
    text = session_text(demo, "RB-8/last", HTML)
    page = tmp_path / "page.html"
    page.write_text(text, encoding="utf-8")
    seen = browser(tmp_path, "--dump-dom", page.as_uri())
    for tag in ("table", "svg", "tr", "dt", "h2", "text"):
        assert len(re.findall(rf"<{tag}[ >]", seen)) == sum(
            one.tag.rpartition("}")[2] == tag for one in read_page(text).root.iter()
        ), tag
    for paper, (wide, high) in PAPERS.items():
        sized = tmp_path / f"{paper}.html"
        sized.write_text(text.replace("@page {", f"@page {{ size: {paper};"), encoding="utf-8")
        printed = tmp_path / f"{paper}.pdf"
        browser(tmp_path, f"--print-to-pdf={printed}", "--no-pdf-header-footer", sized.as_uri())
        content = printed.read_bytes()
        boxes = re.findall(rb"/MediaBox \[\s*0 0 ([\d.]+) ([\d.]+)\s*\]", content)
        assert 4 <= len(boxes) <= 12
        assert {tuple(round(float(one)) for one in box) for box in boxes} == {
            (round(wide), round(high))
        }
