"""Reports and exports made of the demo book, which is only read, and of a small shop."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest

from logbook.cases.desk import Desk, open_desk
from tests.cases.conftest import shop  # noqa: F401 - a fixture


@pytest.fixture(scope="session")
def demo(built_demo: Path) -> Iterator[Desk]:
    """A desk on the demo book, only to be read."""
    desk = open_desk(built_demo, create=False, who="KL", units="us")
    yield desk
    desk.close()
