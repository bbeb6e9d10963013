"""A set-up: everything that was deliberately set for a pull."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping
from dataclasses import dataclass

TIMING = "timing"
FUEL = "fuel"

_GAPS = re.compile(r"[\s_\-]+")


def factor_key(name: str) -> str:
    """The identity of a factor's name: case, blanks, hyphens and underscores do not count."""
    return _GAPS.sub(" ", name.strip()).casefold()


@dataclass(frozen=True, slots=True)
class Level:
    """The value of one factor.

    `text` is what was typed. `number` is its value where it is a plain number
    (`unit` ``None``) or a quantity (`unit` the stored unit, such as ``"deg"`` or ``"mm"``).
    """

    text: str
    number: float | None = None
    unit: str | None = None

    @property
    def identity(self) -> tuple[str, str]:
        """Two levels are the same when these are: ``0.30 mm`` is ``0.3 mm``."""
        if self.number is None:
            return ("text", " ".join(self.text.split()).casefold())
        return (self.unit or "number", f"{self.number:.9g}")


Identity = tuple[str, str] | None


def identity_of(level: Level | None) -> Identity:
    """The identity of a level, ``None`` where a set-up does not have the factor."""
    return level.identity if level else None


@dataclass(frozen=True, slots=True)
class FactorChange:
    """One factor that differs between two set-ups; ``None`` where a side does not have it."""

    factor: str
    old: Level | None
    new: Level | None


@dataclass(frozen=True, slots=True)
class SetUp:
    """Factors with their levels. The names are the user's own."""

    levels: Mapping[str, Level]

    def keyed(self) -> dict[str, tuple[str, Level]]:
        """Factor identity → (name as written, level)."""
        return {factor_key(name): (name, level) for name, level in self.levels.items()}

    @property
    def fingerprint(self) -> str:
        """Equal for two set-ups exactly when all their factors are equal (SHA-256, hex)."""
        canonical = {key: level.identity for key, (_, level) in sorted(self.keyed().items())}
        return hashlib.sha256(json.dumps(canonical, ensure_ascii=False).encode()).hexdigest()

    def changed_from(self, other: SetUp) -> tuple[FactorChange, ...]:
        """The factors in which this set-up differs from `other`, in this set-up's order."""
        before, after = other.keyed(), self.keyed()
        changes = []
        for key in [*after, *(key for key in before if key not in after)]:
            old, new = before.get(key), after.get(key)
            if old is None or new is None or old[1].identity != new[1].identity:
                name = new[0] if new else old[0] if old else key
                changes.append(FactorChange(name, old[1] if old else None, new[1] if new else None))
        return tuple(changes)

    def with_levels(self, touched: Mapping[str, Level | None]) -> SetUp:
        """A copy with some factors set; ``None`` takes a factor away. Known names are kept."""
        keyed = self.keyed()
        for name, level in touched.items():
            key = factor_key(name)
            if level is None:
                keyed.pop(key, None)
            else:
                keyed[key] = (keyed[key][0] if key in keyed else name.strip(), level)
        return SetUp(dict(keyed.values()))

    def level(self, name: str) -> Level | None:
        """The level of a factor by any spelling of its name."""
        found = self.keyed().get(factor_key(name))
        return found[1] if found else None

    @property
    def timing_deg(self) -> float | None:
        """Ignition timing, degrees before top dead center, if it was set."""
        level = self.level(TIMING)
        return level.number if level else None
