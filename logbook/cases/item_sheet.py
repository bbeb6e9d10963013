"""A build's items looked up by what they are called, for whoever computes with them."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass

from logbook.engineering.tolerance import Tolerance
from logbook.records.build_item import BuildItem

RECLAIM = "reclaim"
"""An item called as another and this word carries the limits to which a part is reclaimed."""

HEIGHTS = ("top", "upper", "middle", "lower", "bottom")
DIRECTIONS = ("thrust", "pin", "across", "along", "x", "y", "a", "b")

MM, LITERS, PLAIN = "mm", "L", None

_WORDS = re.compile(r"[\s,;_/\-]+")

PerCylinder = tuple[float | None, ...]


def words_of(name: str) -> tuple[str, ...]:
    """A name's words, however they are written or joined: ``Top ring-gap`` is ``top ring gap``."""
    return tuple(word for word in _WORDS.split(name.strip().casefold()) if word)


@dataclass(frozen=True, slots=True)
class ItemSheet:
    """The items of a build. `cylinders` is how many the engine has, or the most values an item
    has where its sheet does not say."""

    items: tuple[BuildItem, ...]
    cylinders: int

    @classmethod
    def of(cls, items: Iterable[BuildItem], cylinders: int | None) -> ItemSheet:
        """The sheet of these items."""
        found = tuple(items)
        most = max((len(item.per_cylinder) for item in found), default=0)
        return cls(found, cylinders or most or 1)

    def item(self, *names: str) -> BuildItem | None:
        """The first item of one of these names, in the order of the names."""
        by_words = {words_of(item.name): item for item in reversed(self.items)}
        wanted = [words_of(name) for name in names]
        return next((by_words[words] for words in wanted if words in by_words), None)

    def tolerance(self, *names: str) -> Tolerance:
        """The limits on the item of one of these names, with the limits to which it is reclaimed
        where an item called the same and `RECLAIM` has any further out."""
        item, wider = self.item(*names), self.item(*(f"{name} {RECLAIM}" for name in names))
        if item is None:
            return Tolerance()
        far_low, far_high = (wider.low, wider.high) if wider is not None else (None, None)
        if item.low is None or far_low is None or far_low > item.low:
            far_low = None
        if item.high is None or far_high is None or far_high < item.high:
            far_high = None
        return Tolerance(item.low, item.high, far_low, far_high)

    def each(self, item: BuildItem | None, unit: str | None) -> PerCylinder:
        """An item's value for each cylinder, ``None`` where it has none in this unit; a single
        value stands for all cylinders."""
        if item is None or item.unit != unit:
            return (None,) * self.cylinders
        if not item.per_cylinder:
            return (item.number,) * self.cylinders
        return (*item.per_cylinder, *(None,) * self.cylinders)[: self.cylinders]

    def single(self, unit: str | None, *names: str) -> float | None:
        """The value of an item that the whole engine has once; ``None`` where there is none."""
        item = self.item(*names)
        return item.number if item is not None and item.unit == unit else None

    def bore_grids(self) -> list[list[list[float]]]:
        """For each cylinder its bore by height (from the top) and direction, mm, NaN where not
        measured: of items called ``bore``, ``bore top``, ``bore middle thrust`` …"""
        places = {_bore_place(item): self.each(item, MM) for item in self.items}
        places.pop(None, None)
        nothing: PerCylinder = (None,) * self.cylinders
        heights = [h for h in ("", *HEIGHTS) if any(place and place[0] == h for place in places)]
        ways = list(dict.fromkeys(place[1] for place in places if place))
        return [
            [[_number(places.get((height, way), nothing)[index]) for way in ways]
             for height in heights]
            for index in range(self.cylinders)
        ]  # fmt: skip


def _bore_place(item: BuildItem) -> tuple[str, str] | None:
    """Height and direction that an item's name says; ``None`` where it is no bore."""
    first, *rest = words_of(item.name) or ("",)
    if first != "bore" or item.unit != MM:
        return None
    height = rest.pop(0) if rest and rest[0] in HEIGHTS else ""
    way = rest.pop(0) if rest and rest[0] in DIRECTIONS else ""
    return None if rest else (height, way)


def _number(value: float | None) -> float:
    return float("nan") if value is None else value
