"""A book as a busy shop has it after ten years, for measuring.

Run with ``python -m tests.benchmarks.big_book FILE [--pulls N] [--no-traces]``, or call `fill`.
Everything goes through the store's own changes, so that scores, totals, search and audit trail
are what they would be: `logbook verify` finds nothing. A shop of eight families with sisters,
2–3 cells, sessions of twenty pulls, a new build every ten sessions of an engine. Ids are new every
time, all else follows from the seed.
"""

from __future__ import annotations

import argparse
import hashlib
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from itertools import pairwise
from pathlib import Path

import numpy as np

from logbook.cases.desk import stamp_of
from logbook.cases.fields import read_level
from logbook.cases.place import Place
from logbook.cases.scoring import reckon
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine, Fuel
from logbook.records.ids import new_id
from logbook.records.pull import PEAKS, SWEEP, Pull
from logbook.records.session import CLOSED, Session
from logbook.records.setup import SetUp
from logbook.records.trace import Channel, Source, Trace
from logbook.store.book import Book
from logbook.store.change import Change
from logbook.store.traces import stored_trace

FIRST_DAY = datetime(2016, 1, 4, 14, 0, tzinfo=UTC)
YEARS = 10
FAMILIES, PULLS_A_SESSION, SESSIONS_A_BUILD = 8, 20, 10
SAMPLES, CHANNELS = 300, 12
LOW_RPM, HIGH_RPM = 3600.0, 6700.0
BAND = (4500.0, 6500.0)

# name, quantity, unit, SI unit, SI factor, decimals, level and noise of an invented sensor.
SENSORS = (
    ("Time", "time", "s", "s", 1.0, 2, 0.0, 0.0),
    ("Engine speed", "engine speed", "rpm", "rpm", 1.0, 0, 0.0, 2.0),
    ("Torque", "torque", "lb-ft", "nm", 1.3558179483314004, 1, 400.0, 1.5),
    ("Fuel flow", "fuel flow", "kg/h", "kg_h", 1.0, 1, 90.0, 0.4),
    ("Air flow", "air flow", "kg/h", "kg_h", 1.0, 0, 1150.0, 5.0),
    ("Blow-by", "blow-by", "m3/h", "m3_h", 1.0, 2, 4.0, 0.03),
    ("Manifold vacuum", "manifold vacuum", "kPa", "kpa", 1.0, 2, 3.0, 0.03),
    ("Oil pressure", "oil pressure", "kPa", "kpa", 1.0, 0, 420.0, 2.0),
    ("Oil temperature", "oil temperature", "degC", "c", 1.0, 1, 96.0, 0.2),
    ("Coolant temperature", "coolant temperature", "degC", "c", 1.0, 1, 80.0, 0.2),
    ("Lambda", "lambda", "", "ratio", 1.0, 3, 0.87, 0.002),
    ("Exhaust temperature 1", "exhaust temperature", "degC", "c", 1.0, 0, 760.0, 3.0),
)  # fmt: skip

# What is changed in a session and what it is worth, percent; the baseline has the first level.
FACTORS = {
    "fuel": (("Pump 93", 0.0), ("Race drum 2", 1.8)),
    "carburetor": (("550 cfm", 0.0), ("780 cfm", 2.6)),
    "timing": (("32 deg", 0.0), ("30 deg", -0.2), ("34 deg", 0.1), ("36 deg", -0.4)),
    "main jets": (("0", 0.0), ("+2", 0.2), ("-2", -0.4)),
    "header": (("1.75 in", 0.0), ("2 in", 0.5)),
    "air cleaner": (("off", 0.0), ("14 in open", -0.2)),
}
NOTES = ("plug specks on 3", "knock checked by ear", "oil a little hot", "throttle cable slipped",
         "belt squeals", "as before", "smooth to the top", "rich at the bottom")  # fmt: skip


