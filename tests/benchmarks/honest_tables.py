"""The honesty benchmark's tables, as they are printed."""

from __future__ import annotations

import numpy as np

from tests.benchmarks.cell_of_known_truth import Cell
from tests.benchmarks.honest_bands import band_rows
from tests.benchmarks.honest_history import SESSIONS, history_rows
from tests.benchmarks.honest_outside import (
    NOISE,
    RESETTING,
    looked_away,
    outside_rows,
)
from tests.benchmarks.honest_timing import PULLS, best_rows, timing_rows
from tests.benchmarks.honest_verdicts import GAIN, Row, rows

TIMING_CELLS = (Cell(0.15, 0.0, 0.15), Cell(0.3, 0.0, 0.15), Cell(0.3, 0.1, 0.15))
BEYOND_BELIEF = (0.3, 0.5)


def share(value: float, sets: int) -> str:
    """A share in percent with its binomial standard error; ``–`` where there is none."""
    if np.isnan(value):
        return f"{'–':>10}"
    error = 100.0 * np.sqrt(max(value * (1.0 - value), 1.0 / sets) / sets)
    return f"{100.0 * value:5.1f} ±{error:3.1f}"


HEAD = (
    f"{'order':12} noise drift reset   false      ever     final     cover  "
    f"  +{GAIN:g} %    final    nothing"
)


def line(row: Row) -> str:
    """One line of the verdict table."""
    cell, sets = row.cell, row.sets
    figures = " ".join(
        share(value, sets)
        for value in (
            row.false_running,
            row.false_ever,
            row.false_final,
            row.covered,
            row.gain_running,
            row.gain_final,
            row.gain_called_nothing,
        )
    )
    return f"{row.order:12} {cell.noise:5.2f} {cell.drift:5.1f} {cell.resetting:5.2f} {figures}"


