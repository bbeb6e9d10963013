"""Builds: items as they were typed, copies that keep, and what differs from the parent."""

from __future__ import annotations

import pytest

from logbook.cases import builds, change, engines
from logbook.cases.builds import ItemChange, difference
from logbook.records.build_item import BuildItem
from logbook.refusals import BadInput, Conflict, NotFound
from tests.cases.conftest import Shop

EIGHT = "0.016 0.016 0.017 - 0.016 0.016 0.017 0.016 in"


def item(shop: Shop, system: str, name: str, label: str | None = None, **given: str) -> BuildItem:
    texts = {key.replace("_", "-"): text for key, text in given.items()}
    return builds.set_item(shop.desk, "RB-2", label, system, name, texts)


def told(changes: tuple[ItemChange, ...]) -> list[tuple[str, str | None, str | None, bool]]:
    return [
        (c.item.name, c.old and c.old.text, c.new and c.new.text, c.renewed) for c in changes
    ]  # fmt: skip


def test_an_item_has_one_unit_and_reads_back_as_typed(shop: Shop) -> None:
    gap = item(shop, "ring", "top ring gap", value="0.016 in", per_cylinder=EIGHT,
               tolerance="0.014..0.018", done="new", note="filed by hand")  # fmt: skip
    assert (gap.system, gap.text, gap.unit) == ("ring pack", "0.016 in", "mm")
    assert gap.number == pytest.approx(0.4064)
    assert gap.per_cylinder[2:4] == (pytest.approx(0.4318), None)
    assert (gap.low, gap.high) == (pytest.approx(0.3556), pytest.approx(0.4572))
    assert gap.typed == {
        "text": "0.016 in", "per_cylinder": EIGHT, "tolerance": "0.014..0.018 in"
    }  # fmt: skip
    # What is not given stays; another value in another unit leaves the rest what it was.
    later = item(shop, "RING PACK", "Top ring  gap", value="0.4 mm")
    assert (later.id, later.notes, later.number) == (gap.id, "filed by hand", 0.4)
    assert later.high == pytest.approx(0.4572)
    assert item(shop, "ring pack", "top ring gap", tolerance="").high is None


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"per_cylinder": "0.4 0.4 mm"}, "2 values for 8 cylinders"),
        ({"value": "0.016 in", "tolerance": "3..4 psi"}, "a pressure"),
        ({"value": "5", "tolerance": "4..6 mm"}, "has a unit and the rest of the item has none"),
        ({"tolerance": "0.4 mm..0.3 mm"}, "low end is above"),
        ({"tolerance": "0.4 mm"}, "not a range"),
        ({"tolerance": "3..4 zorks"}, "not a unit the logbook knows"),
        ({"done": "polished"}, "not one of the choices"),
        ({"value": "x" * 300}, "too long"),
    ],
)
def test_what_cannot_be_an_item_is_said(shop: Shop, given: dict[str, str], said: str) -> None:
    with pytest.raises(BadInput, match=said):
        item(shop, "clearances", "piston to bore", **given)
    assert builds.build_sheet(shop.desk, "RB-2").items == ()


def test_a_build_begins_as_a_copy_and_knows_what_differs(shop: Shop) -> None:
    item(shop, "ring pack", "top ring", value="1.2 mm", done="new")
    item(shop, "camshaft", "lobe lift", value="0.300 in", done="new")
    item(shop, "head", "valve guide 3", value="worn", done="rejected")
    item(shop, "pistons", "skirt coating", value="molybdenum")
    shop.clock.turn(60 * 24 * 30)
    second = builds.add_build(shop.desk, "RB-2", "build 2")
    copied = builds.build_sheet(shop.desk, "RB-2")
    assert (copied.parent, copied.build) == (builds.list_builds(shop.desk, "RB-2")[0], second)
    assert [(one.name, one.done) for one in copied.items] == [
        ("skirt coating", "kept"), ("top ring", "kept"), ("lobe lift", "kept")
    ]  # fmt: skip
    assert told(copied.difference) == [("valve guide 3", "worn", None, False)]
    item(shop, "ring pack", "top ring", value="1.0 mm", done="new")
    item(shop, "camshaft", "lobe lift", value="7.62 mm")  # the same by its figure
    item(shop, "pistons", "skirt coating", done="new")
    builds.drop_item(shop.desk, "RB-2", None, "camshaft", "lobe lift")
    item(shop, "dry sump", "stages", value="3")
    sheet = builds.build_sheet(shop.desk, "RB-2", "build 2")
    assert told(sheet.difference) == [
        ("skirt coating", "molybdenum", "molybdenum", True),
        ("top ring", "1.2 mm", "1.0 mm", False),
        ("stages", None, "3", False),
        ("lobe lift", "0.300 in", None, False),
        ("valve guide 3", "worn", None, False),
    ]
    assert sheet.items[-1].system == "dry sump"
    change.undo_last(shop.desk)
    assert "stages" not in [one.name for one in builds.build_sheet(shop.desk, "RB-2").items]


def test_the_same_figure_in_another_unit_is_no_difference() -> None:
    inches = BuildItem("1", "b", "camshaft", "lift", text="0.300 in", number=7.62, unit="mm")
    metric = BuildItem("2", "c", "Camshaft", "Lift", text="7.62 mm", number=7.62, unit="mm")
    assert difference([inches], [metric]) == ()


def test_a_build_is_copied_from_any_other_and_from_a_sister(shop: Shop) -> None:
    item(shop, "head", "chamber volume", value="64 cc")
    builds.add_build(shop.desk, "RB-2", "build 2", built_on="2026-04-01", empty=True)
    third = builds.add_build(
        shop.desk, "RB-2", "build 3", built_on="2026-05-01", copied="build 1"
    )  # fmt: skip
    first = builds.list_builds(shop.desk, "RB-2")[0]
    assert third.parent_id == first.id
    engines.copy_engine(shop.desk, "RB-2", "RB-3")
    own = builds.list_builds(shop.desk, "RB-3")[0]
    sister = builds.add_build(
        shop.desk, "RB-3", "build 2", built_on="2026-06-01", of="RB-2", copied="build 3"
    )  # fmt: skip
    assert sister.parent_id == own.id
    assert [one.text for one in builds.build_sheet(shop.desk, "RB-3").items] == ["64 cc"]
    item(shop, "head", "chamber volume", value="62 cc")
    found = builds.compare_builds(shop.desk, ("RB-3", None), ("RB-2", "build 3"))
    assert told(found) == [("chamber volume", "64 cc", "62 cc", False)]
    # One that is entered afterwards comes from the one before its own day.
    late = builds.add_build(shop.desk, "RB-2", "build 1b", built_on="2026-03-20")
    assert late.parent_id == first.id


def test_a_build_is_corrected_and_what_is_not_there_is_named(shop: Shop) -> None:
    builds.add_build(shop.desk, "RB-2", "build 2")
    builds.change_build(shop.desk, "RB-2", "build 2", new_label="race build", notes="for the hill")
    assert builds.list_builds(shop.desk, "RB-2")[-1].label == "race build"
    with pytest.raises(Conflict):
        builds.change_build(shop.desk, "RB-2", "race build", new_label="Build 1")
    with pytest.raises(NotFound, match="race build"):
        builds.build_sheet(shop.desk, "RB-2", "race bild")
    with pytest.raises(NotFound, match="no item"):
        builds.drop_item(shop.desk, "RB-2", None, "head", "gasket")
