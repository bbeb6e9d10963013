"""The libraries that only those need who have an instrument."""

from __future__ import annotations

import importlib
from typing import Any

from logbook.refusals import BadInput


def library(name: str) -> Any:
    """Import it, or say what to install."""
    try:
        return importlib.import_module(name)
    except ModuleNotFoundError as missing:
        raise BadInput(
            f"reading it needs {name}, which is not installed",
            where="Air source",
            wanted="pip install 'dyno-cell-logbook[instruments]'",
        ) from missing
