"""What the widgets draw, without a terminal."""

from __future__ import annotations

import math
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from logbook.app.next_pull import GUARD, NextPull
from logbook.app.widgets.braille import Plot, at, even_scale
from logbook.app.widgets.curve import DASHED, SOLID, difference_picture, overlay_picture
from logbook.app.widgets.figures import SMALLEST, big, role_of, tallest
from logbook.app.widgets.ink import fit, fit_line, pad, rows_of, width_of, wrap
from logbook.app.widgets.sheet_words import sheet_lines
from logbook.cases.results import CurveView, DifferenceView
from logbook.plain import plain
from logbook.records.engine import Build, Engine
from logbook.records.setup import FactorChange, Level
from logbook.reports import showing
from logbook.verdict.words import VERDICTS

SPEEDS = np.arange(4000.0, 7001.0, 50.0)


def text_of(lines: list[tuple[tuple[str, str], ...]]) -> list[str]:
    return ["".join(text for text, _ in line) for line in lines]


def curve(label: str, scale: float) -> CurveView:
    power = scale * (100 + SPEEDS / 40)
    return CurveView(label, SPEEDS, power * 9549 / SPEEDS, power)


@pytest.mark.parametrize("height", range(5, 13))
@pytest.mark.parametrize("text", ["▲+12.9", "▼−0.4", "=+0.0", "?−103", "0123456789."])
def test_figures_fill_their_rows_evenly(text: str, height: int) -> None:
    drawn = big(text, height)
    assert len(drawn) == height
    assert len({len(row) for row in drawn}) == 1
    assert set("".join(drawn)) <= {"█", " "}


def test_the_four_signs_are_four_shapes() -> None:
    shapes = {big(sign, 5) for sign in "▲▼=?"}
    assert len(shapes) == 4


def test_every_verdict_has_a_sign_and_a_role() -> None:
    signs = {word: showing.sign_of(word) for word in VERDICTS}
    assert {signs[w] for w in VERDICTS if w.startswith("gain")} == {"▲"}
    assert {signs[w] for w in VERDICTS if w.startswith("loss")} == {"▼"}
    assert signs["nothing worth having"] == "="
    assert signs["leaning"] == signs["not settled"] == "?"
    assert all(role_of(word) for word in VERDICTS)


def test_the_largest_figure_that_fits_is_taken_and_none_below_five_rows() -> None:
    drawn = tallest("▲+2.9", 60, 12)
    assert drawn is not None
    assert len(drawn) >= SMALLEST
    assert len(drawn[0]) <= 60
    assert tallest("▲+2.9", 20, 12) is None


@given(st.floats(-1e4, 1e4), st.floats(0.01, 1e4), st.integers(3, 40))
def test_a_scale_covers_its_range_with_even_round_ticks(low: float, span: float, rows: int) -> None:
    bottom, top, marks = even_scale(low, low + span, rows)
    cell = (top - bottom) / rows
    assert bottom <= low + cell
    assert top >= low + span - cell
    if len(marks) > 2:
        steps = [b - a for a, b in pairwise(marks)]
        assert max(steps) - min(steps) < 1e-6 * max(abs(low) + span, 1)
        plot = Plot(10, rows, (0.0, 1.0), (bottom, top))
        apart = [plot.row_of(mark, rows) for mark in marks]
        gaps = {a - b for a, b in pairwise(apart)}
        assert len(gaps) == 1


def test_interpolation_says_nothing_outside_and_beside_a_gap() -> None:
    assert at([1.0, 2.0], [10.0, 20.0], 1.5) == 15.0
    assert at([1.0, 2.0], [10.0, 20.0], 2.5) is None
    assert at([1.0, 2.0], [10.0, math.nan], 1.5) is None


def test_curves_are_told_apart_without_color() -> None:
    lines = text_of(overlay_picture(curve("Pull 5", 1.0), curve("Pull 3", 0.8), 70, 14, "us"))
    assert f"{SOLID} Pull 5" in lines[0]
    assert f"{DASHED} Pull 3" in lines[0]
    solid = lines[1:-1]
    dots = ["".join(c for c in line if "⠀" < c <= "⣿") for line in solid]
    assert any(dots)
    # The dashed line leaves gaps: along its rows blanks stand between dots.
    below = "".join(line[8:].rstrip() for line in solid[-4:])
    assert " " in below.strip()


def test_the_difference_comes_with_its_band_its_zero_and_its_unit() -> None:
    power = np.linspace(-1.0, 4.0, SPEEDS.size)
    view = DifferenceView(SPEEDS, power, power - 1.5, power + 1.5, "95 %")
    lines = text_of(difference_picture(view, 70, 12, "us", names=("pull 5", "baseline"),
                                       band=(4500, 6500)))  # fmt: skip
    picture = "\n".join(lines)
    assert "Difference, hp" in lines[0]
    assert "░" in picture
    assert "─" in picture
    assert "0┤" in picture
    assert "▔" in lines[-1]  # the band on the speed axis
    assert all(width_of(((line, ""),)) <= 70 for line in lines)


