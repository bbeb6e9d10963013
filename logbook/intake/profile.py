"""A surface profile from a stylus instrument's text file: heights, or positions and heights.

One sample a line; columns parted by tab, semicolon, comma or blanks. Lines above the first
sample that are no numbers are the instrument's remarks.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from logbook.intake.text import decode
from logbook.refusals import BadFile

MOST_SAMPLES = 500_000
UNEVEN = 0.02
"""How far steps between positions may lie from their mean, as a share of it."""

_SAMPLE = "a height on every line, or a position and a height"


@dataclass(frozen=True, slots=True)
class Profile:
    """Heights as printed, in the file's unit; `step` is the mean step of its positions, in their
    unit, or ``None`` where it has only heights."""

    heights: tuple[float, ...]
    step: float | None


def read_profile(content: bytes, *, where: str) -> Profile:
    """The samples of a profile file.

    Raises `BadFile` with the line for what is no sample, for positions that are not evenly
    apart, and for what is no text at all.
    """
    samples: list[tuple[float, ...]] = []
    for number, line in enumerate(decode(content, where=where).text.split("\n"), 1):
        if not line.strip():
            continue
        values = _numbers(line)
        if values is None or len(values) > 2:
            if not samples:
                continue
            raise BadFile(f"{line.strip()[:40]!r} is no sample", where=f"{where}, line {number}",
                          wanted=_SAMPLE)  # fmt: skip
        if samples and len(values) != len(samples[0]):
            raise BadFile(
                f"{len(values)} numbers after {len(samples[0])}",
                where=f"{where}, line {number}",
                wanted=_SAMPLE,
            )
        samples.append(values)
        if len(samples) > MOST_SAMPLES:
            raise BadFile(f"more than {MOST_SAMPLES:,} samples", where=where, wanted="a part of it")
    if len(samples) < 2:
        raise BadFile("there is no profile in it", where=where, wanted=_SAMPLE)
    return Profile(tuple(values[-1] for values in samples), _step(samples, where))


def _numbers(line: str) -> tuple[float, ...] | None:
    """The numbers of a line; a comma is a decimal mark where something else parts columns."""
    text = line.strip().rstrip(";,")
    if re.search(r"[\t;]", text) or (text.count(",") == 1 and "." not in text):
        text = text.replace(",", ".")
    try:
        return tuple(float(part) for part in re.split(r"[\t;, ]+", text))
    except ValueError:
        return None


def _step(samples: list[tuple[float, ...]], where: str) -> float | None:
    if len(samples[0]) == 1:
        return None
    places = [values[0] for values in samples]
    step = (places[-1] - places[0]) / (len(places) - 1)
    worst = max(range(1, len(places)), key=lambda n: abs(places[n] - places[n - 1] - step))
    if not step > 0 or abs(places[worst] - places[worst - 1] - step) > UNEVEN * step:
        raise BadFile(
            f"the positions {places[worst - 1]:g} and {places[worst]:g} are not {step:g} apart as"
            " the others are",
            where=where,
            wanted="a profile sampled at even steps",
        )
    return step
