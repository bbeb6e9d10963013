"""No door advises a pull out of bounds, whatever the advice is about."""

from __future__ import annotations

from logbook.cases import engines, judge, ledger, pulls, sessions, timing
from logbook.cases.entry import PullEntry
from logbook.cases.results import Logged

from .conftest import AIR, Shop

READINGS = {"lambda": "0.88", "coolant": "80 C", "knock": "none"}


def pull(shop: Shop, degrees: float, torque: float, **fields: str) -> Logged:
    """Typed peaks on the fuel that is on file, five minutes later."""
    shop.clock.turn(5)
    return pulls.add_pull(
        shop.desk,
        PullEntry(
            session_id=shop.session_id,
            set_up={"timing": f"{degrees:g}", "fuel": "Tango drum 12"},
            fields={"peak-torque": f"{torque} Nm", "at": "4800", "peak-power": f"{torque / 2} kW",
                    "power-at": "6200", **READINGS, **AIR, **fields},
        ),
    )  # fmt: skip


def bounds_of(shop: Shop) -> tuple[float | None, str]:
    bounds = timing.timing_view(shop.desk, shop.session_id).bounds
    return bounds.high_deg, " ".join(bounds.says)


def next_day(shop: Shop) -> None:
    sessions.close_session(shop.desk, shop.session_id)
    shop.clock.turn(60 * 24)
    shop.session_id = sessions.open_session(shop.desk, "RB-2").id


def test_a_set_up_that_knocked_is_not_advised_again(shop: Shop) -> None:
    for degrees, torque in ((30, 400.0), (30, 400.8), (34, 401.6), (34, 402.4)):
        shop.peaks(torque, timing=degrees, **({"knock": "heard"} if torque == 401.6 else {}),
                   **(AIR if torque == 400.0 else {}))  # fmt: skip
    shop.peaks(401.0, timing=28)
    rows = judge.session_view(shop.desk, shop.session_id).rows
    worth = next(row.worth for row in rows if row.setup.timing_deg == 34)
    assert worth is not None
    assert worth.verdict == "not settled"
    assert worth.more_pulls is None
    assert "No further pulls are advised: 34° lies past 30°" in worth.reason
    kept = next(row.worth for row in rows if row.setup.timing_deg == 28)
    assert kept is not None
    assert "No further pulls" not in kept.reason


def test_the_timing_that_would_settle_a_doubt_is_bounded_too(shop: Shop) -> None:
    """Steps of 10° are doubted; the one in between lies past the limit, or an alarm came up."""
    engines.add_engine(shop.desk, "RB-3", {"limit-timing": "34"}, band="4500-6500")
    for tag, alarm, wanted in (("RB-2", "", True), ("RB-3", "", False), ("RB-2", "coolant", False)):
        session = sessions.open_session(shop.desk, tag, standard="none")
        for degrees, torque in ((20, 385.0), (30, 400.0), (40, 398.0), (50, 380.0)):
            fields = {"peak-torque": f"{torque} Nm", "at": "4800", "knock": "none"}
            if degrees == 50:
                fields["alarms"] = alarm
            pulls.add_pull(
                shop.desk,
                PullEntry(session_id=session.id, set_up={"timing": f"{degrees}"}, fields=fields),
            )
        view = timing.timing_view(shop.desk, session.id)
        assert view.answer is not None
        assert [doubt.code for doubt in view.answer.doubts] == ["steps-too-wide"]
        assert view.answer.settle_deg == (35.0 if wanted else None)


def test_a_pull_that_would_separate_a_bundle_is_bounded_too(shop: Shop) -> None:
    """Timing and a spacer were changed together: with timing barred the spacer is named."""
    for degrees, spacer, torque in ((30, "none", 400.0), (30, "none", 400.4), (40, "25 mm", 406.0)):
        shop.clock.turn(5)
        pulls.add_pull(
            shop.desk,
            PullEntry(
                session_id=shop.session_id,
                set_up={"timing": f"{degrees}", "spacer": spacer},
                fields={"peak-torque": f"{torque} Nm", "at": "4800",
                        "peak-power": f"{torque / 2} kW", "power-at": "6200",
                        **(AIR if torque == 400.0 else {})},
            ),
        )  # fmt: skip
    (group,) = ledger.ledger_view(shop.desk, shop.session_id).effects.inseparable
    assert {term.factor for term in group.terms} == {"timing", "spacer"}
    assert [term.factor for term in group.separate_by] == ["spacer"]


def test_an_excluded_pull_finds_no_timing_clean(shop: Shop) -> None:
    shop.peaks(400, timing=30, knock="none", **AIR)
    aborted = shop.peaks(380, timing=33, knock="none")
    assert bounds_of(shop)[0] == 35
    pulls.exclude(shop.desk, aborted.pull_id, "throttle not open")
    assert bounds_of(shop)[0] == 32


def test_a_timing_found_clean_the_day_before_holds_until_something_changes(shop: Shop) -> None:
    engines.add_fuel(shop.desk, "Tango", {"batch": "drum 12"})
    pull(shop, 30, 400.0)
    clean = pull(shop, 34, 402.0)
    next_day(shop)
    pull(shop, 30, 400.2, knock="not checked")
    high, says = bounds_of(shop)
    assert high == 34
    assert "34° was found clean on 2026-03-14" in says
    # What was learned there is asked for again when that session changes.
    pulls.exclude(shop.desk, clean.pull_id, "throttle not open")
    assert bounds_of(shop)[0] == 30
    pulls.include(shop.desk, clean.pull_id)
    assert bounds_of(shop)[0] == 34
    pull(shop, 30, 400.1, knock="not checked", coolant="82 C")
    assert bounds_of(shop)[0] == 30


def test_knock_heard_the_day_before_is_not_forgotten(shop: Shop) -> None:
    engines.add_fuel(shop.desk, "Tango", {"batch": "drum 12"})
    pull(shop, 30, 400.0)
    pull(shop, 34, 402.0, knock="heard")
    next_day(shop)
    pull(shop, 32, 400.2)
    high, says = bounds_of(shop)
    assert high == 32
    assert "Knock was heard at 34° on 2026-03-14" in says
