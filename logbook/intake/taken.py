"""Which kind of pull a file looks like, and which of its samples are the pull."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from logbook.records.caution import Caution
from logbook.records.pull import STEADY, SWEEP
from logbook.refusals import BadInput

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

_COARSE_RPM = 200.0  # a table without time in steps as wide as this is one of settled points
_MOST_POINTS = 40
_SLOW_S = 5.0  # so long between two samples: each was read off by hand
_HOLDS = 3
_APART = 0.03
_HELD_SHARE = 0.5


@dataclass(frozen=True, slots=True)
class Taken:
    """The kind of pull (`SWEEP` or `STEADY`) and its first and last sample, inclusive."""

    kind: str
    first: int
    last: int
    cautions: tuple[Caution, ...] = ()


def samples_taken(speed_rpm: Array, time_s: Array | None, load: Array) -> Taken:
    """Guess the kind, and find the rising loaded part of a log.

    Arrays of equal length, three samples or more; `time_s` may hold NaN or run backward and is
    then not used. A table in order of speed, and steady points, are taken whole; so is a log
    without a rise under load, with a caution.
    """
    import numpy as np

    last = len(speed_rpm) - 1
    if time_s is not None and not (np.isfinite(time_s).all() and (np.diff(time_s) >= 0).all()):
        time_s = None
    steps = np.diff(speed_rpm)
    in_order = bool((steps > 0).all() or (steps < 0).all())
    if _is_steady(speed_rpm, time_s):
        return Taken(STEADY, 0, last)
    if in_order:
        return Taken(SWEEP, 0, last)
    from logbook.engineering.trace import rising_part

    try:
        first, end = rising_part(time_s, speed_rpm, load)
    except BadInput as refusal:
        return Taken(
            SWEEP, 0, last, (Caution("no-rise", f"All samples were taken: {refusal.what}"),)
        )
    if (first, end) == (0, last):
        return Taken(SWEEP, first, end)
    text = (
        f"Samples {first + 1} to {end + 1} of {last + 1} were taken as the pull:"
        " the longest rise of speed under load"
    )
    return Taken(SWEEP, first, end, (Caution("samples-taken", text),))


def _is_steady(speed: Array, time: Array | None) -> bool:
    import numpy as np

    if time is None:
        step = float(np.median(np.abs(np.diff(speed))))
        return len(speed) <= _MOST_POINTS and step >= _COARSE_RPM
    if float(np.median(np.diff(time))) >= _SLOW_S:
        return True
    from logbook.engineering.trace import steady_parts

    held: list[float] = []
    samples = 0
    for first, last in steady_parts(time, speed):
        mean = float(np.mean(speed[first : last + 1]))
        samples += 2 * (last - first + 1)  # a part is the second half of its hold
        if all(abs(mean - other) > _APART * other for other in held):
            held.append(mean)
    return len(held) >= _HOLDS and samples >= _HELD_SHARE * len(speed)
