"""Conversion between a listed unit and the unit in which its kind is stored.

Exact constants (NIST SP 811, Appendix B; BIPM): 1 hp = 550 ft·lbf/s = 745.69987158227022 W,
1 PS = 75 kgf·m/s = 735.49875 W, 1 inHg (conventional, 0 °C) = 3386.389 Pa,
1 lb·ft = 1.3558179483314004 N·m, 1 psi = 6894.757293168361 Pa, 1 grain/lb = 1/7000.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from logbook.quantities.kinds import KINDS
from logbook.quantities.spelling import find_unit, units_of
from logbook.quantities.units import INCH_OF_MERCURY_PA, UNITS, WATER_60F_KG_M3, Unit
from logbook.refusals import BadInput

if TYPE_CHECKING:
    import pint


@lru_cache(maxsize=1)
def registry() -> pint.UnitRegistry[Any]:
    """The pint registry, made at first need, with the conventional units pint lacks.

    pint's own inHg follows from the density of mercury (3386.38864 Pa); the conventional unit
    that barometers are scaled in is rounded to 3386.389 Pa. So with water columns at 4 °C
    (249.08194 Pa from its density, 249.08891 Pa by NIST SP 811).
    """
    import pint

    units: pint.UnitRegistry[Any] = pint.UnitRegistry()
    units.define(f"conventional_inch_Hg = {INCH_OF_MERCURY_PA} * pascal")
    units.define("conventional_inch_H2O = 249.08891 * pascal")
    units.define("conventional_millimeter_H2O = 9.80665 * pascal")
    units.define(f"specific_gravity_60F = {WATER_60F_KG_M3} * kilogram / meter**3")
    units.define("btu_it = 1055.05585262 * joule")
    units.define("kilocalorie_it = 4186.8 * joule")
    return units


def linear_by_pint(unit: Unit, base: Unit) -> tuple[float, float]:
    """Factor and offset from `unit` to `base` as pint has them."""
    units = registry()
    if unit.dimension != "temperature":
        return float(units.Quantity(1.0, unit.pint).to(base.pint).magnitude), 0.0
    delta = {"degC": "delta_degC", "degF": "delta_degF"}.get(unit.pint, unit.pint)
    return (
        float(units.Quantity(1.0, delta).to("delta_degC").magnitude),
        float(units.Quantity(0.0, unit.pint).to(base.pint).magnitude),
    )


@lru_cache(maxsize=512)
def _to_base(unit: Unit) -> tuple[float, float]:
    if unit.exact is not None:
        return unit.exact
    base = next(u for u in UNITS if u.dimension == unit.dimension and u.exact == (1.0, 0.0))
    return linear_by_pint(unit, base)


@lru_cache(maxsize=512)
def linear(unit: str, kind: str) -> tuple[float, float]:
    """Factor and offset: stored value = value · factor + offset.

    Raises
    ------
    BadInput
        `unit` is no listed unit of this kind.
    """
    found = find_unit(unit, kind)
    if found is None:
        raise BadInput(
            f'"{unit}" is not a unit of {KINDS[kind].words}',
            wanted=f"one of {', '.join(units_of(kind))}",
        )
    stored = find_unit(KINDS[kind].stored, kind)
    assert stored is not None
    factor, offset = _to_base(found)
    if stored is found:
        return 1.0, 0.0
    base_factor, base_offset = _to_base(stored)
    return factor / base_factor, (offset - base_offset) / base_factor


def to_stored(value: float, unit: str, kind: str) -> float:
    """`value` in `unit`, converted to the unit in which `kind` is stored."""
    factor, offset = linear(unit, kind)
    return value * factor + offset


def from_stored(value: float, unit: str, kind: str) -> float:
    """A stored value of `kind`, converted to `unit`."""
    factor, offset = linear(unit, kind)
    return (value - offset) / factor
