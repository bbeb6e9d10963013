"""A figure of a benchmark beside its aim, printed and kept for the table of all of them."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, dataclass
from pathlib import Path

KEPT = "LOGBOOK_FIGURES"
"""Environment: the file that figures are added to, a line of JSON each."""


@dataclass(frozen=True, slots=True)
class Figure:
    """What was measured, in `unit` (``×`` for a ratio); at most `aim` is wanted."""

    what: str
    value: float
    aim: float
    unit: str = "×"

    @property
    def met(self) -> bool:
        """Whether the aim is met by the figure as it is printed."""
        return float(self.shown) <= self.aim

    @property
    def shown(self) -> str:
        """Such as ``1.26`` or ``152``: counts and milliseconds have no decimals."""
        return f"{self.value:.{2 if self.unit in ('×', 's') else 0}f}"

    def line(self) -> str:
        """One row of the table."""
        ends = "" if self.met else "   missed"
        return f"{self.what:62}{self.shown:>9} {self.unit:3}  aim {self.aim:g}{ends}"


def figure(what: str, value: float, aim: float, unit: str = "×") -> None:
    """Print a figure beside its aim, and keep it where the environment says so."""
    one = Figure(what, value, aim, unit)
    print(one.line(), flush=True)
    if kept := os.environ.get(KEPT):
        with Path(kept).open("a", encoding="utf-8") as file:
            file.write(json.dumps(asdict(one)) + "\n")


def kept_in(path: Path) -> list[Figure]:
    """The figures that were kept in a file, in their order."""
    if not path.exists():
        return []
    return [Figure(**json.loads(line)) for line in path.read_text(encoding="utf-8").splitlines()]
