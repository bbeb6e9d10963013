"""The trace: channels against sample, as the source printed them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

NOT_ASKED = "not asked"
# The quantities a channel can be known as; any other channel keeps only its own name.
QUANTITIES: Mapping[str, str] = {
    "time": "s",
    "engine speed": "rpm",
    "torque": "nm",
    "power": "kw",
    "fuel flow": "kg_h",
    "air flow": "kg_h",
    "air volume flow": "m3_h",
    "blow-by": "m3_h",
    "manifold vacuum": "kpa",
    "crankcase vacuum": "kpa",
    "oil pressure": "kpa",
    "fuel pressure": "kpa",
    "oil temperature": "c",
    "coolant temperature": "c",
    "fuel temperature": "c",
    "inlet temperature": "c",
    "exhaust temperature": "c",
    "lambda": "ratio",
    "throttle": "percent",
    "timing": "deg",
}


@dataclass(frozen=True, slots=True, eq=False)
class Channel:
    """One recorded channel.

    `values` are float64 in the source's own `unit`, shape (samples,), NaN where the source had
    nothing; `decimals` is the number of digits it printed after the point. `quantity` is a key
    of `QUANTITIES` or ``None``. Stored value = values · `si_factor` + `si_offset`, in `si_unit`
    (``None`` where the unit is not known).
    """

    name: str
    quantity: str | None
    unit: str
    values: npt.NDArray[np.float64]
    decimals: int
    si_unit: str | None = None
    si_factor: float = 1.0
    si_offset: float = 0.0

    def si(self) -> npt.NDArray[np.float64]:
        """The values in `si_unit`, shape (samples,)."""
        import numpy as np

        with np.errstate(over="ignore"):  # what stands for a broken sensor may be any number
            return self.values * self.si_factor + self.si_offset


@dataclass(frozen=True, slots=True, eq=False)
class Trace:
    """All channels of a pull, each of the same length, in the order of the source.

    `first_sample` and `last_sample` (inclusive) bound the samples taken as the pull.
    """

    channels: tuple[Channel, ...]
    first_sample: int
    last_sample: int

    def of(self, quantity: str) -> Channel | None:
        """The first channel known as `quantity`."""
        return next((c for c in self.channels if c.quantity == quantity), None)


@dataclass(frozen=True, slots=True)
class Source:
    """A source file as it was: name, hash and bytes. `content` is the file, byte for byte."""

    id: str
    sha256: str
    name: str
    taken_at: str
    content: bytes
    signature: str


@dataclass(frozen=True, slots=True)
class SourceKind:
    """What was answered once for all files with this header.

    `torque_state` is ``"observed"``, the key of the standard the source corrects to, or
    `NOT_ASKED`. `column_map` says which column is which quantity, with its unit, where the
    header does not: ``{"torque": "TQ [lb-ft]"}``.
    """

    id: str
    signature: str
    name: str
    torque_state: str
    column_map: Mapping[str, str] = field(default_factory=dict)

    @property
    def answered(self) -> str | None:
        """The torque's state where somebody has said it."""
        return None if self.torque_state == NOT_ASKED else self.torque_state
