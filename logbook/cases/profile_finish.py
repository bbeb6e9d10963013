"""Surface finish from a profile file: Ra by ISO 4287, Rk, Rpk, Rvk by ISO 13565-2."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logbook.intake.profile import read_profile
from logbook.intake.text import check_size
from logbook.quantities import parse
from logbook.refusals import BadFile, BadInput

if TYPE_CHECKING:
    from logbook.engineering.surface import Finish

_UM_PER_MM = 1000.0


def finish_of_file(
    path: Path, *, unit: str, spacing: str = "", position_unit: str = "mm", cut_off: str = ""
) -> Finish:
    """The roughness of a profile.

    Parameters
    ----------
    unit : of the heights, such as ``µm``.
    spacing : between two samples, such as ``0.5 µm``; needed where the file has no positions.
    position_unit : of the file's positions.
    cut_off : of the filter, such as ``0.8 mm``, which is used where none is given.
    """
    from logbook.engineering.surface import CUT_OFF_MM, finish

    try:
        check_size(path.stat().st_size, where=path.name)
        content = path.read_bytes()
    except OSError as error:
        raise BadFile(f"it cannot be read ({error.strerror})", where=str(path)) from error
    profile = read_profile(content, where=path.name)
    scale = parse(f"1 {unit}", "length", field="Unit of the heights").value * _UM_PER_MM
    if spacing:
        step = parse(spacing, "length", field="Spacing").value
    elif profile.step is not None:
        step = profile.step * parse(f"1 {position_unit}", "length", field="Position unit").value
    else:
        raise BadInput(
            "the file has heights only", where="Spacing", wanted="the spacing, such as 0.5 µm"
        )
    filtered = parse(cut_off, "length", field="Cut-off").value if cut_off else CUT_OFF_MM
    return finish([height * scale for height in profile.heights], step, filtered)
