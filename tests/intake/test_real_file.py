"""A real chassis-dynamometer pull, where the folder of samples is at hand."""

from __future__ import annotations

from pathlib import Path

import pytest

from logbook.intake import read_file


def test_a_formula_student_pull_reads_as_printed(sample_pull: Path) -> None:
    # NIXELFi/1dFVEngineSolver, docs/dyno (MIT license): 94 rows, 3600–12900 rpm by 100; peaks
    # 68.39 hp at 10600 rpm and 34.864 lb·ft at 7700 rpm as printed in the file.
    read = read_file(sample_pull)
    speed, power, torque = (read.trace.of(q) for q in ("engine speed", "power", "torque"))
    assert speed is not None
    assert power is not None
    assert torque is not None
    assert (power.unit, torque.unit, read.kind_hint) == ("hp", "lb·ft", "sweep")
    assert (read.trace.first_sample, read.trace.last_sample) == (0, 93)
    assert (speed.decimals, power.decimals, torque.decimals) == (0, 3, 3)
    assert power.values.max() == pytest.approx(68.39, abs=0.005)
    assert speed.values[power.values.argmax()] == 10600
    assert torque.values.max() == 34.864
    assert speed.values[torque.values.argmax()] == 7700
    assert read.cautions == ()
