"""Compression ratio from measured volumes, and what a volume has to become for a ratio.

Volumes in cm³, lengths in mm. Ratio = (swept + clearance)/clearance with the clearance volume
that is left over the piston at top dead center (Heywood, *Internal Combustion Engine
Fundamentals* (1988), section 2.2).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from logbook.refusals import BadInput


@dataclass(frozen=True, slots=True)
class Clearance:
    """What is left over the piston at top dead center, part by part, cm³.

    `piston` is what the crown adds: a dish or valve pockets count above zero, a dome below.
    `deck` is above zero with the piston below the deck. `crevice` is the ring land down to the
    top ring, where somebody has measured it.
    """

    chamber: float
    deck: float
    gasket: float
    piston: float
    crevice: float

    @property
    def total(self) -> float:
        """All parts together, cm³."""
        return self.chamber + self.deck + self.gasket + self.piston + self.crevice


def cylinder_cm3(diameter_mm: float, height_mm: float) -> float:
    """Volume of a disk, cm³: π/4·d²·h. The height may be below zero (a piston above its deck)."""
    if not (math.isfinite(diameter_mm) and diameter_mm > 0):
        raise BadInput(f"{diameter_mm:g} is not above zero", where="Diameter", wanted="above zero")
    if not math.isfinite(height_mm):
        raise BadInput(f"{height_mm} is not a number", where="Height", wanted="a length")
    return math.pi / 4.0 * diameter_mm**2 * height_mm / 1000.0


def clearance_volume(
    *,
    bore_mm: float,
    chamber_cm3: float,
    deck_mm: float = 0.0,
    gasket_bore_mm: float | None = None,
    gasket_mm: float = 0.0,
    piston_cm3: float = 0.0,
    crevice_cm3: float = 0.0,
) -> Clearance:
    """The clearance volume of one cylinder, part by part.

    Parameters
    ----------
    deck_mm : how far the piston stands below the deck at top dead center; below zero above it.
    gasket_bore_mm, gasket_mm : of the head gasket as tightened; its bore is the cylinder's where
        not given.
    piston_cm3 : dish and valve pockets less dome.
    crevice_cm3 : around the piston down to the top ring.

    Raises
    ------
    BadInput
        A chamber, gasket or crevice below zero, or a sum that leaves nothing.
    """
    for field, value in (
        ("Chamber", chamber_cm3),
        ("Gasket thickness", gasket_mm),
        ("Crevice", crevice_cm3),
    ):
        if not (math.isfinite(value) and value >= 0):
            raise BadInput(f"{value:g} is below zero", where=field, wanted="a value from zero up")
    clearance = Clearance(
        chamber=chamber_cm3,
        deck=cylinder_cm3(bore_mm, deck_mm),
        gasket=cylinder_cm3(bore_mm if gasket_bore_mm is None else gasket_bore_mm, gasket_mm),
        piston=piston_cm3,
        crevice=crevice_cm3,
    )
    if not clearance.total > 0:
        raise BadInput(
            f"{clearance.total:.3g} cm³ are left over the piston",
            where="Clearance volume",
            wanted="volumes that add up to more than zero: a dome counts below zero, a dish above",
        )
    return clearance


def compression_ratio(swept_cm3: float, clearance_cm3: float) -> float:
    """(swept + clearance)/clearance of one cylinder; both in the same unit, both above zero."""
    for field, value in (("Swept volume", swept_cm3), ("Clearance volume", clearance_cm3)):
        if not (math.isfinite(value) and value > 0):
            raise BadInput(f"{value:g} is not above zero", where=field, wanted="a value above zero")
    return 1.0 + swept_cm3 / clearance_cm3


def clearance_for_ratio(swept_cm3: float, ratio: float) -> float:
    """The clearance volume that a cylinder needs for a compression ratio: swept/(ratio − 1)."""
    if not (math.isfinite(ratio) and ratio > 1):
        raise BadInput(
            f"{ratio:g} is no compression ratio", where="Compression ratio", wanted="such as 12.5"
        )
    if not (math.isfinite(swept_cm3) and swept_cm3 > 0):
        raise BadInput(f"{swept_cm3:g} is not above zero", where="Swept volume")
    return swept_cm3 / (ratio - 1.0)
