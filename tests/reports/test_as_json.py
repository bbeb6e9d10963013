"""The documents as the results become them: nothing rounded, null for unknown, always JSON."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from logbook.cases.results import Noise, Worth
from logbook.records.caution import Caution
from logbook.records.engine import Engine
from logbook.records.setup import Level, SetUp
from logbook.records.trace import Channel, Trace
from logbook.reports import as_json


def worth(quantity: str) -> Worth:
    return Worth(
        quantity=quantity,
        difference_kw=1 / 3,
        percent=0.8,
        interval_kw=(-math.inf, 2.5),
        verdict="leaning",
        noise=Noise(0.5, math.inf, "assumed"),
        pulls=(4,),
        baseline_pulls=(1, 2),
        more_pulls=None,
        reason="one pull",
    )


def test_a_worth_by_band_power() -> None:
    document = as_json.worth_json(worth("band power"))
    assert document is not None
    assert document["band_power_kw"] == 1 / 3, "never rounded"
    assert document["interval_kw"] == [None, 2.5], "an open end is null"
    assert document["more_pulls"] is None
    json.dumps(document, allow_nan=False)


def test_a_worth_by_peaks_has_no_band_power() -> None:
    document = as_json.worth_json(worth("peak power"))
    assert document is not None
    assert document["band_power_kw"] is None
    assert (document["quantity"], document["difference_kw"]) == ("peak power", 1 / 3)


def test_a_set_up_keeps_the_users_names_and_texts() -> None:
    set_up = SetUp(
        {
            "Timing": Level("32", 32.0, "deg"),
            "Main jets": Level("82", 82.0),
            "plug gap": Level("0.90 mm", 0.9, "mm"),
            "fuel": Level("Tango 7"),
        }
    )
    assert as_json.set_up_json(set_up) == {
        "timing_deg": 32.0,
        "Main jets": 82.0,
        "plug gap": "0.90 mm",
        "fuel": "Tango 7",
    }


def test_cautions_stand_once() -> None:
    one, two = Caution("a", "x"), Caution("b", "x")
    assert as_json.cautions_json([one, two, one]) == [
        {"code": "a", "text": "x"},
        {"code": "b", "text": "x"},
    ]


def test_a_record_by_its_field_names() -> None:
    document = as_json.record_json(Engine(id="1", tag="RB-2", bore_mm=math.nan, typed={"a": "b"}))
    assert document["bore_mm"] is None
    assert document["typed"] == {"a": "b"}
    assert "withdrawn" not in document


def test_figures_of_nothing_are_all_null() -> None:
    assert set(as_json.figures_json(None).values()) == {None}


def test_a_trace_is_as_the_source_printed_it() -> None:
    torque = Channel("Tq", "torque", "lb-ft", np.array([1.0, np.nan]), 1, "nm", 1.3558179483)
    document = as_json.trace_json(Trace((torque,), 0, 1))
    assert document["channels"][0]["values"] == [1.0, None]
    assert document["channels"][0]["unit"] == "lb-ft"
    json.dumps(document, allow_nan=False)


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_what_is_no_number_is_null(value: float) -> None:
    assert as_json.plain_value((value, {"k": value})) == [None, {"k": None}]