@dataclass(slots=True)
class Shop:
    """The shop while its book is being filled. `traces` false: peaks are typed."""

    change: Change
    rng: np.random.Generator
    traces: bool
    setups: dict[str, str] = field(default_factory=dict)
    fuels: dict[str, str] = field(default_factory=dict)
    torque: np.ndarray = field(default_factory=lambda: np.zeros(0))
    others: list[list[tuple[list[str], np.ndarray]]] = field(default_factory=list)
    written: int = 0

    def begin(self) -> tuple[list[Cell], list[list[Engine]]]:
        """Cells, fuels and the families' engines."""
        cells = [
            Cell(id=new_id(), name=name, standard=standard, absorber="water brake")
            for name, standard in (("North", "sae-j1349"), ("South", "sae-j1349"))
        ]
        for text, _ in FACTORS["fuel"]:
            fuel = Fuel(id=new_id(), name=text)
            self.fuels[text] = fuel.id
            self.change.insert(fuel)
        families = []
        for number in range(FAMILIES):
            family = [
                Engine(
                    id=new_id(),
                    tag=f"F{number + 1}-{sister}",
                    name=f"Family {number + 1}, engine {sister}",
                    family=f"family {number + 1}",
                    cylinders=8,
                    bore_mm=102.4,
                    stroke_mm=88.4,
                    limit_timing_deg=38.0,
                    band_low_rpm=BAND[0],
                    band_high_rpm=BAND[1],
                )
                for sister in "ABC"[: 2 + number % 2]
            ]
            families.append(family)
        for record in (*cells, *(engine for family in families for engine in family)):
            self.change.insert(record)
        self._curves()
        return cells, families

    def _curves(self) -> None:
        """A torque hump, and eight versions of every other channel, as printed."""
        speed = np.linspace(LOW_RPM, HIGH_RPM, SAMPLES)
        self.torque = 400.0 - ((speed - 5200.0) / 120.0) ** 2
        load = self.torque / 400.0
        for _ in range(8):
            version = []
            for name, _, _, _, _, decimals, level, noise in SENSORS:
                if name == "Time":
                    values = np.arange(SAMPLES) / 20.0
                elif name == "Engine speed":
                    values = speed + self.rng.normal(0.0, noise, SAMPLES)
                else:
                    values = level * load + self.rng.normal(0.0, noise, SAMPLES)
                version.append(_printed(values, decimals))
            self.others.append(version)

    def session(self, engine: Engine, build: Build, cell: Cell, at: datetime, count: int) -> None:
        """One visit: baseline, changes one at a time, the baseline again."""
        rng = self.rng
        session = Session(
            id=new_id(),
            engine_id=engine.id,
            build_id=build.id,
            cell_id=cell.id,
            opened_at=stamp_of(at),
            closed_at=stamp_of(at + timedelta(hours=4)),
            status=CLOSED,
            purpose=f"Visit {self.written // PULLS_A_SESSION + 1}",
            operator=str(rng.choice(["K.L.", "M.R."])),
            standard=cell.standard,
            band_low_rpm=BAND[0],
            band_high_rpm=BAND[1],
            oil="10W-40",
        )
        self.change.insert(session)
        place = Place(session, engine, cell)
        day, worn = rng.normal(0.0, 0.5), 0.1 * int(build.label.split()[-1])
        air = None
        for number, (chosen, worth) in enumerate(self._plan(count), start=1):
            moment = at + timedelta(minutes=20 + 6 * number)
            if air is None or number % 5 == 1:
                air = AirReading(
                    id=new_id(),
                    session_id=session.id,
                    read_at=stamp_of(moment),
                    pressure_kpa=round(98.5 + float(rng.normal(0.0, 0.6)), 2),
                    temperature_c=round(22.0 + float(rng.normal(0.0, 3.0)), 1),
                    humidity_kind="relative",
                    humidity=round(float(rng.uniform(0.3, 0.7)), 2),
                )
                self.change.insert(air)
            percent = worth + day + worn + rng.normal(0.0, 0.2)
            self._pull(place, air, number, moment, chosen, 1.0 + percent / 100.0)

    def _plan(self, count: int) -> Iterator[tuple[dict[str, str], float]]:
        """The set-up of each pull and what it is worth: every other one a change."""
        start = {name: levels[0][0] for name, levels in FACTORS.items()}
        tried = self.rng.permutation(list(FACTORS))[:3]
        for number in range(count):
            turn = number // 3
            if turn % 2 == 0 or number >= count - 2:
                yield start, 0.0
            else:
                name = str(tried[(turn // 2) % len(tried)])
                text, worth = FACTORS[name][1 + (turn // 6) % (len(FACTORS[name]) - 1)]
                yield {**start, name: text}, worth

    def _pull(
        self,
        place: Place,
        air: AirReading,
        number: int,
        at: datetime,
        chosen: dict[str, str],
        scale: float,
    ) -> None:
        source, trace, stored, peaks = None, None, None, {}
        pull_id = new_id()
        if self.traces:
            text, trace = self._trace(scale)
            content = text.encode()
            source = Source(
                id=new_id(),
                sha256=hashlib.sha256(content).hexdigest(),
                name=f"run_{self.written:06d}.csv",
                taken_at=stamp_of(at),
                content=content,
                signature="big book",
            )
            stored = stored_trace(trace)
            self.change.put_source(source, pull_id=pull_id, trace=stored)
        else:
            peaks = {
                "peak_power_kw": round(280.0 * scale, 1),
                "peak_power_rpm": 6100.0,
                "peak_torque_nm": round(540.0 * scale, 1),
                "peak_torque_rpm": 5200.0,
            }
        pull = Pull(
            id=pull_id,
            session_id=place.session.id,
            number=number,
            at=stamp_of(at),
            kind=SWEEP if trace else PEAKS,
            setup_id=self._setup(chosen),
            air_id=air.id,
            fuel_id=self.fuels[chosen["fuel"]],
            source_id=source.id if source else None,
            oil_c=round(96.0 + float(self.rng.normal(0.0, 3.0)), 1),
            coolant_c=round(80.0 + float(self.rng.normal(0.0, 2.0)), 1),
            knock="none" if number % 4 == 0 else "not checked",
            excluded_reason="oil cold" if number == 1 and self.written % 7 == 0 else None,
            notes=str(self.rng.choice(NOTES)) if number % 3 == 0 else "",
            **peaks,
        )
        self.change.insert(pull)
        if stored is not None:
            self.change.put_trace(pull.id, stored)
        self.change.put_scores([reckon(pull, trace, air, place).score])
        self.written += 1

    def _setup(self, chosen: dict[str, str]) -> str:
        key = repr(chosen)
        if key not in self.setups:
            levels = {name: read_level(name, text) for name, text in chosen.items()}
            known = {name: level for name, level in levels.items() if level is not None}
            self.setups[key] = self.change.put_setup(SetUp(known))
        return self.setups[key]

    def _trace(self, scale: float) -> tuple[str, Trace]:
        """A sweep's file and its channels."""
        version = list(self.others[self.written % len(self.others)])
        rough = np.convolve(self.rng.normal(0.0, 1.5, SAMPLES), (0.25, 0.5, 0.25), mode="same")
        version[2] = _printed(self.torque * scale + rough, SENSORS[2][5])
        header = ",".join(f"{name} [{unit}]" if unit else name for name, _, unit, *_ in SENSORS)
        rows = zip(*(texts for texts, _ in version), strict=True)
        channels = tuple(
            Channel(name, quantity, unit, values, decimals, si_unit, factor)
            for (name, quantity, unit, si_unit, factor, decimals, _, _), (_, values) in zip(
                SENSORS, version, strict=True
            )
        )
        return "\n".join([header, *map(",".join, rows), ""]), Trace(channels, 0, SAMPLES - 1)


def _printed(values: np.ndarray, decimals: int) -> tuple[list[str], np.ndarray]:
    """Texts as a data system prints them, and the very numbers that these say."""
    texts = [f"{value:.{decimals}f}" for value in values.tolist()]
    return texts, np.array(texts, dtype=np.float64)


def fill(path: Path, pulls: int, *, traces: bool = True, seed: int = 1) -> None:
    """Make the book at `path` (there is none yet) with so many pulls."""
    rng = np.random.default_rng(seed)
    with Book.open(path) as book:
        with book.changing(who="K.L.", what="The shop begins") as change:
            shop = Shop(change, rng, traces)
            cells, families = shop.begin()
        engines = [engine for family in families for engine in family]
        builds = {engine.id: _builds(engine) for engine in engines}
        visits = -(-pulls // PULLS_A_SESSION)
        step = timedelta(days=365.25 * YEARS) / max(visits, 1)
        for number in range(visits):
            engine = engines[number % len(engines)]
            turn = number // len(engines)
            count = min(PULLS_A_SESSION, pulls - shop.written)
            with book.changing(who="K.L.", what=f"Session of {engine.tag} logged") as change:
                shop.change = change
                if turn % SESSIONS_A_BUILD == 0:
                    change.insert(builds[engine.id][turn // SESSIONS_A_BUILD])
                build = builds[engine.id][turn // SESSIONS_A_BUILD]
                cell = cells[(number % len(engines)) % len(cells)]
                shop.session(engine, build, cell, FIRST_DAY + number * step, count)


def _builds(engine: Engine) -> list[Build]:
    """More builds than an engine will get, each from the one before."""
    ids = [new_id() for _ in range(200)]
    parents = [None, *(before for before, _ in pairwise(ids))]
    return [
        Build(id=own, engine_id=engine.id, label=f"build {number}", parent_id=parent)
        for number, (own, parent) in enumerate(zip(ids, parents, strict=True), start=1)
    ]


def main() -> None:
    """Make a book and say how large it is."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("path", type=Path, metavar="FILE")
    parser.add_argument("--pulls", type=int, default=50_000, metavar="N")
    parser.add_argument("--no-traces", action="store_true", help="Typed peaks only.")
    given = parser.parse_args()
    if given.path.exists():
        raise SystemExit(f"{given.path} exists already")
    started = time.perf_counter()
    fill(given.path, given.pulls, traces=not given.no_traces)
    took, size = time.perf_counter() - started, given.path.stat().st_size
    print(f"{given.pulls:,} pulls in {took:.0f} s, {size / 2**20:,.0f} MB")


if __name__ == "__main__":
    main()
