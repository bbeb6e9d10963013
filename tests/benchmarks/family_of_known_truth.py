"""A family of simulated engines whose every worth is known, run in a cell that has bad days.

One engine is rebuilt and gets another carburetor and another fuel at once; what these are worth
alone is seen on it and on its sisters.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from logbook.records.setup import FactorChange, Level, SetUp
from logbook.verdict.attribution import Attribution, attribute
from logbook.verdict.between import reproducibility
from logbook.verdict.evidence import Wanted
from logbook.verdict.noise import Noise
from logbook.verdict.visits import Across, Visit, visit

REBUILD, CARBURETOR, FUEL = 2.8, 2.5, 1.9  # true worths, 100·ln


def set_up(carburetor: str, fuel: str) -> SetUp:
    """One of the set-ups that the family is run with."""
    return SetUp({"carburetor": Level(carburetor), "fuel": Level(fuel)})


OLD, MIDDLE, NEW = set_up("40", "pump"), set_up("45", "pump"), set_up("45", "race")
CHANGES = (
    FactorChange("carburetor", Level("40"), Level("45")),
    FactorChange("fuel", Level("pump"), Level("race")),
)
WANTED = Wanted(frozenset({("0", "old"), ("0", "new")}), OLD, NEW)


@dataclass(frozen=True, slots=True)
class Shop:
    """How a shop's cell and engines are, standard deviations in percent of power.

    `days`: from day to day; `engines`: how the worth of a change differs from engine to engine;
    `noise`, `drift` (a pull) and `resetting` within a session. `pairs` of earlier sessions tell
    how well the cell reproduces. `sisters` of the engine were given the changes one by one, each
    in so many `builds`; `own_fuel`: the engine itself went back to the old fuel once, `own_days`:
    it was pulled on the old fuel on a day of its own.
    """

    days: float = 0.5
    engines: float = 0.4
    noise: float = 0.2
    drift: float = 0.03
    resetting: float = 0.08
    pairs: int = 4
    sisters: int = 1
    own_fuel: bool = True
    builds: int = 1
    own_days: bool = False


@dataclass(slots=True)
class Telling:
    """One history of a shop, drawn at random."""

    shop: Shop
    rng: np.random.Generator
    visits: dict[str, Visit] = field(default_factory=dict)
    worths: dict[str, tuple[float, float]] = field(default_factory=dict)

    def session(
        self, name: str, engine: str, build: str, pulled: Sequence[tuple[SetUp, int]]
    ) -> None:
        """Pull set-ups in this order so many times each."""
        shop, rng = self.shop, self.rng
        if engine not in self.worths:
            carburetor, fuel = rng.normal((CARBURETOR, FUEL), shop.engines).tolist()
            self.worths[engine] = (carburetor, fuel)
        carburetor, fuel = self.worths[engine]
        day, drift = rng.normal(0.0, (shop.days, shop.drift))
        setups = list(dict.fromkeys(id(setup) for setup, _ in pulled))
        labels: list[int] = []
        logs: list[float] = []
        for setup, times in pulled:
            level = day + rng.normal(0.0, shop.resetting)
            level += carburetor * (setup is not OLD) + fuel * (setup is NEW)
            level += REBUILD * (build == "new")
            for _ in range(times):
                logs.append(level + drift * len(logs) + rng.normal(0.0, shop.noise))
                labels.append(setups.index(id(setup)))
        known = {setups.index(id(setup)): setup for setup, _ in pulled}
        scores = 80.0 * np.exp(np.array(logs) / 100.0)
        self.visits[name] = visit(
            name, engine, build, "cell", np.arange(len(logs)) + 1, labels, scores, known
        )


def told(shop: Shop, rng: np.random.Generator) -> Attribution:
    """One history of this shop and what is made of it."""
    telling = Telling(shop, rng)
    telling.session("before", "0", "old", [(OLD, 5)])
    telling.session("after", "0", "new", [(NEW, 6)])
    after = {"after": 0}
    if shop.own_fuel:
        telling.session("fuel", "0", "new", [(NEW, 3), (MIDDLE, 3), (NEW, 2)])
        after["fuel"] = 0
    if shop.own_days:
        telling.session("old fuel", "0", "new", [(MIDDLE, 5)])
    for sister in map(str, range(1, shop.sisters + 1)):
        for build in ("old", "new", "newer")[: shop.builds]:
            name = f"{sister} {build}"
            telling.session(f"{name} a", sister, build, [(OLD, 3), (MIDDLE, 3), (OLD, 2)])
            telling.session(f"{name} b", sister, build, [(MIDDLE, 3), (NEW, 3), (MIDDLE, 2)])
    means = 80.0 * np.exp(rng.normal(0.0, shop.days, 2 * shop.pairs) / 100.0)
    between = reproducibility(means.tolist(), [place // 2 for place in range(means.size)])
    across = Across(telling.visits, {"cell": between}, Noise(0.0, 0.0, ""))
    return attribute(across, ({"before": 0}, after), CHANGES, WANTED)
