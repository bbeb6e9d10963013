"""Reference torque from dead weights: local gravity, mass and arm.

Gravity changes by 0.5 % from the equator to the poles and by 0.03 % per 1000 m: as much as a
load cell's whole tolerance.
"""

from __future__ import annotations

import math

from logbook.engineering.limits import check
from logbook.refusals import BadInput

# WGS 84: NIMA TR8350.2 (2000), tables 3.1 and 3.4.
_EQUATOR_M_S2 = 9.7803253359
_SOMIGLIANA = 0.00193185265241
_ECCENTRICITY_SQUARED = 0.00669437999014
_SEMI_MAJOR_M = 6_378_137.0
_FLATTENING = 1.0 / 298.257223563
_M = 0.00344978650684  # ω²a²b/GM

BUOYANCY = 1.0 - 1.2 / 8000.0
"""What air of 1.2 kg/m³ leaves of a weight's force, its mass being the conventional one (OIML
R 111: in that air against weights of 8000 kg/m³). Weights made as masses carry that mass."""


def local_gravity_m_s2(latitude_deg: float, altitude_m: float) -> float:
    """Normal gravity of the WGS 84 ellipsoid at a latitude and height, m/s².

    Somigliana's closed formula on the ellipsoid (NIMA TR8350.2, equation 4-1) carried up by the
    series to the second power of the height (equation 4-3). Real gravity differs from it by up
    to about 0.01 % (anomalies of the ground, no source for a given place): a surveyed value of
    the place goes before this.

    Parameters
    ----------
    latitude_deg : geographic, −90 to 90, north or south alike.
    altitude_m : height, −500 to 6000 m; that above the sea serves as that above the ellipsoid
        (100 m of difference are 0.003 %).
    """
    if not -90.0 <= latitude_deg <= 90.0:
        raise BadInput(
            f"{latitude_deg:g}° is outside −90–90°", where="Latitude", wanted="such as 47.5"
        )
    check("Altitude", "altitude", altitude_m)
    square = math.sin(math.radians(latitude_deg)) ** 2
    ground = (
        _EQUATOR_M_S2
        * (1.0 + _SOMIGLIANA * square)
        / math.sqrt(1.0 - _ECCENTRICITY_SQUARED * square)
    )
    height = altitude_m / _SEMI_MAJOR_M
    bend = 1.0 + _FLATTENING + _M - 2.0 * _FLATTENING * square
    return ground * (1.0 - 2.0 * bend * height + 3.0 * height**2)


def dead_weight_torque_nm(mass_kg: float, arm_mm: float, gravity_m_s2: float) -> float:
    """Torque of a mass hung on a level arm, N·m: m·g·arm, less the buoyancy of air (`BUOYANCY`).

    The arm is the level distance from the axis to the line of the weight. A mass below zero
    hangs on the other side.
    """
    if not math.isfinite(mass_kg):
        raise BadInput(f"{mass_kg} is not a number", where="Mass", wanted="such as 20 kg")
    if not (math.isfinite(arm_mm) and arm_mm > 0):
        raise BadInput(f"{arm_mm:g} mm is not above zero", where="Arm", wanted="such as 1000 mm")
    if not 9.7 < gravity_m_s2 < 9.9:
        raise BadInput(
            f"{gravity_m_s2:g} m/s² is nowhere on earth", where="Gravity", wanted="such as 9.807"
        )
    return mass_kg * gravity_m_s2 * BUOYANCY * arm_mm / 1000.0
