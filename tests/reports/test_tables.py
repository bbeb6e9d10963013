"""Tables for people: signs beside colors, people's text shown and not obeyed, nothing cut."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from rich.console import Console, RenderableType

from logbook.cases.results import Noise, Worth
from logbook.records.setup import FactorChange, Level
from logbook.reports import showing, tables

WORTH = Worth("band power", 1.0, 0.8, (0.2, 1.8), "gain so far", Noise(0.5, math.inf, "assumed"),
              (4,), (1,), None, "")  # fmt: skip


def drawn(part: RenderableType, width: int = 100) -> str:
    console = Console(width=width, highlight=False, markup=False)
    with console.capture() as captured:
        console.print(part)
    return captured.get()


@pytest.mark.parametrize(
    ("word", "sign"),
    [
        ("gain", "▲"), ("gain so far", "▲"), ("loss", "▼"), ("loss so far", "▼"),
        ("nothing worth having", "="), ("leaning", "?"), ("not settled", "?"),
    ],
)  # fmt: skip
def test_every_verdict_has_a_sign_and_its_word(word: str, sign: str) -> None:
    assert tables.verdict(replace(WORTH, verdict=word)).plain == f"{sign} {word}"


def test_a_narrow_terminal_folds_and_loses_nothing() -> None:
    note = "every word of this long note is still there " * 5
    shown = drawn(tables.grid(("Pull", "Note"), [("1", note)]), width=40)
    assert shown.split()[-len(note.split()) :] == note.split()


def test_markup_and_controls_are_only_text() -> None:
    shown = drawn(tables.grid(("Note",), [("[red]x[/red] \x1b[31m\u202e",)]))
    assert "[red]x[/red] ␛[31m‹U+202E›" in shown


def test_what_changed_in_words() -> None:
    changed = [
        FactorChange("timing", Level("32"), Level("34")),
        FactorChange("spacer", None, Level("1 in")),
        FactorChange("gap", Level("0.9 mm"), None),
    ]
    assert showing.from_to(changed) == "timing 32 → 34, spacer 1 in, gap taken away"


def test_numbers_have_a_real_minus_and_a_plus_where_signed() -> None:
    assert tables.number(-1.0, "power", "metric") == "−1.0"
    assert tables.number(1.0, "power", "metric", signed=True) == "+1.0"
    assert tables.number(None, "power", "metric") == "—"