def test_a_picture_without_room_or_data_is_left_away() -> None:
    nothing = np.full(SPEEDS.size, math.nan)
    view = DifferenceView(SPEEDS, nothing, nothing, nothing, "")
    assert text_of(difference_picture(view, 70, 3, "us", names=("a", "b"))) == []
    empty = CurveView("Pull 1", SPEEDS, nothing, nothing)
    assert overlay_picture(empty, None, 70, 12, "us") == []


@given(st.text(max_size=60), st.integers(1, 30))
def test_what_is_cut_ends_in_a_sign(text: str, width: int) -> None:
    cut = fit(text, width)
    assert width_of(((cut, ""),)) <= width
    whole = fit(text, 10_000)
    assert cut == whole or cut.endswith("…")
    assert width_of(((pad(text, width), ""),)) == width


@given(st.text(max_size=200), st.integers(8, 60))
def test_wrapping_loses_nothing_but_blanks(text: str, width: int) -> None:
    lines = wrap(text, width)
    assert all(width_of(line) <= width for line in lines)
    kept = "".join(part for line in lines for part, _ in line)
    assert kept.replace(" ", "") == plain(text, lines=True).replace("\n", "").replace(" ", "")


def test_lines_of_spans_are_cut_and_joined() -> None:
    line = (("abc", ""), ("defgh", "strong"))
    assert "".join(text for text, _ in fit_line(line, 6)) == "abcde…"
    assert len(rows_of([(("a" * 10, ""),), (("b" * 10, ""),)], 15)) == 2


def test_times_and_figures_as_people_write_them() -> None:
    assert showing.day("2026-03-15T03:30:00Z", "America/Denver") == "14 Mar 2026"
    assert showing.clock("2026-03-15T03:30:00Z", "America/Denver") == "21:30"
    assert showing.numbers([1, 2, 3, 7]) == "1–3, 7"
    assert showing.signed(-1.0, "metric") == "−1.0"
    assert showing.signed(1.0, "metric", unit=True) == "+1.0 kW"
    assert showing.change(FactorChange("timing", None, Level("34", 34.0, "deg"))) == "timing 34°"
    assert showing.change(FactorChange("spacer", Level("1 in"), None)) == "spacer taken away"


def test_the_next_pull_forgets_changes_that_come_to_nothing() -> None:
    following = NextPull()
    following.start_from(6, {"timing": "32", "fuel": "Tango"})
    assert following.advance(1)
    assert following.changed == {"timing": "33"}
    assert following.advance(-1)
    assert following.changed == {}
    following.set_fuel("Foxtrot")
    following.start_from(7, {"timing": "32", "fuel": "Foxtrot"})
    assert following.changed == {}


def test_the_guard_after_a_landing() -> None:
    following = NextPull()
    assert following.may_accept(100.0)
    following.land(Path("x.csv"), 100.0)
    assert not following.may_accept(100.0 + GUARD - 0.01)
    assert following.may_accept(100.0 + GUARD)


def test_without_a_timing_there_is_nothing_to_step() -> None:
    following = NextPull()
    following.start_from(1, {})
    assert not following.advance(1)


def test_a_full_sheet_leaves_most_of_a_small_terminal_to_the_sessions() -> None:
    """Every limit on it in at most eight rows of 80 columns, none cut."""
    engine = Engine(
        "1", "RB-2", layout="V8, four-barrel carburetor", cylinders=8, bore_mm=102.4,
        stroke_mm=88.4, compression_ratio=12.2, band_low_rpm=4500, band_high_rpm=6500,
        limit_timing_deg=36, least_timing_deg=24, limit_speed_rpm=7000, limit_oil_c=126,
        limit_coolant_c=96, limit_exhaust_c=850, least_oil_pressure_kpa=310,
        limit_crankcase_vacuum_kpa=50.0, notes="Race boat, sprint course. " * 5,
    )  # fmt: skip
    builds = [Build(str(n), "1", f"build {n}") for n in range(1, 10)]
    lines = sheet_lines(engine, builds, 78, "us")
    assert len(lines) <= 8
    assert all(width_of(line) <= 78 for line in lines)
    words = " ".join("".join(text for text, _ in line) for line in lines)
    for said in ("8 cylinders", "4.031 × 3.480 in", "timing 24.0 to 36.0°", "7000 rpm", "oil 258",
                 "coolant 204", "exhaust 1562", "oil pressure ≥ 45 psi",
                 "crankcase vacuum 14.76 inHg", "and 3 more"):  # fmt: skip
        assert said in words, said
