"""Does the bore and stroke on an engine's sheet fit the displacement it is known by?"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from logbook.quantities import parse, show
from logbook.quantities.typed import step_of
from logbook.records.caution import Caution
from logbook.records.engine import Engine

if TYPE_CHECKING:
    from logbook.engineering.geometry import Agreement


def engine_geometry(engine: Engine) -> Agreement | None:
    """The engine's geometry against its stated displacement, as precise as both were typed;
    ``None`` where something of it is not on the sheet."""
    from logbook.engineering.geometry import geometry_agreement

    bore, stroke, count = engine.bore_mm, engine.stroke_mm, engine.cylinders
    if bore is None or stroke is None or not count or engine.displacement_l is None:
        return None
    return geometry_agreement(
        bore,
        stroke,
        count,
        engine.displacement_l,
        bore_step_mm=_step(engine.typed, "bore_mm", "length"),
        stroke_step_mm=_step(engine.typed, "stroke_mm", "length"),
        stated_step_l=_step(engine.typed, "displacement_l", "displacement"),
    )


def _step(typed: Mapping[str, str], attribute: str, kind: str) -> float:
    """The step of the last digit as it was typed; 0 where that is not kept."""
    text = typed.get(attribute, "")
    return step_of(parse(text, kind, field=attribute).typed, kind) if text else 0.0


def geometry_caution(engine: Engine, units: str) -> Caution | None:
    """Says that geometry and displacement do not agree, and which slip would explain it."""
    from logbook.engineering.geometry import WRONG

    found = engine_geometry(engine)
    if found is None or found.verdict != WRONG:
        return None
    computed, stated = (
        show(litres, "displacement", units) for litres in (found.computed_l, found.stated_l)
    )
    slips = ["bore and stroke look exchanged"] if found.exchanged else []
    slips += [f"it would fit {count} cylinders" for count in found.cylinders]
    slips.append(
        f"it would fit a stroke of {show(found.stroke_mm, 'length', units)}"
        f" or a bore of {show(found.bore_mm, 'length', units)}"
    )
    return Caution(
        "geometry-wrong",
        f"Bore, stroke and cylinders make {computed}, not the {stated} stated"
        f" ({100 * found.apart:+.1f} %): ".replace("-", "−")
        + "; ".join(slips),
    )
