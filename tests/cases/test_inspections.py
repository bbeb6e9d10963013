"""Inspections: a value for every cylinder, spreads that point at one, clearances with a verdict."""

from __future__ import annotations

import sqlite3
from contextlib import closing

import pytest

from logbook.cases import change, inspections, safety
from logbook.cases.inspections import ClearanceEntry
from logbook.refusals import BadInput, NotFound
from tests.cases.conftest import Shop

LEAKS = "4 5 4 14 5 4 5 -"


def test_an_inspection_reads_back_and_points_at_the_bad_cylinder(shop: Shop) -> None:
    view = inspections.add_inspection(
        shop.desk, "RB-2",
        {
            "kind": "after the season", "leak-down": LEAKS, "lash-intake-hot": "0.012",
            "cranking": "175 178 176 150 177 175 176 174 psi", "lash-hot-at": "180 F",
            "plugs": "tan; tan; tan; dark; tan; tan; tan; tan", "filter-cut": "two flakes",
        },
        units="us",
    )  # fmt: skip
    found = view.inspection
    assert (found.inspected_on, found.who, view.build and view.build.label) == (
        "2026-03-14", "KL", "build 1"
    )  # fmt: skip
    assert found.leak_down_percent == (4, 5, 4, 14, 5, 4, 5, None)
    assert found.typed["leak_down_percent"] == f"{LEAKS} %"
    assert found.cranking_kpa[0] == pytest.approx(1206.58, abs=0.01)
    assert found.lash_intake_hot_mm == (pytest.approx(0.3048),) * 8
    assert view.leak_down is not None
    assert view.cranking is not None
    assert (view.leak_down.outliers, view.cranking.outliers) == ((4,), (4,))
    assert inspections.list_inspections(shop.desk, "rb-2") == [view]
    assert inspections.show_inspection(shop.desk, found.id[:13]) == view
    assert safety.verify(shop.desk) == []
    change.undo_last(shop.desk)
    assert inspections.list_inspections(shop.desk, "RB-2") == []


@pytest.mark.parametrize(
    ("entry", "verdict"),
    [
        (ClearanceEntry("main", "0.0021 in", "main 3", "0.0015..0.0030 in"), "within"),
        (ClearanceEntry("main", "0.0034 in", "main 3", "0.0015..0.0030 in"), "reject"),
        (ClearanceEntry("main", "0.0034 in", "main 3", "..0.0030 in", "reclaim"), "reclaim"),
        (ClearanceEntry("main", "0.0021 in"), "within"),
    ],
)
def test_a_clearance_gets_the_verdict_of_its_limit_or_the_persons(
    shop: Shop, entry: ClearanceEntry, verdict: str
) -> None:
    view = inspections.add_inspection(shop.desk, "RB-2", {}, clearances=[entry])
    assert [one.verdict for one in view.clearances] == [verdict]


@pytest.mark.parametrize(
    ("typed", "entry", "said"),
    [
        ({"leak-down": "4 5 6"}, None, "3 values for 8 cylinders"),
        ({"leak-down": "4,5,6,7,8,9,3,4"}, None, "is not a number"),
        ({"leak-down": "4 5 104 4 5 6 7 8 %"}, None, "out of range"),
        ({"leak-down": "tight"}, None, "holds no value"),
        ({"cranking": "175 175 175 175 175 175 175 175"}, None, "has no unit"),
        ({"plugs": "tan; dark"}, None, "2 values for 8 cylinders"),
        ({"date": "March"}, None, "not a date"),
        ({}, None, "nothing was measured"),
        ({}, ClearanceEntry("main", "0.0034 in", "", "..0.003 in", "within"), "does not lie"),
        ({}, ClearanceEntry("main", "5 psi"), "not a clearance"),
        ({}, ClearanceEntry("main", "0.0034 in", "", "", "fine"), "not one of the choices"),
    ],
)
def test_what_cannot_be_measured_so_is_said(
    shop: Shop, typed: dict[str, str], entry: ClearanceEntry | None, said: str
) -> None:
    with pytest.raises(BadInput, match=said):
        inspections.add_inspection(
            shop.desk, "RB-2", typed, clearances=[entry] if entry else []
        )  # fmt: skip
    assert inspections.list_inspections(shop.desk, "RB-2") == []


def test_an_inspection_is_corrected_with_its_clearances(shop: Shop) -> None:
    main = ClearanceEntry("Main", "0.0034 in", "main 3", "..0.0030 in")
    view = inspections.add_inspection(
        shop.desk, "RB-2", {"leak-down": LEAKS, "note": "warm"}, clearances=[main]
    )
    changed = inspections.change_inspection(
        shop.desk, view.inspection.id, {"note": "", "leak-down": "4 5 4 6 5 4 5 5"},
        clearances=[
            ClearanceEntry("main", "0.0028 in", "Main 3", "..0.0030 in", "reclaim"),
            ClearanceEntry("rod", "0.0020 in"),
        ],
    )  # fmt: skip
    assert (changed.inspection.notes, changed.inspection.leak_down_percent[3]) == ("", 6)
    assert [(one.name, one.verdict) for one in changed.clearances] == [
        ("main", "reclaim"), ("rod", "within")
    ]  # fmt: skip
    with pytest.raises(BadInput, match="has a date"):
        inspections.change_inspection(shop.desk, view.inspection.id, {"date": " "})
    with pytest.raises(NotFound):
        inspections.show_inspection(shop.desk, "ffff")


def test_a_number_that_changed_by_itself_is_found(shop: Shop) -> None:
    inspections.add_inspection(
        shop.desk, "RB-2", {"leak-down": LEAKS}, clearances=[ClearanceEntry("main", "0.0021 in")]
    )
    with closing(sqlite3.connect(shop.desk.book.path)) as db:
        db.execute("UPDATE inspections SET leak_down_percent = '[4,5,4,4,5,4,5,null]'")
        db.execute("UPDATE clearances SET measured_mm = 0.06")
        db.commit()
    said = " ".join(safety.verify(shop.desk))
    assert "leak-down is stored as" in said
    assert "measured is stored as 0.06" in said
