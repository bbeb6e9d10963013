"""Every screen as it looked when somebody last looked at it, at both sizes.

After a change that is meant, look at the new pictures (the failing run writes a report with
both beside each other), then run with ``--snapshot-update``.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from textual.pilot import Pilot

from logbook.app.app import LogbookApp
from logbook.app.screens.file_picker import FilePicker
from logbook.cases.desk import open_desk
from screenshots.scenes import ON_AN_EMPTY_BOOK, SCENES, SIZES, Visitor
from tests.app.conftest import Clock, file_engine, make_shop, measure_build, rebuild

ON_A_MEASURED_BUILD = frozenset({"checks", "cell", "fuels"})
ON_A_FILED_ENGINE = frozenset({"parts", "inspections"})
ON_A_REBUILT_ENGINE = frozenset({"sides"})


@pytest.fixture
def app(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, request: Any) -> Iterator[LogbookApp]:
    """The app on the small shop, all clocks standing still."""
    monkeypatch.setenv("HOME", str(tmp_path))
    name: str = request.node.callspec.params["name"]
    shop = make_shop(tmp_path)
    if name in ON_A_MEASURED_BUILD:
        measure_build(shop)
    if name in ON_A_FILED_ENGINE:
        file_engine(shop)
    if name in ON_A_REBUILT_ENGINE:
        rebuild(shop)
    shop.file(1.013, "run-next.csv")
    for number, path in enumerate(sorted((tmp_path / "cell").iterdir())):
        os.utime(path, (1_773_500_000 + 60 * number,) * 2)
    FilePicker.last_folder = tmp_path / "cell"
    shop.clock.turn(4)
    shop.desk.close()
    book = tmp_path / "empty.db" if name in ON_AN_EMPTY_BOOK else shop.book
    clock = Clock(shop.clock.moment)
    yield LogbookApp(
        lambda: open_desk(book, who="KL", units="us", now=clock),
        now=clock, tick=clock.tick, demo=lambda: book,
    )  # fmt: skip
    FilePicker.last_folder = None


@pytest.mark.parametrize("size", SIZES, ids=lambda size: f"{size[0]}x{size[1]}")
@pytest.mark.parametrize("name", SCENES)
def test_every_screen_looks_as_it_did(
    app: LogbookApp, name: str, size: tuple[int, int], snap_compare: Any
) -> None:
    async def there(pilot: Pilot[Any]) -> None:
        await SCENES[name](Visitor(pilot))

    assert snap_compare(app, terminal_size=size, run_before=there)
