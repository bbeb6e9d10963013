"""Leak-down and cranking compression of a build's newest inspection, against the shop's limits.

The limits stand on items of the build: ``leak-down``, ``leak-down spread``, ``cranking
compression``, ``cranking spread``.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace

from logbook.cases.inspections import CRANKING_STEP_KPA, LEAK_DOWN_STEP_PERCENT
from logbook.cases.item_sheet import PLAIN, ItemSheet
from logbook.cases.measures import Check, judged
from logbook.engineering.cylinders import HIGH_IS_BAD, LOW_IS_BAD, spread
from logbook.engineering.tolerance import Tolerance
from logbook.records.inspection import Inspection

LEAK, LEAK_SPREAD = ("leak-down",), ("leak-down spread",)
CRANKING, CRANKING_SPREAD = ("cranking compression",), ("cranking spread",)

_SHARE = ""  # the stored unit of ``8 %``: a share, 0.08


def inspected(sheet: ItemSheet, inspections: Iterable[Inspection]) -> list[Check]:
    """The checks of the newest values that inspections (newest first) hold of each kind."""
    found: list[Check] = []
    done: set[str] = set()
    for one in inspections:
        for key, values in (("leak", one.leak_down_percent), ("crank", one.cranking_kpa)):
            if key not in done and any(value is not None for value in values):
                done.add(key)
                make = _leak_down if key == "leak" else _cranking
                found += make(sheet, values, one.inspected_on)
    return found


def _leak_down(sheet: ItemSheet, values: Sequence[float | None], day: str) -> list[Check]:
    over = spread(values, bad=HIGH_IS_BAD, step=LEAK_DOWN_STEP_PERCENT)
    how = f"inspection of {day}"
    return [
        *_set_apart(
            judged("Leak-down", "percent", values, _percent(sheet, LEAK), how), over.outliers
        ),
        *judged("Leak-down, spread", "percent", [over.spread], _percent(sheet, LEAK_SPREAD),
                f"{how}: greatest less least", whole=True),
    ]  # fmt: skip


def _cranking(sheet: ItemSheet, values: Sequence[float | None], day: str) -> list[Check]:
    over = spread(values, bad=LOW_IS_BAD, step=CRANKING_STEP_KPA)
    how = f"inspection of {day}"
    return [
        *_set_apart(
            judged("Cranking compression", "cylinder_pressure", values,
                   sheet.tolerance(*CRANKING), how), over.outliers,
        ),
        *judged("Cranking compression, spread", "percent", [over.spread_percent],
                _percent(sheet, CRANKING_SPREAD), f"{how}: of the greatest", whole=True),
    ]  # fmt: skip


def _set_apart(checks: list[Check], outliers: Sequence[int]) -> list[Check]:
    """Says which cylinders do not keep up with the others."""
    if not outliers:
        return checks
    which = " and ".join(str(cylinder) for cylinder in outliers)
    stand = "stands" if len(outliers) == 1 else "stand"
    return [
        replace(check, advice=f"cylinder {which} {stand} apart from the others") for check in checks
    ]


def _percent(sheet: ItemSheet, names: tuple[str, ...]) -> Tolerance:
    """Limits in percent, typed as ``..8 %`` or as the bare number."""
    item, limits = sheet.item(*names), sheet.tolerance(*names)
    if item is None or item.unit == PLAIN:
        return limits
    if item.unit != _SHARE:
        return Tolerance()
    edges = (limits.low, limits.high, limits.reclaim_low, limits.reclaim_high)
    return Tolerance(*(None if edge is None else 100.0 * edge for edge in edges))
