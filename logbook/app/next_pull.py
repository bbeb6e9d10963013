"""What is set for the next pull: changed factors, a trace that waits, and the guard before it.

A key pressed just as a trace lands was meant for something else; within `GUARD` seconds of a
landing nothing is accepted.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.records.setup import FUEL, TIMING, factor_key

if TYPE_CHECKING:
    from logbook.cases.results import PullPreview

GUARD = 0.7
_TRACE = "trace file"


@dataclass(slots=True)
class NextPull:
    """The next pull of a session. `changed` maps factor names to levels, ``""`` takes one away.

    `carried` are the levels it starts from. `asked` says what about the trace's columns has to be
    answered before it can be read.
    """

    number: int = 0
    carried: Mapping[str, str] = field(default_factory=dict)
    changed: dict[str, str] = field(default_factory=dict)
    trace: Path | None = None
    landing_id: str | None = None
    preview: PullPreview | None = None
    landed_at: float | None = None
    asked: str = ""

    def start_from(self, number: int, carried: Mapping[str, str]) -> None:
        """Carried forward anew; changes that came to nothing are forgotten."""
        self.number, self.carried = number, carried
        for name, text in list(self.changed.items()):
            self.set(name, text)

    def was(self, name: str) -> str | None:
        """The level that is carried forward."""
        key = factor_key(name)
        return next(
            (text for other, text in self.carried.items() if factor_key(other) == key), None
        )

    def set(self, name: str, text: str) -> None:
        """Set a factor; the level it has already is no change."""
        if text == (self.was(name) or ""):
            self.changed.pop(name, None)
        else:
            self.changed[name] = text

    def timing(self) -> float | None:
        """The timing as set, in degrees."""
        text = self.changed.get(TIMING, self.was(TIMING) or "")
        try:
            return float(text.rstrip("° ").removesuffix("deg").replace("−", "-"))
        except ValueError:
            return None

    def advance(self, by: float) -> bool:
        """Timing up or down; false where no timing is known to start from."""
        timing = self.timing()
        if timing is None:
            return False
        carried = NextPull(carried=self.carried).timing()
        self.set(TIMING, f"{timing + by:g}")
        if carried is not None and abs(timing + by - carried) < 1e-9:
            self.changed.pop(TIMING, None)
        return True

    def set_fuel(self, fuel: str) -> None:
        """Another fuel."""
        self.set(FUEL, fuel)

    def land(self, path: Path, now: float, landing_id: str | None = None) -> None:
        """A trace is there: chosen, or landed by itself."""
        self.trace, self.landing_id = path, landing_id
        self.preview, self.landed_at, self.asked = None, now, ""

    @property
    def part(self) -> int | None:
        """Which part of a file that holds several pulls is taken; none where edges were moved."""
        read = self.preview
        return read.part if read and read.parts > 1 and not read.moved else None

    @property
    def samples(self) -> str | None:
        """The samples to take of the trace, where somebody has moved its edges."""
        return self.preview.moved if self.preview else None

    def may_accept(self, now: float) -> bool:
        """Whether enough time has gone by since the landing."""
        return self.landed_at is None or now - self.landed_at >= GUARD

    def forget(self) -> None:
        """The pull is logged, or what was set is dropped."""
        self.changed.clear()
        self.forget_trace()

    def forget_trace(self) -> None:
        """No trace waits any more."""
        self.trace = self.landing_id = self.preview = self.landed_at = None
        self.asked = ""

    def kept(self) -> dict[str, str]:
        """As a draft; what has landed waits in the book."""
        trace = {_TRACE: str(self.trace)} if self.trace and not self.landing_id else {}
        return {**{f"set-up:{name}": text for name, text in self.changed.items()}, **trace}

    def take(self, draft: Mapping[str, str]) -> None:
        """From a draft; a trace has to be read again."""
        for key, text in draft.items():
            if key.startswith("set-up:"):
                self.set(key.removeprefix("set-up:"), text)

    @staticmethod
    def trace_of(draft: Mapping[str, str]) -> Path | None:
        """The trace that waited when the draft was kept, if it is still there."""
        path = Path(draft[_TRACE]) if draft.get(_TRACE) else None
        return path if path is not None and path.is_file() else None