def print_verdicts(sets: int) -> None:
    """The verdict table, and what drift beyond belief does."""
    print(
        "Verdicts, percent (noise, re-setting: standard deviations, %; drift: % a pull).\n"
        "false: a worthless change called gain or loss so far at the last pull, per change;\n"
        "ever: at any look, one after every pull; final: a session with any false gain or loss\n"
        f"after closing; cover: 95 % intervals; +{GAIN:g} %: a true gain called gain so far, and\n"
        "gain after closing; nothing: that gain called nothing worth having.\n"
    )
    print(HEAD)
    for row in rows(sets):
        print(line(row))
    print("\nDrift beyond what is believed (0.1 % a pull):")
    for row in rows(max(sets // 2, 50), drifts=BEYOND_BELIEF):
        if row.cell.resetting == 0.0 and row.cell.noise <= 0.5:
            print(line(row))


def print_history(histories: int) -> None:
    """What earlier sessions of the cell do to verdicts and intervals."""
    print(
        f"\nLearned from {SESSIONS} earlier sessions of the cell, against the assumption: noise,\n"
        "drift and re-setting. Every day drifts by its own rate (standard deviation in % a pull);\n"
        "changes are worth nothing. false, final, cover as above; half: half the width of a 95 %\n"
        "interval, %; learned: drift and re-setting error, medians; !: the earlier sessions had\n"
        "neither, this one has the drift and re-setting error of the line.\n"
    )
    print(
        f"{'order':17} noise drift reset  learned    | cover      false final half"
        "  | assumed: cover false final half"
    )
    for row in history_rows(histories):
        cell = row.cell
        told = [
            f"{100.0 * row.covered[i]:5.1f} ±{100.0 * row.error[i]:3.1f}"
            f" {100.0 * row.false_running[i]:5.1f} {100.0 * row.false_final[i]:5.1f}"
            f" {row.half_width[i]:5.2f}"
            for i in (0, 1)
        ]
        print(
            f"{row.order:17} {cell.noise:5.2f} {cell.drift:5.1f} {cell.resetting:5.2f}"
            f"{'!' if row.unlike else ' '} {row.drift:.2f} {row.resetting:.2f}"
            f" | {told[0]} | {told[1]}"
        )


def print_bands(sessions: int) -> None:
    """How often the band of a difference over speed holds the truth."""
    print(
        "\nThe band of the difference over speed, 40 bins, a worthless change: percent of bins\n"
        "that hold the truth, the worst bin, mean width of the band in %, and how far the width\n"
        "jumps from bin to bin in %; pooled over the neighbors, and each bin by itself.\n"
    )
    head = "pooled: cover worst width jumps | alone:"
    print(f"{'order':9} {'noise of a bin':39} {head}")
    for pooled, alone in band_rows(sessions):
        noise = pooled.noise
        kind = f"{noise.percent:.1f} %"
        if noise.loudest > 1.0:
            kind += f", {noise.loudest:g} × at one end ({100.0 * noise.falls_over:.0f} %)"
        kind += ", errs together" if noise.together else ""
        told = [
            f"{100.0 * r.covered:5.1f} {100.0 * r.worst:5.1f} {r.width:5.2f} {100.0 * r.jumps:5.1f}"
            for r in (pooled, alone)
        ]
        print(f"{pooled.order:9} {kind:47} {told[0]} | {told[1]}")


def print_outside(sets: int) -> None:
    """What the judgement does with sessions it does not believe in."""
    print(
        f"\nOutside what is believed (noise {NOISE} %, re-setting {RESETTING} %), percent,\n"
        "columns as above:\n"
    )
    print(f"{'order':17} {'errors':21} false  final  cover  +{GAIN:g} %  nothing")
    for row in outside_rows(sets):
        final = "    –" if np.isnan(row.false_final) else f"{100.0 * row.false_final:5.1f}"
        print(
            f"{row.order:17} {row.kind:21} {100.0 * row.false_running:5.1f}  {final}"
            f"  {100.0 * row.covered:5.1f}  {100.0 * row.gain_running:6.1f}"
            f"  {100.0 * row.gain_called_nothing:7.1f}"
        )
    print(
        "\nThe pull farthest from its set-up's mean excluded after looking (noise 0.3 %, drift\n"
        "0.1 % a pull, re-setting 0.15 %): sessions with any false gain or loss, before and after."
    )
    for letters in ("AAAABBBB", "AABBAABB"):
        before, after = looked_away(letters, max(sets // 4, 20))
        print(f"{letters:17} {100.0 * before:5.1f} → {100.0 * after:4.1f}")


def print_timing(sets: int) -> None:
    """The timing table."""
    print(
        "\nTorque given away, percent: by the advice after n pulls, and by the better of the\n"
        "ladder and the 2° climb, highest number wins, after n and 2n; then where the advice's\n"
        "own stop rule ends. Start 30°, best anywhere in 24–36°.\n"
    )
    print(
        f"{'curve':20} noise drift  "
        + "   ".join(f"n={n}: advice     n    2n    " for n in PULLS)
        + "   stops after"
    )
    for found, stopped in timing_rows(sets, cells=TIMING_CELLS):
        cell = found[0].cell
        cells = " | ".join(
            f"{r.advice:.3f} ±{r.advice_error:.3f} {r.habit:.3f} {r.habit_twice:.3f}"
            f"{' ' if r.advice < r.habit_twice else '!'}"
            for r in found
        )
        print(
            f"{found[0].curve:20} {cell.noise:5.2f} {cell.drift:5.1f}  {cells}"
            f" | {stopped.pulls:.1f} pulls, {stopped.given_away:.3f} ±{stopped.error:.3f}"
        )


def print_best(sets: int) -> None:
    """How often the interval of the best timing holds it."""
    print(
        "\nThe best timing's 95 % interval, percent that hold it: 18 pulls up and down by 2°,\n"
        "torque lopsided by so many standard deviations of what is believed; beside it the same\n"
        "pulls fitted as a plain parabola.\n"
    )
    print("lopsided  noise drift     holds   width    plain")
    for cell in (Cell(0.3, 0.0, 0.15), Cell(0.3, 0.1, 0.15)):
        for row in best_rows(sets, cell=cell):
            print(
                f"{row.lopsided:8.0f} {cell.noise:6.2f} {cell.drift:5.1f}"
                f" {share(row.covered, row.sets)}  {row.width:4.1f}°"
                f" {share(row.covered_plain, row.sets)}"
            )
