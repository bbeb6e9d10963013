"""An invented shop on an empty book: one cell, one engine, one build, one session."""

from __future__ import annotations

import copy
import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest

from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine, Fuel
from logbook.records.ids import new_id
from logbook.records.pull import Pull
from logbook.records.score import Figures, Score
from logbook.records.session import Session
from logbook.records.setup import Level, SetUp
from logbook.store.book import Book

OPENED = "2026-03-14T14:00:00Z"


def timing(degrees: float, **others: str) -> SetUp:
    """A set-up of a timing and text factors."""
    levels = {"timing": Level(f"{degrees:g}", float(degrees), "deg")}
    for name, text in others.items():
        levels[name.replace("_", " ")] = Level(text)
    return SetUp(levels)


def score(pull_id: str, power_kw: float, standard: str = "sae-j1349") -> Score:
    """A score whose corrected band power is `power_kw`."""
    observed = Figures(power_kw, 6400.0, 300.0, 4900.0, power_kw / 1.02, 280.0)
    corrected = Figures(power_kw * 1.02, 6400.0, 306.0, 4900.0, power_kw, 285.6)
    return Score(pull_id, 1, standard, 1.02, observed, corrected)


@dataclass
class Shop:
    """The open book with the records that every test needs."""

    book: Book
    cell: Cell = field(default_factory=lambda: Cell(new_id(), "North cell"))
    engine: Engine = field(
        default_factory=lambda: Engine(
            new_id(), "Otter", owner="K. L.", family="hill-climb four", typed={"bore_mm": "3.4 in"}
        )
    )
    fuel: Fuel = field(default_factory=lambda: Fuel(new_id(), "Pump 98", batch="March drum"))

    def __post_init__(self) -> None:
        self.build = Build(new_id(), self.engine.id, "first rings")
        self.session = Session(
            new_id(),
            self.engine.id,
            self.build.id,
            self.cell.id,
            OPENED,
            purpose="new header",
            operator="M. B.",
            band_low_rpm=3000.0,
            band_high_rpm=7000.0,
            safety_checked=("fan", "guards"),
        )
        self.air = AirReading(
            id=new_id(),
            session_id=self.session.id,
            read_at=OPENED,
            pressure_kpa=99.1,
            temperature_c=21.5,
            humidity_kind="relative",
            humidity=0.41,
            typed={"pressure_kpa": "29.26 inHg"},
        )
        with self.book.changing(who="M. B.", what="Session opened") as change:
            for record in (
                self.cell, self.engine, self.fuel, self.build, self.session, self.air,
            ):  # fmt: skip
                change.insert(record)

    def pull(
        self, *, set_up: SetUp | None = None, power_kw: float | None = None, **fields: Any
    ) -> Pull:
        """Log one pull, ten minutes apart unless `at` is given; its change is `last_group`."""
        with self.book.changing(who="M. B.") as change:
            number = change.next_number(self.session.id)
            values: dict[str, Any] = {
                "session_id": self.session.id,
                "number": number,
                "at": f"2026-03-14T{14 + number // 6:02d}:{number % 6}0:00Z",
                "kind": "sweep",
                "air_id": self.air.id,
                "fuel_id": self.fuel.id,
                "setup_id": change.put_setup(set_up or timing(30)),
            }
            pull = Pull(id=new_id(), **{**values, **fields})
            change.insert(pull)
            if power_kw is not None:
                change.put_scores([score(pull.id, power_kw)])
            change.what = f"Pull {pull.number} logged"
            self.last_group = change.group
        return pull

    def stamp(self) -> int:
        with self.book.reading() as read:
            return read.stamp(self.session.id)

    def plain_sql(self, sql: str, *parameters: Any) -> list[tuple[Any, ...]]:
        """What another program does to the same file."""
        with closing(sqlite3.connect(self.book.path, isolation_level=None)) as db:
            db.execute("PRAGMA foreign_keys = ON")
            return db.execute(sql, parameters).fetchall()


@pytest.fixture(scope="session")
def template(tmp_path_factory: pytest.TempPathFactory) -> Shop:
    """The shop as every test finds it, made once; its book is closed."""
    shop = Shop(Book.open(tmp_path_factory.mktemp("template") / "shop.db"))
    shop.book.close()
    return shop


@pytest.fixture
def shop(template: Shop, tmp_path: Path) -> Iterator[Shop]:
    path = tmp_path / "shop.db"
    shutil.copy(template.book.path, path)
    shop = copy.copy(template)
    shop.book = Book.open(path, busy_seconds=2.0)
    yield shop
    shop.book.close()
