"""The story as data: whole, consistent with the model, and the same every time."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from logbook.intake import read_bytes
from seed_db import model
from seed_db.day import day_percent, set_point
from seed_db.logs import file_name, written
from seed_db.shop import cells, engines, fuels
from seed_db.story import SWEEP, StorySession, sessions
from seed_db.truth import another_pull, best_timing_deg, corrected_band_power_kw, truth
from seed_db.weather import as_read, true_air

every_session = pytest.mark.parametrize("session", sessions().values(), ids=list(sessions()))


def test_the_workshop_is_large_enough_to_look_around_in() -> None:
    assert len(engines()) >= 4
    assert len(cells()) == 3
    assert len(sessions()) >= 12
    pulls = [pull for session in sessions().values() for pull in session.pulls]
    assert sum(pull.kind == SWEEP for pull in pulls) >= 150
    families = [engine.family.name for engine in engines().values()]
    assert any(families.count(name) == 2 for name in families)
    years = {session.opened.year for session in sessions().values() if session.closed}
    assert years == {2023, 2024, 2025, 2026}
    last = max(sessions().values(), key=lambda session: session.opened)
    assert [s.key for s in sessions().values() if not s.closed] == [last.key]
    assert last.opened < datetime(2026, 11, 20, tzinfo=UTC)


@every_session
def test_time_runs_forward_and_air_is_known_throughout(session: StorySession) -> None:
    minutes = [pull.minute for pull in session.pulls]
    assert minutes == sorted(minutes)
    assert minutes[0] > 0
    assert session.pulls[0].read_air
    for pull in session.pulls:
        air = true_air(session, pull.minute)
        assert 90 < air.pressure_kpa < 102
        assert 0.2 < air.relative_humidity < 1.0


@every_session
def test_every_session_can_be_run_by_the_model(session: StorySession) -> None:
    for pull in session.pulls:
        set_point(session.engine, pull.set_up)
        assert abs(day_percent(session, pull)) < 2.5
        timing = float(pull.set_up["timing"])
        assert timing <= float(session.engine.sheet["limit-timing"].removesuffix(" deg"))
        fuel = fuels()[pull.set_up["fuel"]]
        opened = fuel.sheet.get("opened-on", "2023-01-01")
        assert opened <= session.opened.date().isoformat()
        assert session.build.built_on < session.opened.date().isoformat()


@every_session
def test_knock_is_heard_only_where_the_model_knocks(session: StorySession) -> None:
    for pull in session.pulls:
        fuel = fuels()[pull.set_up["fuel"]]
        starts = model.knock_from(session.engine.family, fuel, true_air(session, pull.minute))
        timing = float(pull.set_up["timing"])
        if pull.knock == "heard":
            assert timing >= starts
        if pull.knock == "none":
            assert timing < starts


def test_each_cell_reads_its_air_in_its_own_way() -> None:
    keys = {
        name: set(as_read(cell, true_air(next(iter(sessions().values())), 0.0)))
        for name, cell in cells().items()
    }
    assert keys["Yard cell"] == {"pressure", "temperature", "rh"}
    assert keys["Lake cell"] == {"pressure", "temperature", "wet-bulb"}
    assert keys["Hill cell"] == {"pressure", "temperature", "dew-point"}


def test_the_weather_services_pressure_is_the_one_reduced_to_sea_level() -> None:
    session = next(s for s in sessions().values() if any(p.sea_level for p in s.pulls))
    air = true_air(session, 0.0)
    station = float(as_read(session.cell, air)["pressure"].split()[0])
    reduced = float(as_read(session.cell, air, sea_level=True)["pressure"].split()[0])
    assert 45 < reduced - station < 60  # about 12 hPa per 100 m


@pytest.mark.parametrize(
    ("key", "delimiter", "decimal", "start"),
    [
        ("2023-04-22-hc-4a", b",", b".", b"Time (s),Engine speed (rpm),Torque (lb-ft)"),
        ("2023-06-10-rb-8", b",", b".", b"Lake cell recorder\r\nRun 7\r\n\r\ntime_s,"),
        ("2024-05-04-hc-4b", b";", b",", b"t;Engine speed;Torque;Power;"),
    ],
)
def test_each_cell_writes_files_in_its_own_dialect(
    key: str, delimiter: bytes, decimal: bytes, start: bytes
) -> None:
    session = sessions()[key]
    content = written(session, session.pulls[1], 7)
    assert content.startswith(start)
    assert content == written(session, session.pulls[1], 7)
    read = read_bytes(file_name(session, 7), content)
    assert (read.delimiter.encode(), read.decimal.encode()) == (delimiter, decimal)
    assert read.kind_hint == "sweep"
    assert not read.unknown_units
    assert len(read.trace.channels) >= 12
    assert 150 <= len(read.trace.channels[0].values) <= 350
    known = [channel.quantity for channel in read.trace.channels]
    assert None not in known
    assert {"time", "engine speed", "torque", "manifold vacuum"} <= set(known)


def test_the_rise_is_cut_out_of_a_log_that_starts_early_and_stops_late() -> None:
    session = sessions()["2024-05-04-hc-4b"]
    read = read_bytes("a.csv", written(session, session.pulls[1], 1))
    speed = read.trace.channels[1].values
    assert 0 < read.trace.first_sample < read.trace.last_sample < len(speed) - 10
    assert speed[read.trace.first_sample] == pytest.approx(4200, abs=60)
    assert speed[read.trace.last_sample] == pytest.approx(8300, abs=60)


def test_chance_hangs_on_the_session_and_the_pull_alone() -> None:
    session = sessions()["2026-11-14-rb-8"]
    assert day_percent(session, session.pulls[3]) == day_percent(session, session.pulls[3])
    assert day_percent(session, session.pulls[2]) != day_percent(session, session.pulls[3])
    more = another_pull(session, 20, 32.0)
    assert more.set_up["timing"] == "32.00"
    assert more.minute - session.pulls[-1].minute == pytest.approx(6.0 * 7)
    told = corrected_band_power_kw(session, session.pulls[-1])
    assert corrected_band_power_kw(session, more) == pytest.approx(told, rel=0.01)


def test_the_story_holds_what_it_promises() -> None:
    told = {effect.what for effect in truth()}
    assert {"gain", "loss", "false gain", "drift", "bundle", "timing", "rebuild"} <= told
    worth = {effect.what: effect for effect in truth()}
    assert worth["gain"].percent > 1.0
    assert worth["loss"].percent < -0.5
    assert abs(worth["false gain"].percent) < 0.5
    assert abs(worth["drift"].percent) < 0.5
    assert abs(worth["nothing worth having"].percent) < 0.1
    bundles = [effect for effect in truth() if effect.what == "bundle"]
    assert all(len(effect.factors) == 2 for effect in bundles)
    both = worth["rebuild, fuel and carburetor"]
    assert both.factors == ("build", "fuel", "carburetor")


def test_the_sisters_evidence_adds_up_to_the_first_sisters_whole() -> None:
    # What makes "what was the rebuild worth apart from fuel and carburetor" answerable.
    worth = {effect.what: effect.percent for effect in truth()}
    parts = ("rebuild", "evidence: fuel", "evidence: carburetor")
    whole = worth["rebuild, fuel and carburetor"]
    assert sum(worth[part] for part in parts) == pytest.approx(whole, abs=1.0)


def test_timing_sweeps_enclose_the_best_timing() -> None:
    for session in sessions().values():
        if any(beat.what == "timing" for beat in session.beats):
            tried = [float(pull.set_up["timing"]) for pull in session.pulls]
            best = best_timing_deg(session.engine, session.build, session.pulls[-1].set_up)
            assert min(tried) < best < max(tried)


def test_pulls_keep_a_gap_that_lets_the_engine_recover() -> None:
    for session in sessions().values():
        moments = [session.when(pull.minute) for pull in session.pulls]
        gaps = [later - earlier for earlier, later in pairwise(moments)]
        assert all(gap >= timedelta(minutes=5) for gap in gaps)
