"""How often the band of a difference over speed holds the truth, at each speed by itself."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from logbook.verdict.curve import POOLED_SHARE, difference_curve
from logbook.verdict.fit import indicators
from tests.benchmarks.cell_of_known_truth import Array, order_from

SPEED = np.linspace(4000.0, 7000.0, 40)
ORDERS = ("AAABBB", "AABBA", "AABBAABB")
DRIFT, RESETTING = 0.1, 0.15
TOGETHER = 0.95
"""Correlation of neighboring bins: the absorber's grip wanders slowly."""


@dataclass(frozen=True, slots=True)
class BinNoise:
    """Noise of one bin: standard deviation in percent at the quietest speed, how many times that
    at the loudest, over what share of the range it falls from the lowest speed, and whether
    neighbors err together."""

    percent: float
    loudest: float = 1.0
    falls_over: float = 1.0
    together: bool = False

    def at(self, share: Array) -> Array:
        """Standard deviation along the range (0–1)."""
        return self.percent * (1.0 + (self.loudest - 1.0) * np.exp(-share / self.falls_over))


NOISES = (
    BinNoise(0.3),
    BinNoise(0.5, loudest=3.0, falls_over=0.5),
    BinNoise(0.8, together=True),
    BinNoise(0.5, loudest=3.0, falls_over=0.2, together=True),
)


@dataclass(frozen=True, slots=True)
class BandRow:
    """Shares from 0 to 1: coverage over all bins, and in the worst bin; mean width of the band,
    percent; and how far that jumps from bin to bin, mean of |ln| of the ratio."""

    order: str
    noise: BinNoise
    covered: float
    worst: float
    width: float
    jumps: float


def errors(pulls: int, noise: BinNoise, rng: np.random.Generator) -> Array:
    """Errors of every pull in every bin, percent, shape (pulls, bins)."""
    found = rng.normal(size=(pulls, SPEED.size))
    if noise.together:
        rest = np.sqrt(1.0 - TOGETHER**2)
        for k in range(1, SPEED.size):
            found[:, k] = TOGETHER * found[:, k - 1] + rest * found[:, k]
    return np.asarray(found * noise.at(np.linspace(0.0, 1.0, SPEED.size)))


def band_row(
    letters: str,
    noise: BinNoise,
    sessions: int,
    *,
    pooled_share: float = POOLED_SHARE,
    seed: int = 5,
) -> BandRow:
    """Simulate sessions of one order with a worthless change; the whole curve drifts and is set
    up again together."""
    order, rng = order_from(letters), np.random.default_rng(seed)
    _, blocks = indicators(order.run)
    time = order.number - order.number.mean()
    held = np.zeros(SPEED.size)
    width = jumps = 0.0
    for _ in range(sessions):
        moved = rng.normal(0.0, DRIFT) * time + blocks @ rng.normal(0.0, RESETTING, blocks.shape[1])
        curves = 300.0 * (1.0 + (errors(time.size, noise, rng) + moved[:, None]) / 100.0)
        band = difference_curve(
            SPEED, curves, order.number, order.setup, 0, 1, pooled_share=pooled_share
        )
        held += (band.low <= 0.0) & (band.high >= 0.0)
        height = (band.high - band.low) / 3.0
        width += float(height.mean()) / sessions
        jumps += float(np.abs(np.diff(np.log(height))).mean()) / sessions
    share = held / sessions
    return BandRow(letters, noise, float(share.mean()), float(share.min()), width, jumps)


def band_rows(sessions: int) -> Iterator[tuple[BandRow, BandRow]]:
    """Every order and noise, pooled and each bin by itself."""
    for letters in ORDERS:
        for noise in NOISES:
            yield (
                band_row(letters, noise, sessions),
                band_row(letters, noise, sessions, pooled_share=0.0),
            )
