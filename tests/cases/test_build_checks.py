"""What a build's sheet tells when it is computed with: verdicts, advice, what was left out."""

from __future__ import annotations

from typing import Any

import pytest

from logbook.cases.build_checks import check_items
from logbook.cases.cylinder_checks import inspected
from logbook.cases.item_sheet import ItemSheet
from logbook.cases.item_values import item_attributes
from logbook.cases.measures import Check
from logbook.records.build_item import BuildItem
from logbook.records.engine import Engine
from logbook.records.inspection import Inspection

ENGINE = Engine("e", "HC-1", cylinders=4, bore_mm=86.0, stroke_mm=86.0, compression_ratio=12.5)

BORES = {
    "bore top thrust": {"per-cylinder": "86.030 86.031 86.029 86.052 mm"},
    "Bore, top, pin": {"per-cylinder": "86.022 86.021 86.022 86.030 mm"},
    "bore bottom thrust": {"per-cylinder": "86.018 86.017 86.020 86.021 mm"},
    "skirt": {"per-cylinder": "85.925 85.926 85.924 85.925 mm"},
    "piston clearance": {"tolerance": "0.090..0.120 mm"},
    "taper": {"tolerance": "..0.012 mm"},
    "out-of-round": {"tolerance": "..0.010 mm"},
}


def checked(
    given: dict[str, dict[str, str]], engine: Engine = ENGINE
) -> tuple[dict[str, Check], tuple[str, ...]]:
    """The checks of a sheet with these items, by label."""
    items = []
    for name, texts in given.items():
        values: dict[str, Any] = item_attributes(texts, {}, engine.cylinders)
        items.append(BuildItem(name, "b", "short block", name, **values))
    checks, left_out = check_items(engine, ItemSheet.of(items, engine.cylinders))
    return {check.label: check for check in checks}, left_out


def words(check: Check) -> list[str]:
    return [one.verdict for one in check.values]


def test_a_bore_is_judged_where_it_is_tight_and_where_it_is_wide() -> None:
    found, left_out = checked(BORES)
    assert words(found["Piston clearance, tightest"]) == ["in"] * 4
    assert words(found["Piston clearance, widest"]) == ["in", "in", "in", "out"]
    assert found["Piston clearance, widest"].values[3].value == pytest.approx(0.127)
    assert left_out == ()


def test_a_tapered_bore_is_reclaimed_only_while_its_piston_still_fits() -> None:
    """Cylinder 2 honed to 86.031 leaves 0.105; cylinder 4 would be honed past 0.120."""
    found, _ = checked(BORES)
    assert words(found["Taper"]) == ["in", "reclaim", "in", "out"]
    assert words(found["Out-of-round"]) == ["in", "in", "in", "out"]
    assert found["Taper"].verdict == "out"
    assert found["Taper"].advice == "cylinder 2 wider at the top, cylinder 4 wider at the top"
    without_piston = {name: texts for name, texts in BORES.items() if name != "skirt"}
    assert words(checked(without_piston)[0]["Taper"]) == ["in", "out", "in", "out"]


def test_one_bore_size_for_each_cylinder_is_enough_for_a_clearance() -> None:
    found, _ = checked(
        {"bore": {"value": "3.3870 in"}, "skirt": {"value": "3.3830 in"},
         "piston to bore": {"tolerance": "0.0042..0.0048 in"}}
    )  # fmt: skip
    assert words(found["Piston clearance"]) == ["reclaim"] * 4, "too tight is honed"
    assert "Taper" not in found


def test_a_ring_gap_by_common_practice_by_the_shops_rule_and_by_its_own_limits() -> None:
    gaps = {"top ring gap": {"per-cylinder": "0.36 0.30 0.35 0.60 mm"}}
    found, _ = checked(gaps)
    assert words(found["Top ring gap"]) == ["in", "reclaim", "in", "out"]
    assert "common practice, no source" in found["Top ring gap"].limits_from
    for rule in ("5.5", "0.0055"):
        found, _ = checked({**gaps, "ring gap rule": {"value": rule}})
        assert found["Top ring gap"].tolerance.low == pytest.approx(0.0055 * 86)
        assert found["Top ring gap"].limits_from.endswith("the shop's own rule")
    own = {"top ring gap": {**gaps["top ring gap"], "tolerance": "0.25..0.65 mm"}}
    found, _ = checked({**own, "ring gap rule": {"value": "5.5"}})
    assert found["Top ring gap"].verdict == "in"


