"""How the tags beside published values are meant, and the folder of sample data.

[R] recomputed with an independent library, named; [P] printed in the source named;
[M] from memory, not held against the printed source.
"""

from __future__ import annotations

import os
from pathlib import Path

import pytest

SAMPLE = "formula-student-single-chassis-pull.csv"


@pytest.fixture(scope="session")
def sample_pull() -> Path:
    """A real chassis-dynamometer pull that is not part of the project."""
    beside = Path(__file__).resolve().parents[2].parent / "shared" / "data"
    path = Path(os.environ.get("LOGBOOK_SAMPLE_DATA", beside)) / SAMPLE
    if not path.is_file():
        pytest.skip(f"no {SAMPLE} in LOGBOOK_SAMPLE_DATA or ../shared/data")
    return path
