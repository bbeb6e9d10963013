"""The verdict words, and the few phrases that every sentence about a verdict is made of."""

from __future__ import annotations

from collections.abc import Sequence

GAIN = "gain"
LOSS = "loss"
GAIN_SO_FAR = "gain so far"
LOSS_SO_FAR = "loss so far"
LEANING = "leaning"
NOTHING = "nothing worth having"
NOT_SETTLED = "not settled"

VERDICTS = (GAIN, LOSS, GAIN_SO_FAR, LOSS_SO_FAR, LEANING, NOTHING, NOT_SETTLED)
"""Every verdict word; their places in this tuple are the codes that arrays carry."""

FINAL = frozenset({GAIN, LOSS, NOTHING})
"""The verdicts that say something and stay."""

THIS_SESSION = "this session"
CELL_HISTORY = "cell history"
FAMILY_HISTORY = "family history"
ASSUMED = "assumed"


def code(word: str) -> int:
    """The place of a verdict word in `VERDICTS`."""
    return VERDICTS.index(word)


def pulls(count: int) -> str:
    """``"1 pull"``, ``"3 pulls"``."""
    return "1 pull" if count == 1 else f"{count} pulls"


def samples(count: int) -> str:
    """``"1 sample"``, ``"3 samples"``."""
    return "1 sample" if count == 1 else f"{count} samples"


def signed(value: float, digits: int = 2) -> str:
    """A number that always shows its sign, with a true minus: ``"+0.40"``, ``"−0.12"``."""
    text = f"{value:+.{digits}f}"
    return text.replace("-", "−")


def spread(interval: tuple[float, float], unit: str = "%", digits: int = 2) -> str:
    """An interval in words: ``"−0.20 to +1.10 %"``."""
    return f"{signed(interval[0], digits)} to {signed(interval[1], digits)} {unit}"


def listed(names: Sequence[str]) -> str:
    """``"a, b and c"``."""
    if len(names) < 2:
        return "".join(names)
    return f"{', '.join(names[:-1])} and {names[-1]}"