def test_compression_from_volumes_with_what_would_bring_it_back() -> None:
    volumes = {
        "chamber": {"per-cylinder": "38.5 38.7 38.4 38.6 cc"},
        "gasket thickness": {"value": "1.2 mm"},
        "gasket bore": {"value": "88 mm"},
        "dome": {"value": "4.2 cc"},
        "compression ratio": {"tolerance": "12.2..12.6"},
    }
    found, _ = checked(volumes)
    check = found["Compression ratio"]
    # By hand: swept 499.557, clearance 38.5 + 7.2985 − 4.2.
    assert check.values[0].value == pytest.approx(1 + 499.557 / 41.5985, abs=2e-4)
    assert words(check) == ["out"] * 4
    # 499.557/11.4 − 41.5985 and − 41.7985 (cylinder 2), 41.4985 (cylinder 3).
    assert check.advice == "12.4 takes +2.02 to +2.32 cm³ of clearance volume a cylinder"
    wider = {**volumes, "compression ratio, reclaim": {"tolerance": "11..13.2"}}
    assert words(checked(wider)[0]["Compression ratio"]) == ["reclaim"] * 4
    assert found["Displacement as bored"].values[0].value == pytest.approx(1.998229)


def test_a_finish_outside_its_limits_is_honed_again() -> None:
    found, _ = checked({"Ra": {"value": "0.62 µm", "tolerance": "0.3..0.5 µm"}})
    (value,) = found["Ra"].values
    assert (value.cylinder, value.verdict) == (None, "reclaim")


def test_whatever_else_has_a_tolerance_is_judged_as_written() -> None:
    found, _ = checked({"intake lash": {"per-cylinder": "0.30 - 0.33 0.30 mm",
                                        "tolerance": "0.28..0.32 mm"}})  # fmt: skip
    assert [(v.cylinder, v.verdict) for v in found["intake lash"].values] == [
        (1, "in"), (3, "out"), (4, "in"),
    ]  # fmt: skip


def test_what_cannot_be_computed_with_is_named() -> None:
    found, left_out = checked(
        {"skirt": {"value": "as delivered"}, "chamber": {"value": "40 cc"},
         "dome": {"value": "60 cc"}, "bore": {"value": "86 mm"}}
    )  # fmt: skip
    assert "skirt: 'as delivered' was not computed with" in left_out[0]
    assert "left over the piston" in left_out[1]
    assert "Compression ratio" not in found
    assert checked({})[0].keys() == {"Displacement as bored"}


def test_the_newest_inspection_against_the_shops_own_limits() -> None:
    limits = {
        "leak-down": {"tolerance": "..8 %"},
        "leak-down, reclaim": {"tolerance": "..12 %"},
        "leak-down spread": {"tolerance": "..5"},
        "cranking compression": {"tolerance": "160 psi.."},
    }
    items = [
        BuildItem(name, "b", "clearances", name, **item_attributes(texts, {}, 4))
        for name, texts in limits.items()
    ]
    newer = Inspection("n", "e", "2026-03-01", leak_down_percent=(4.0, 4.0, 11.0, 5.0))
    older = Inspection(
        "o", "e", "2025-03-01", leak_down_percent=(3.0, 3.0, 3.0, 3.0),
        cranking_kpa=(1207.0, 1200.0, 1213.0, 1080.0),
    )  # fmt: skip
    leak, spread, cranking, crank_spread = inspected(ItemSheet.of(items, 4), [newer, older])
    assert words(leak) == ["in", "in", "reclaim", "in"]
    assert leak.advice == "cylinder 3 stands apart from the others"
    assert leak.how == "inspection of 2026-03-01"
    assert (spread.values[0].value, spread.verdict) == (7.0, "out")
    assert words(cranking) == ["in", "in", "in", "out"]
    assert cranking.how == "inspection of 2025-03-01"
    assert (crank_spread.verdict, round(crank_spread.values[0].value)) == ("no limit", 11)
