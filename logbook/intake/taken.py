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

SAMPLES_TAKEN = "samples-taken"

_COARSE_RPM = 200.0  # a table without time in steps as wide as this is one of settled points
_MOST_POINTS = 40
_SLOW_S = 5.0  # so long between two samples: each was read off by hand
_HOLDS = 3
_APART = 0.03
_HELD_SHARE = 0.5
_THINNED_S = 0.1  # means over so long show a held speed as well as every sample does


@dataclass(frozen=True, slots=True)
class Taken:
    """The kind of pull (`SWEEP` or `STEADY`), its first and last sample, inclusive, and those of
    every part that could be a pull."""

    kind: str
    first: int
    last: int
    parts: tuple[tuple[int, int], ...]
    cautions: tuple[Caution, ...] = ()


def samples_taken(speed_rpm: Array, time_s: Array | None, load: Array) -> Taken:
    """Guess the kind, and find the rising loaded parts of a log, of which the longest is taken.

    Arrays of equal length, three samples or more; `time_s` with NaN is not used, a clock that
    is set back only parts the log. A table in order of speed, and steady points, are taken
    whole; so is a log without a rise under load, with a caution.
    """
    import numpy as np

    last = len(speed_rpm) - 1
    if time_s is not None and not np.isfinite(time_s).all():
        time_s = None
    forward = time_s is not None and bool((np.diff(time_s) >= 0).all())
    steps = np.diff(speed_rpm)
    in_order = bool((steps > 0).all() or (steps < 0).all())
    if _is_steady(speed_rpm, time_s if forward else None):
        return Taken(STEADY, 0, last, ((0, last),))
    if in_order:
        return Taken(SWEEP, 0, last, ((0, last),))
    from logbook.engineering.sweep import rising_parts

    try:
        parts = rising_parts(time_s, speed_rpm, load)
    except BadInput as refusal:
        return Taken(
            SWEEP,
            0,
            last,
            ((0, last),),
            (Caution("no-rise", f"All samples were taken: {refusal.what}"),),
        )
    first, end = max(parts, key=lambda part: speed_rpm[part[1]] - speed_rpm[part[0]])
    caution = taken_caution(first, end, last + 1, parts)
    return Taken(SWEEP, first, end, parts, (caution,) if caution else ())


def taken_caution(
    first: int, last: int, count: int, parts: tuple[tuple[int, int], ...]
) -> Caution | None:
    """What was taken of a log of `count` samples; ``None`` where that is all of it."""
    if (first, last) == (0, count - 1):
        return None
    text = f"Samples {first + 1} to {last + 1} of {count} were taken as the pull"
    if (first, last) not in parts:
        text += ", as they were given"
    elif len(parts) == 1:
        text += ": the longest rise of speed under load"
    else:
        text += (
            f": part {parts.index((first, last)) + 1} of {len(parts)}, rises of speed under load"
        )
    return Caution(SAMPLES_TAKEN, text)


def _means(values: Array, many: int) -> Array:
    """The mean of every `many` values; what is left over at the end is left out."""
    import numpy as np

    whole = len(values) // many * many
    total = values[:whole:many].copy()
    for place in range(1, many):  # quicker than the mean over a short axis
        total += values[place:whole:many]
    return np.asarray(total / many)


def _is_steady(speed: Array, time: Array | None) -> bool:
    import numpy as np

    if time is None:
        step = float(np.median(np.abs(np.diff(speed))))
        return len(speed) <= _MOST_POINTS and step >= _COARSE_RPM
    step = float(np.median(np.diff(time)))
    if step >= _SLOW_S:
        return True
    from logbook.engineering.trace import steady_parts

    if step > 0 and (many := int(_THINNED_S / step)) > 1:
        time, speed = _means(time, many), _means(speed, many)
    held: list[float] = []
    samples = 0
    for first, last in steady_parts(time, speed):
        mean = float(np.mean(speed[first : last + 1]))
        samples += 2 * (last - first + 1)  # a part is the second half of its hold
        if all(abs(mean - other) > _APART * other for other in held):
            held.append(mean)
    return len(held) >= _HOLDS and samples >= _HELD_SHARE * len(speed)
