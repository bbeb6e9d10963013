"""What every test runs under."""

from __future__ import annotations

import gc
import os
import shutil
from pathlib import Path

import pytest
from hypothesis import settings

# The first example of a property may load a library; how long that takes is no result.
settings.register_profile("logbook", deadline=None)
settings.load_profile("logbook")


def pytest_collection_finish() -> None:
    """The libraries stay: they are not gone through again whenever garbage is collected."""
    gc.collect()
    gc.freeze()


SAMPLE = "formula-student-single-chassis-pull.csv"


@pytest.fixture(scope="session")
def sample_pull() -> Path:
    """A real chassis-dynamometer pull that is not part of the project."""
    beside = Path(__file__).resolve().parents[1].parent / "shared" / "data"
    path = Path(os.environ.get("LOGBOOK_SAMPLE_DATA", beside)) / SAMPLE
    if not path.is_file():
        pytest.skip(f"no {SAMPLE} in LOGBOOK_SAMPLE_DATA or ../shared/data")
    return path


@pytest.fixture(scope="session")
def built_demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo book, built once a session. Only to be read: `demo_book_path` is a copy."""
    from seed_db import build

    path = tmp_path_factory.mktemp("built-demo") / "demo.db"
    build(path)
    return path


@pytest.fixture
def demo_book_path(built_demo: Path, tmp_path: Path) -> Path:
    """A demo book of the test's own."""
    return Path(shutil.copyfile(built_demo, tmp_path / "demo.db"))
