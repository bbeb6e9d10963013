"""What a binary recording holds: columns of numbers on one or several time bases.

A library reads such a file in a process of its own (`apart`); what it found comes back over a
pipe as one line of JSON and the samples after it.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from logbook.intake.numbers import MOST_DECIMALS
from logbook.refusals import BadFile

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    Array = npt.NDArray[np.float64]

MAX_CELLS = 10_000_000
MAX_UNPACKED = 256 * 1024 * 1024
MAX_COLUMNS = 2000
_MIB = 1024 * 1024
_EXACT = 2.0**53
_SMALLER = "the pull alone, cut out of the long recording"


@dataclass(frozen=True, slots=True, eq=False)
class Recorded:
    """One column as it was recorded.

    `values` (samples,) are the source's numbers, to the last bit where float64 can hold them,
    with NaN where nothing was recorded; `decimals` are the digits they have after the point.
    Of a column of text, `text` is the first and `values` are 1 where there is any. `whole`: the
    source holds integers. `clock`: seconds of a clock. `rounded`: integers too long for float64.
    """

    name: str
    unit: str
    values: Array
    decimals: int = 0
    text: str | None = None
    whole: bool = False
    clock: bool = False
    rounded: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Base:
    """Columns of one length; `time` is the place of the one that holds their time in seconds."""

    columns: tuple[Recorded, ...]
    time: int | None = None

    @property
    def samples(self) -> int:
        """How many samples each column has."""
        return len(self.columns[0].values) if self.columns else 0


@dataclass(frozen=True, slots=True, eq=False)
class Recording:
    """All time bases of a file, and the remarks that stand beside the samples."""

    bases: tuple[Base, ...]
    remarks: tuple[str, ...] = ()


def check_amount(cells: int, unpacked: int, columns: int) -> None:
    """Refuse, before samples are unpacked, what is too much for one pull."""
    if cells > MAX_CELLS:
        raise BadFile(f"it holds {cells:,} values, more than {MAX_CELLS // 1_000_000} million",
                      wanted=_SMALLER)  # fmt: skip
    if unpacked > MAX_UNPACKED:
        raise BadFile(f"it would unpack to {unpacked / _MIB:,.0f} MB, more than"
                      f" {MAX_UNPACKED // _MIB}", wanted=_SMALLER)  # fmt: skip
    if columns > MAX_COLUMNS:
        raise BadFile(f"it has {columns:,} channels, more than {MAX_COLUMNS:,}",
                      wanted="the channels of the pull alone")  # fmt: skip


def recorded(name: str, unit: str, values: npt.NDArray[Any], *, clock: bool = False) -> Recorded:
    """A column of integers, truth values or floating-point numbers, exactly as they are."""
    import numpy as np

    whole = values.dtype.kind in "iub"
    exact = values.astype(np.float64)
    exact[~np.isfinite(exact)] = np.nan  # of the kinds of NaN only the one that says nothing
    rounded = whole and bool((np.abs(exact) > _EXACT).any())
    return Recorded(name, unit, exact, exact_decimals(exact), None, whole, clock, rounded)


def said(name: str, has: npt.NDArray[np.bool_], first: str) -> Recorded:
    """A column of text, or of what else is no number."""
    import numpy as np

    return Recorded(name, "", has.astype(np.float64), text=first[:200])


def exact_decimals(values: Array) -> int:
    """The fewest digits after the point in which every value is exactly itself.

    `MOST_DECIMALS` where there is no such number of digits: such values are binary fractions.
    """
    import numpy as np

    present = values[~np.isnan(values)]
    with np.errstate(over="ignore", invalid="ignore"):
        for digits in range(MOST_DECIMALS):
            scale = 10.0**digits
            counts = np.rint(present * scale)
            if not (np.abs(counts) < _EXACT).all():
                break
            if np.array_equal(counts / scale, present):
                return digits
    return MOST_DECIMALS


def pack(recording: Recording) -> Iterator[bytes]:
    """The recording as bytes: a line of JSON, then the samples as float64."""
    head = {
        "remarks": recording.remarks,
        "bases": [
            {
                "time": base.time,
                "samples": base.samples,
                "columns": [
                    [one.name, one.unit, one.decimals, one.text, one.whole, one.clock, one.rounded]
                    for one in base.columns
                ],
            }
            for base in recording.bases
        ],
    }
    yield json.dumps(head).encode() + b"\n"
    for base in recording.bases:
        for column in base.columns:
            yield column.values.tobytes()


def unpack(content: bytes) -> Recording:
    """What `pack` made."""
    import numpy as np

    line, _, samples = content.partition(b"\n")
    head = json.loads(line)
    at = 0

    def columns(count: int, described: Sequence[Sequence[Any]]) -> Iterator[Recorded]:
        nonlocal at
        for name, unit, *rest in described:
            values = np.frombuffer(samples, np.float64, count, at)
            at += values.nbytes
            yield Recorded(name, unit, values, *rest)

    bases = [
        Base(tuple(columns(base["samples"], base["columns"])), base["time"])
        for base in head["bases"]
    ]
    return Recording(tuple(bases), tuple(head["remarks"]))
