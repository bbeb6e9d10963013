"""What the workshop wrote down outside the cell, told to the logbook's own use-cases."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, datetime
from functools import partial
from typing import Any

from logbook.cases import builds, calibrations, due, inspections
from logbook.cases.calibrations import CalibrationEntry
from logbook.cases.desk import Desk
from logbook.cases.inspections import ClearanceEntry
from seed_db.shop import HERE

Happening = tuple[datetime, Callable[[], None]]
_WORDS = {"value": "value", "each": "per-cylinder", "tolerance": "tolerance", "done": "done",
          "note": "note"}  # fmt: skip


def happenings(desk: Desk, built_on: Mapping[tuple[str, str], datetime]) -> Iterator[Happening]:
    """When each of it was written down, and how it is told. `built_on` says when a build was
    entered: its items come right after it."""
    told = tomllib.loads((HERE / "bench_work.toml").read_text(encoding="utf-8"))
    for entry in told["build"]:
        at = built_on[entry["engine"], entry["label"]]
        yield at.replace(minute=5), partial(_items, desk, entry)
    for entry in told["inspection"]:
        yield _day(entry["on"], 16), partial(_inspection, desk, entry)
    for entry in told["calibration"]:
        at = datetime.fromisoformat(entry["at"]).replace(tzinfo=UTC, hour=18)
        yield at, partial(_calibration, desk, entry)
    for entry in told["due"]:
        yield _day(entry["set"], 17), partial(_due, desk, entry)


def _day(text: str, hour: int) -> datetime:
    return datetime.fromisoformat(text).replace(hour=hour, tzinfo=UTC)


def _items(desk: Desk, entry: Mapping[str, Any]) -> None:
    for system, name, said in entry["items"]:
        given = {_WORDS[word]: text for word, text in said.items()}
        builds.set_item(desk, entry["engine"], entry["label"], system, name, given)


def _inspection(desk: Desk, entry: Mapping[str, Any]) -> None:
    desk.who = entry["who"]
    inspections.add_inspection(
        desk,
        entry["engine"],
        entry["typed"],
        build=entry["build"],
        clearances=[
            ClearanceEntry(what, measured, where, limit, verdict, note)
            for what, where, measured, limit, verdict, note in entry.get("clearances", ())
        ],
    )


def _calibration(desk: Desk, entry: Mapping[str, Any]) -> None:
    desk.who = entry["who"]
    calibrations.add_calibration(
        desk,
        entry["cell"],
        CalibrationEntry(instrument=entry["instrument"], at=entry["at"], **entry["typed"]),
    )


def _due(desk: Desk, entry: Mapping[str, Any]) -> None:
    due.add_due(desk, entry["engine"], entry["what"], entry["typed"], build=entry.get("build"))
