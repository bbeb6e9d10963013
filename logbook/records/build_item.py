"""What is in a build: one item of one system, with its value, tolerance and history."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

SYSTEMS = (
    "short block",
    "pistons",
    "ring pack",
    "bore finish",
    "clearances",
    "camshaft and valve train",
    "head",
    "induction",
    "exhaust",
    "ignition",
    "lubrication and vacuum pump",
)
NEW, KEPT, RECLAIMED, REJECTED = "new", "kept", "reclaimed", "rejected"
DONE = (NEW, KEPT, RECLAIMED, REJECTED)


@dataclass(frozen=True, slots=True)
class BuildItem:
    """One item of a build.

    `system` is one of `SYSTEMS` or the shop's own. `text` is the value as it was typed; `number`
    is its value where it is a plain number (`unit` ``None``) or a quantity (`unit` the stored
    unit, such as ``"mm"``). `per_cylinder` (in `unit`, cylinder 1 first, ``None`` where not
    measured), and the tolerance from `low` to `high` (in `unit`). `done` is one of `DONE`, or
    empty where nobody said: reclaimed is a part dressed back within tolerance. `typed` keeps
    what was typed, by attribute.
    """

    id: str
    build_id: str
    system: str
    name: str
    text: str = ""
    number: float | None = None
    unit: str | None = None
    per_cylinder: tuple[float | None, ...] = ()
    low: float | None = None
    high: float | None = None
    done: str = ""
    notes: str = ""
    typed: Mapping[str, str] = field(default_factory=dict)
    withdrawn: bool = False
