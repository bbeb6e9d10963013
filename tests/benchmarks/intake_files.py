"""Invented files from a data system: 12 channels, each printed with its own digits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

RATE_HZ = 100.0
HEADER = (
    "Time [s],Engine speed [rpm],Torque [lb-ft],Power [hp],Manifold vacuum [inHg],"
    "Crankcase vacuum [inHg],Blow-by [cfm],Oil temperature [degF],Oil pressure [psi],"
    "Coolant temperature [degF],Exhaust temperature [degF],Lambda [-]"
)
_DIGITS = (2, 0, 2, 2, 3, 2, 3, 1, 1, 1, 0, 4)


def sweep_file(seed: int, samples: int = 300) -> str:
    """One pull from 4000 to 7000 rpm, with the noise of its seed."""
    speed = np.linspace(4000.0, 7000.0, samples)
    return _text(speed, np.ones(samples), np.random.default_rng(seed))


def evening_file(samples: int, pulls: int, seed: int = 1) -> str:
    """A log of so many pulls of 15 s at most, the idle before and the fall after each."""
    rng = np.random.default_rng(seed)
    every = samples // pulls
    rise = min(1500, every // 2)
    fall = rise // 3
    idle = np.full(every - rise - fall, 1200.0)
    one = np.concatenate(
        (idle, np.linspace(3500.0, 7000.0, rise), np.linspace(7000.0, 1200.0, fall))
    )
    loaded = np.concatenate((np.full(len(idle), 0.03), np.ones(rise), np.full(fall, 0.05)))
    rest = samples - pulls * every
    speed = np.concatenate((*[one] * pulls, np.full(rest, 1200.0)))
    return _text(speed, np.concatenate((*[loaded] * pulls, np.full(rest, 0.03))), rng)


def _text(speed: Array, load: Array, rng: np.random.Generator) -> str:
    count = len(speed)

    def noise(size: float) -> Array:
        return rng.normal(0.0, size, count)

    torque = load * (400.0 - ((speed - 5000.0) / 150.0) ** 2) + noise(0.6)
    speed = speed + noise(2.0)
    columns = (
        np.arange(count) / RATE_HZ,
        speed,
        torque,
        torque * np.round(speed) / 5252.113,
        0.4 + speed / 4000.0 + noise(0.02),
        9.5 + noise(0.05),
        1.2 + speed / 9000.0 + noise(0.01),
        195.0 + np.arange(count) / 900.0 + noise(0.2),
        62.0 + noise(0.4),
        178.0 + noise(0.2),
        1250.0 + 200.0 * load + noise(4.0),
        0.87 + noise(0.004),
    )
    line = ",".join(f"%.{digits}f" for digits in _DIGITS)
    rows = np.column_stack(columns).tolist()
    return "\n".join((HEADER, *(line % tuple(row) for row in rows), ""))
