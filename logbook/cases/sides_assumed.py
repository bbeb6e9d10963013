"""Reading what somebody is willing to assume of a change that was never made alone."""

from __future__ import annotations

import re

from logbook.refusals import BadInput

_RANGE = re.compile(r"\s*([-+−]?\d*\.?\d+)\s*%?\s*\.\.\s*([-+−]?\d*\.?\d+)\s*%?\s*")


def read_range(text: str, factor: str) -> tuple[float, float]:
    """``0..2`` as the least and most, percent. Raises `BadInput`."""
    found = _RANGE.fullmatch(text)
    if not found:
        raise BadInput(f"{text[:40]!r} cannot be read", where=f"Worth of {factor}",
                       wanted="the least and the most in percent, such as 0..2")  # fmt: skip
    least, most = (float(part.replace("−", "-")) for part in found.groups())
    if not -99.0 < least <= most < 1000.0:
        raise BadInput(f"from {least:g} to {most:g} %", where=f"Worth of {factor}",
                       wanted="the least first, such as 0..2")  # fmt: skip
    return least, most
