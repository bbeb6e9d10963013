"""From key to written frame in a real pseudo-terminal, beside a bare Textual app.

Run with ``python -m tests.benchmarks.keystroke BOOK [--keys N] [--minutes M]``; a large book comes
from ``tests.benchmarks.big_book``. A key is written to the terminal and the clock stops when the
last byte of the frame it brings has been read: medians, 95th percentiles, largest, in milliseconds
(a key that changes nothing brings none and is left out).
``rest`` is when everything that follows (an answer, the found pulls) has been written too. With
``--minutes`` the same keys go round for so long, and the memory held is printed.
"""

from __future__ import annotations

import argparse
import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from itertools import cycle, islice

from tests.benchmarks.figures import figure
from tests.benchmarks.terminal import Frame, Terminal

BARE = """
from textual.app import App
from textual.widgets import Input

class Bare(App[None]):
    def compose(self):
        yield Input()

Bare().run()
"""
DOWN, UP, ESCAPE, ENTER, TAB = b"\x1b[B", b"\x1b[A", b"\x1b", b"\r", b"\t"
QUERIES = (b"engine:f1 plug", b"timing:>33 oil", b"fuel:race power:>300hp", b"header")


def _letters(text: bytes) -> list[bytes]:
    return [bytes([letter]) for letter in text]


def _moves(terminal: Terminal, keys: int) -> Iterator[Frame]:
    for key in islice(cycle([DOWN, DOWN, UP, UP]), keys):
        yield terminal.press(key)


def _typing(terminal: Terminal, keys: int) -> Iterator[Frame]:
    typed = (letter for query in cycle(QUERIES) for letter in [*_letters(query), b"\x1b[19~"])
    for key in islice(typed, keys):
        yield terminal.press(key)


def _form(terminal: Terminal, keys: int) -> Iterator[Frame]:
    typed = (letter for _ in cycle([0]) for letter in [*_letters(b"412"), TAB])
    for key in islice(typed, keys):
        yield terminal.press(key, patience_s=0.5)


def _line(name: str, frames: list[Frame]) -> float:
    shown = [frame for frame in frames if frame.text]  # a key may have nothing to change
    first = sorted(frame.first_s * 1000 for frame in shown)
    rest = sorted(frame.rest_s * 1000 for frame in shown)
    at = max(0, -(-95 * len(first) // 100) - 1)
    print(f"{name:28}{statistics.median(first):8.0f}{first[at]:8.0f}{first[-1]:8.0f}"
          f"{statistics.median(rest):12.0f}{rest[at]:8.0f}")  # fmt: skip
    return first[at]


PLACES: tuple[tuple[str, tuple[bytes, ...], Callable[[Terminal, int], Iterator[Frame]]], ...] = (
    ("moving in the engines", (), _moves),
    ("moving in a session", (b"s", ENTER), _moves),
    ("typing in the search", (b"/",), _typing),
    ("moving in what was found", (b"/", b"o", b"i", b"l"), _moves),
    ("filling a form", (b"s", b"n"), _form),
)


def main() -> None:
    """Print the table; what is typed leaves no drafts behind."""
    with tempfile.TemporaryDirectory(prefix="keystroke-") as folder:
        os.environ["XDG_STATE_HOME"] = folder
        _measure()


def _measure() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("book")
    parser.add_argument("--keys", type=int, default=120, help="keys a line")
    parser.add_argument("--minutes", type=float, default=0.0, help="go round for so long")
    given = parser.parse_args()
    app = [sys.executable, "-m", "logbook", "--db", given.book]
    print(f"{'milliseconds':28}{'median':>8}{'95 %':>8}{'most':>8}{'rest median':>12}{'95 %':>8}")
    with Terminal([sys.executable, "-c", BARE]) as terminal:
        terminal.until_rest()
        letters = islice(cycle(_letters(b"412")), given.keys)
        bare = _line("a bare app, typing", [terminal.press(letter) for letter in letters])
    worst = 0.0
    for name, way, keys in PLACES:
        with Terminal(app) as terminal:
            terminal.until_rest()
            for key in way:
                terminal.press(key, silence_s=0.5)
            worst = max(worst, _line(name, list(keys(terminal, given.keys))))
    print(f"worst 95th percentile {worst / bare:.1f} x a bare app's")
    figure("key to written frame, 95th percentile, worst place", worst, 50, "ms")
    if given.minutes:
        _hour(app, given.minutes * 60)


def _hour(app: list[str], seconds: float) -> None:
    """Round and round; the memory at the tenths of the way."""
    with Terminal(app) as terminal:
        terminal.until_rest()
        began, pressed, told = time.perf_counter(), 0, []
        while (gone := time.perf_counter() - began) < seconds:
            for key in (b"s", ENTER, DOWN, DOWN, b"t", ESCAPE, b"l", ESCAPE, b"c", ESCAPE, ESCAPE,
                        ESCAPE, b"/", *_letters(b"plug"), DOWN, DOWN, ENTER, DOWN, ESCAPE, ESCAPE,
                        DOWN):  # fmt: skip
                terminal.press(key, silence_s=0.05, patience_s=0.5)
                pressed += 1
            if gone >= seconds * len(told) / 10:
                told.append(terminal.resident_mb())
        shown = " ".join(f"{size:.1f}" for size in told)
        print(f"memory over {pressed} keys in {seconds / 60:g} min, MB: {shown}")
        figure("memory held at the end", told[-1], 150, "MB")
        figure("memory at the end against half way", told[-1] / told[len(told) // 2], 1.01)


if __name__ == "__main__":
    main()
