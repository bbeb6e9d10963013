"""Profiles from text files: what is a sample, what is a remark, what is refused."""

from __future__ import annotations

import pytest

from logbook.intake.profile import read_profile
from logbook.refusals import BadFile


@pytest.mark.parametrize(
    "text",
    [
        "Stylus 2\nX [mm];Z [µm]\n0,000;0,10\n0,001;−0,2\n0,002;0,3\n".replace("−", "-"),
        "x,z\n0.000,0.10\n0.001,-0.2\n0.002,0.3\n",
        "0\t0.10\n0.001\t-0.2\n0.002\t0.3",
    ],
)
def test_positions_and_heights_in_any_common_dialect(text: str) -> None:
    found = read_profile(text.encode(), where="p.csv")
    assert found.heights == (0.10, -0.2, 0.3)
    assert found.step == pytest.approx(0.001)


def test_heights_alone_have_no_step() -> None:
    found = read_profile(b"bore 3\n0,10\n0,20\n-0,15\n", where="p.txt")
    assert (found.heights, found.step) == ((0.1, 0.2, -0.15), None)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("0 1\n1 2\n2 x\n", "line 3: '2 x' is no sample"),
        ("0 1\n1 2\n3\n", "line 3: 1 numbers after 2"),
        ("0 1\n1 2\n3 3\n4 4\n5 5\n", "are not"),
        ("only words\n", "no profile"),
    ],
)
def test_what_is_no_profile_is_refused(text: str, said: str) -> None:
    with pytest.raises(BadFile, match=said):
        read_profile(text.encode(), where="p.txt")
