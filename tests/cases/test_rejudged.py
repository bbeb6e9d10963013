"""An excluded pull, another baseline, band or standard: everything is judged anew and told."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from logbook.cases import pulls, sessions
from logbook.cases.change import redo_last, undo_last
from logbook.cases.rejudged import Rejudged, and_what_changed
from logbook.reports.rejudged_words import rejudged_json, sentences

from .conftest import Shop


@pytest.fixture
def day(shop: Shop) -> Shop:
    """A baseline of three, two with more timing, one of which went wrong, two with other jets."""
    pulls.new_air(
        shop.desk,
        shop.session_id,
        {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %"},
        units=None,
    )
    for scale in (1.0, 1.001, 0.9995):
        shop.trace(scale, timing=30)
    for scale in (1.012, 0.985):
        shop.trace(scale, timing=32)
    for scale in (1.0125, 1.0118):
        shop.trace(scale, timing=32)
    return shop


def told(shop: Shop, act: Callable[[], object]) -> Rejudged:
    _, found = and_what_changed(shop.desk, shop.session_id, act)
    return found[0]


def pull_id(shop: Shop, number: int) -> str:
    return pulls.find_pull(shop.desk, f"RB-2/last/{number}").id


def test_an_excluded_pull_turns_the_verdict_and_says_so_and_undo_says_it_back(day: Shop) -> None:
    one = told(day, lambda: pulls.exclude(day.desk, pull_id(day, 5), "throttle not open"))
    (turned,) = one.turned
    assert turned.words == ("not settled", "gain so far")
    assert turned.stand.pulls == (4, 6, 7)
    assert turned.moved_kw > 0
    assert one.before.total is not None
    assert one.after.total is not None
    said = sentences([one], "us")
    assert "timing 32° (pulls 4, 6–7): not settled → gain so far" in said
    assert "all steps together" in said
    undone = undo_last(day.desk)
    assert undone.rejudged[0].turned[0].words == ("gain so far", "not settled")
    assert redo_last(day.desk).rejudged[0].turned[0].words == ("not settled", "gain so far")


def test_another_baseline_turns_both_sides(day: Shop) -> None:
    pulls.exclude(day.desk, pull_id(day, 5), "throttle not open")
    ids = (pull_id(day, 4),)
    one = told(day, lambda: sessions.set_baseline(day.desk, day.session_id, ids))
    assert [turned.words for turned in one.turned] == [
        ("the baseline", "loss so far"),
        ("gain so far", "the baseline"),
    ]
    assert "baseline first set-up, pulls 1–3 → pulls 4, 6–7" in sentences([one], "us")


@pytest.mark.parametrize(
    "change", [{"band": "6200-6900"}, {"standard": "sae-j607"}, {"worth_having": 5.0}]
)
def test_another_band_standard_or_worth_having_is_told(
    day: Shop, change: dict[str, object]
) -> None:
    pulls.exclude(day.desk, pull_id(day, 5), "throttle not open")
    one = told(day, lambda: sessions.change_session(day.desk, day.session_id, **change))  # type: ignore[arg-type]
    assert one.anything
    if "worth_having" in change:
        assert one.turned[0].words == ("gain so far", "nothing worth having")
    else:
        assert one.before.total is not None
        assert one.after.total is not None
        assert one.after.total.difference_kw != one.before.total.difference_kw
        assert "hp" in sentences([one], "us")


def test_a_session_measured_from_this_one_is_told_too(day: Shop) -> None:
    first = day.session_id
    base = tuple(pull_id(day, number) for number in (1, 2, 3))
    day.session_id = sessions.open_session(day.desk, "RB-2", baseline=base).id
    pulls.new_air(day.desk, day.session_id,
                  {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %"},
                  units=None)  # fmt: skip
    day.trace(1.02, timing=33)
    _, found = and_what_changed(
        day.desk, first, lambda: pulls.exclude(day.desk, base[1], "somebody opened the door")
    )
    assert [one.after.session_id for one in found] == [first, day.session_id]
    assert found[1].moved is not None
    assert "RB-2/2026-03-14: " in sentences(found, "us")


def test_sessions_that_are_not_looked_at_are_counted(
    day: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("logbook.cases.rejudged.MOST_SESSIONS", 2)
    base = tuple(pull_id(day, number) for number in (1, 2, 3))
    for _ in range(3):
        sessions.open_session(day.desk, "RB-2", baseline=base)
    first = day.session_id
    _, found = and_what_changed(
        day.desk, first, lambda: sessions.change_session(day.desk, first, notes="windy")
    )
    assert sentences(found, "us") == (
        "Judged anew: no verdict changed. 2 more sessions that this touches were not looked at."
    )
    assert rejudged_json(found)[0]["sessions_not_looked_at"] == 2
    _, found = and_what_changed(
        day.desk, first, lambda: pulls.exclude(day.desk, base[1], "somebody opened the door")
    )
    assert found[0].not_looked_at == 2


def test_where_no_verdict_changes_that_is_said(day: Shop) -> None:
    one = told(day, lambda: sessions.change_session(day.desk, day.session_id, notes="windy"))
    assert not one.anything
    assert sentences([one], "us") == "Judged anew: no verdict changed."
    assert rejudged_json([one])[0]["turned"] == []
    undone = undo_last(day.desk)
    assert undone.rejudged == ()


def test_a_corrected_set_up_is_known_by_its_pulls(day: Shop) -> None:
    ids = [pull_id(day, number) for number in (4, 5, 6, 7)]

    def correct() -> None:
        for one_id in ids:
            pulls.change_pull(day.desk, one_id, {}, set_up={"fuel": "Tango"}, why="forgotten")

    one = told(day, correct)
    assert one.turned == ()
    assert "not judged" not in sentences([one], "us")


def test_a_session_that_judges_nothing_says_nothing(shop: Shop) -> None:
    one = told(shop, lambda: sessions.change_session(shop.desk, shop.session_id, band="5000-6000"))
    assert sentences([one], "us") == ""
