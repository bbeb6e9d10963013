"""One log, several pulls: each rising loaded part can be taken as a pull of its own."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from logbook.intake.taken import SAMPLES_TAKEN, taken_caution
from logbook.records.trace import Trace
from logbook.refusals import BadInput

if TYPE_CHECKING:
    from logbook.intake.file import ReadFile

LEAST_SAMPLES = 3
_EDGES = "the first and the last sample of the pull, such as 601-1210"


def take_part(file: ReadFile, number: int) -> ReadFile:
    """The file with its part `number`, from 1, as the pull.

    Of a file with several parts only the samples up to the neighboring parts stay in the
    trace. Raises `BadInput` for a part that is not there.
    """
    count = len(file.parts)
    if not 1 <= number <= count:
        holds = "1 part" if count == 1 else f"{count} parts"
        raise BadInput(f"there is no part {number}: {file.name} holds {holds}", where="Part",
                       wanted="a number from 1; `logbook pull parts FILE` lists them")  # fmt: skip
    first, last = file.parts[number - 1]
    return replace(_between(file, first, last), part=number)


def take_samples(file: ReadFile, first: int, last: int) -> ReadFile:
    """The file with the samples `first` to `last` (counted from 0, both taken) as the pull.

    Raises `BadInput` where the file has no such samples.
    """
    count = len(file.trace.channels[0].values) if file.trace.channels else 0
    check_samples(first, last, count)
    return _between(file, first, last)


def check_samples(first: int, last: int, count: int) -> None:
    """Refuse edges outside `count` samples, or too close. They are counted from 0."""
    if not 0 <= first <= last < count:
        said = f"{first + 1}–{last + 1} lies outside the samples 1–{count}"
        raise BadInput(said, where="Samples", wanted=_EDGES)
    if last - first + 1 < LEAST_SAMPLES:
        said = f"{first + 1}–{last + 1} are fewer than {LEAST_SAMPLES} samples"
        raise BadInput(said, where="Samples", wanted=_EDGES)


def _between(file: ReadFile, first: int, last: int) -> ReadFile:
    """The samples taken, and those around them up to the parts before and after."""
    count = len(file.trace.channels[0].values)
    begin = max((end + 1 for _, end in file.parts if end < first), default=0)
    end = min((start - 1 for start, _ in file.parts if start > last), default=count - 1)
    channels = file.trace.channels
    if (begin, end) != (0, count - 1):
        channels = tuple(replace(c, values=c.values[begin : end + 1]) for c in channels)
    caution = taken_caution(first, last, count, file.parts)
    others = tuple(one for one in file.cautions if one.code != SAMPLES_TAKEN)
    return replace(
        file,
        trace=Trace(channels, first - begin, last - begin),
        first_in_file=begin,
        cautions=(*others, caution) if caution else others,
    )
