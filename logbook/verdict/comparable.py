"""Which pulls say something about one factor alone: those that differ in nothing else."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from logbook.records.setup import TIMING, SetUp, factor_key
from logbook.verdict import words


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A pull that does not count, by its place in the list, and why, as a sentence."""

    place: int
    why: str


@dataclass(frozen=True, slots=True)
class Comparable:
    """The places of the pulls that count, in order, and those left out with the reason."""

    used: tuple[int, ...]
    left_out: tuple[LeftOut, ...]


def differing_in_timing_only(
    setups: Sequence[SetUp], present: SetUp, excluded: Sequence[str | None] | None = None
) -> Comparable:
    """Sort out the pulls whose set-up is `present` but for the timing.

    Parameters
    ----------
    setups : the set-up of each pull.
    present : the set-up that timing is looked for.
    excluded : per pull, why the operator excluded it, or ``None``.
    """
    used: list[int] = []
    left_out: list[LeftOut] = []
    for place, setup in enumerate(setups):
        reason = excluded[place] if excluded is not None else None
        barring = [
            change.factor
            for change in setup.changed_from(present)
            if factor_key(change.factor) != TIMING
        ]
        if reason is not None:
            left_out.append(LeftOut(place, f"Excluded: {reason}"))
        elif barring:
            left_out.append(LeftOut(place, f"Differs in {words.listed(barring)} too"))
        elif setup.timing_deg is None:
            left_out.append(LeftOut(place, "Its timing was not set down"))
        else:
            used.append(place)
    return Comparable(tuple(used), tuple(left_out))
