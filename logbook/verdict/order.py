"""The order in which a session's set-ups were pulled, and the fit with a level for each."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from logbook.verdict.fit import Array, Labels, indicators, runs_of
from logbook.verdict.noise import Prior, Wander
from logbook.verdict.settled import Settled, settled


@dataclass(frozen=True, slots=True, eq=False)
class Order:
    """The order in which a session was pulled; arrays of shape (pulls,), by pull number."""

    number: Labels
    setup: Labels
    run: Labels
    labels: tuple[int, ...]
    columns: Array

    def weights(self, before: int, after: int) -> Array:
        """The contrast after − before over the set-ups' columns."""
        weights = np.zeros(len(self.labels))
        weights[self.labels.index(after)] += 1.0
        weights[self.labels.index(before)] -= 1.0
        return weights

    def pulls_of(self, label: int) -> tuple[int, ...]:
        """The pull numbers of one set-up."""
        return tuple(int(n) for n in self.number[self.setup == label])

    def returned_after(self, label: int, baseline: int) -> bool:
        """Whether the baseline was pulled before a set-up, and again after it was first tried:
        a bracket, or turn and turn about."""
        mine, base = self.number[self.setup == label], self.number[self.setup == baseline]
        if mine.size == 0 or base.size == 0:
            return False
        return bool(base.min() < mine.min() and base.max() > mine.min())

    def away(self, label: int, baseline: int) -> int:
        """How many pulls lie between a set-up and the baseline's pulls nearest before and after it,
        on the farther side; 0 where the baseline was not pulled on either."""
        mine, base = self.number[self.setup == label], self.number[self.setup == baseline]
        before, after = base[base < mine.min()], base[base > mine.max()]
        gaps = [int(mine.min() - before.max())] if before.size else []
        gaps += [int(after.min() - mine.max())] if after.size else []
        return max(gaps, default=1) - 1


def order_of(
    number: npt.ArrayLike, setup: npt.ArrayLike, run: npt.ArrayLike | None = None
) -> tuple[Order, Labels]:
    """The order of a session's pulls, and the permutation that sorts them by number."""
    numbers = np.asarray(number, dtype=np.int64)
    labels = np.asarray(setup, dtype=np.int64)
    if numbers.size == 0 or numbers.shape != labels.shape or numbers.ndim != 1:
        raise ValueError("pull numbers and set-ups must be two lists of equal length, not empty")
    sorting = np.argsort(numbers, kind="stable")
    numbers, labels = numbers[sorting], labels[sorting]
    runs = runs_of(labels) if run is None else np.asarray(run, dtype=np.int64)[sorting]
    distinct, columns = indicators(labels)
    names = tuple(int(label) for label in distinct)
    return Order(numbers, labels, runs, names, columns), sorting.astype(np.int64)


def settle_setups(
    order: Order,
    data: Array,
    prior: Prior | None,
    wander: Wander,
    *,
    pooled_over: Array | None = None,
) -> Settled:
    """The one fit, with a level per set-up; `data` has shape (pulls, data sets), in percent, its
    noise pooled as for `noise.settle`."""
    return settled(
        order.number,
        order.columns,
        data,
        run=order.run,
        prior=prior,
        wander=wander,
        pooled_over=pooled_over,
    )
