"""What an instrument told, and gathering it from pieces."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

HUMIDITIES = ("rh", "dew-point", "wet-bulb")
PARTS = ("pressure", "temperature", *HUMIDITIES)


@dataclass(frozen=True, slots=True)
class Told:
    """A complete reading as it was told: texts with units by the keys of the air form
    (``pressure``, ``temperature``, and one humidity), who told it, and how old its oldest part
    was when it was handed out, in seconds."""

    texts: Mapping[str, str]
    source: str
    age_s: float = 0.0


@dataclass(slots=True)
class Gathered:
    """Parts of a reading as they come, each with the second it came at."""

    source: str
    longest_s: float = 60.0
    _parts: dict[str, tuple[str, float]] = field(default_factory=dict)

    def put(self, part: str, text: str, second: float) -> None:
        """A part was told."""
        self._parts[part] = (text, second)

    def reading(self, second: float) -> Told | None:
        """The reading, where every part is there and none is older than `longest_s`; a relative
        humidity before a dew point before a wet bulb."""
        fresh = {
            part: (text, came)
            for part, (text, came) in self._parts.items()
            if second - came <= self.longest_s
        }
        humidity = next((part for part in HUMIDITIES if part in fresh), None)
        if humidity is None or not {"pressure", "temperature"} <= fresh.keys():
            return None
        used = [part for part in PARTS if part in ("pressure", "temperature", humidity)]
        return Told(
            {part: fresh[part][0] for part in used},
            self.source,
            second - min(fresh[part][1] for part in used),
        )

    @property
    def missing(self) -> list[str]:
        """What has never been told, for a sentence."""
        names = [part for part in ("pressure", "temperature") if part not in self._parts]
        return names if self._parts.keys() & set(HUMIDITIES) else [*names, "humidity"]
