"""Air told by an instrument: kept where it is news, with its source and age, never in the way."""

from __future__ import annotations

import json
import socket
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from logbook.cases import judge
from logbook.cases.air import latest_air
from logbook.cases.air_source import keep, news
from logbook.cases.change import LOOK_BACK, redo_last, undo_last
from logbook.cases.pulls import new_air
from logbook.cases.safety import verify
from logbook.cases.sessions import open_session
from logbook.cli.run import run
from logbook.intake.instruments.told import Told
from logbook.records.session import Session
from logbook.refusals import BadInput
from tests.app.conftest import Shop, hand_on, make_shop
from tests.intake.test_instruments import MDA

TEXTS = {"pressure": "996.3 hPa", "temperature": "21.3 C", "rh": "45.2 %"}
TOLD = Told(TEXTS, "NMEA 0183, UDP port 9", 30.0)


@pytest.fixture
def shop(tmp_path: Path) -> Shop:
    return make_shop(tmp_path)


def test_a_pull_carries_the_instruments_air_with_its_source_and_age(shop: Shop) -> None:
    shop.clock.turn(10)
    assert keep(shop.desk, TOLD) == 1
    pull = shop.trace(1.0131, "next.csv")
    air = judge.pull_story(shop.desk, pull).air
    assert air is not None
    assert air.reading.instrument == TOLD.source
    assert air.reading.typed["pressure_kpa"] == "996.3 hPa", "as it was told"
    assert air.reading.pressure_kpa == pytest.approx(99.63)
    assert air.age_minutes == pytest.approx(5.5), "told half a minute before it was kept"


def test_only_news_is_kept(shop: Shop) -> None:
    shop.clock.turn(10)
    assert keep(shop.desk, TOLD) == 1
    shop.clock.turn(1)
    same = Told({**TOLD.texts, "temperature": "21.4 C"}, TOLD.source, 0.0)
    assert news(shop.desk, same) == ()
    warmer = Told({**TOLD.texts, "temperature": "21.6 C"}, TOLD.source, 0.0)
    assert keep(shop.desk, warmer) == 1
    shop.clock.turn(6)
    assert keep(shop.desk, warmer) == 1, "an old one is confirmed now and then"


@pytest.mark.parametrize(
    ("first", "within", "beyond"),
    [
        ({"rh": "45.2 %"}, {"rh": "46.2 %"}, {"rh": "46.9 %"}),
        ({"dew-point": "9.0 C"}, {"dew-point": "9.3 C"}, {"dew-point": "9.5 C"}),
        ({"vapor-pressure": "1.15 kPa"}, {"vapor-pressure": "1.17 kPa"},
         {"vapor-pressure": "1.19 kPa"}),
    ],
)  # fmt: skip
def test_humidity_is_news_by_the_vapors_pressure_whatever_it_is_told_as(
    shop: Shop, first: dict[str, str], within: dict[str, str], beyond: dict[str, str]
) -> None:
    bare = {name: text for name, text in TEXTS.items() if name != "rh"}

    def told(humidity: dict[str, str]) -> Told:
        shop.clock.turn(1)
        return Told({**bare, **humidity}, TOLD.source, 0.0)

    shop.clock.turn(10)
    keep(shop.desk, told(first))
    assert news(shop.desk, told(within)) == ()
    assert keep(shop.desk, told(beyond)) == 1


def test_an_older_reading_than_the_typed_one_is_no_news(shop: Shop) -> None:
    shop.clock.turn(10)
    given = {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %"}
    new_air(shop.desk, shop.session_id, given, units=None)
    assert news(shop.desk, TOLD) == ()


def test_an_impossible_reading_is_refused_and_nothing_is_written(shop: Shop) -> None:
    with pytest.raises(BadInput):
        keep(shop.desk, Told({**TOLD.texts, "pressure": "1.2 bar"}, TOLD.source, 0.0))
    with pytest.raises(BadInput):
        keep(shop.desk, Told({**TOLD.texts, "temperature": "nan C"}, TOLD.source, 0.0))
    assert judge.session_view(shop.desk, shop.session_id).air is not None


def test_undo_takes_back_what_a_person_did(shop: Shop) -> None:
    pull = shop.trace(1.0132, "mine.csv")
    shop.clock.moment += timedelta(minutes=2)
    keep(shop.desk, TOLD)
    assert "Pull" in undo_last(shop.desk).sentence
    assert pull not in {row.pull.id for row in judge.session_view(shop.desk, shop.session_id).rows}


def test_undo_passes_any_number_of_told_readings_over(shop: Shop) -> None:
    shop.trace(1.0132, "mine.csv")
    for minute in range(LOOK_BACK + 5):
        shop.clock.moment += timedelta(minutes=6)
        keep(shop.desk, replace(TOLD, texts={**TEXTS, "temperature": f"{21 + minute % 2} C"}))
    assert "Pull" in undo_last(shop.desk).sentence
    shop.clock.turn(6)
    keep(shop.desk, TOLD)
    assert "Done again: Pull" in redo_last(shop.desk).sentence


def test_what_somebody_called_so_is_still_somebodys_change(shop: Shop) -> None:
    with shop.desk.book.changing(who="KL", what="Air told by its instrument") as change:
        change.update(Session, shop.session_id, notes="windy")
    assert "Air told by its instrument" in undo_last(shop.desk).sentence


def test_told_air_is_taken_back_with_its_session_and_comes_again(shop: Shop) -> None:
    opened = open_session(shop.desk, "RB-2").id
    shop.clock.turn(10)
    keep(shop.desk, TOLD)
    assert "session" in undo_last(shop.desk).sentence.lower()
    with shop.desk.book.reading() as read:
        assert latest_air(read, opened) is None
    redo_last(shop.desk)
    with shop.desk.book.reading() as read:
        assert latest_air(read, opened) is not None
    assert verify(shop.desk) == []


def test_the_command_shows_and_keeps_it(
    shop: Shop, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    air = tmp_path / "air.csv"
    air.write_text("Pressure [hPa],Temperature [C],Humidity [%]\n996.3,21.3,45\n")
    book = str(shop.book)
    assert run(["air-from", f"file:{air}", "--once", "--dry-run", "--json", "--db", book]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["pressure"] == "996.3 hPa"
    assert told["kept_in_sessions"] == 0
    assert run(["air-from", f"file:{air}", "--once", "--db", book]) == 0
    assert "kept in 1 sessions" in capsys.readouterr().out
    assert run(["air-from", "--once", "--db", book]) == 2
    assert run(["air-from", f"file:{tmp_path}/none", "--once", "--db", book]) == 1


async def test_the_app_listens_by_itself(shop: Shop) -> None:
    from logbook.cases.air_source import AirFeed

    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    shop.clock.turn(10)
    air = lambda: AirFeed(f"udp://127.0.0.1:{port}", {})  # noqa: E731
    async with hand_on(shop.book, clock=shop.clock, size=(120, 40), air=air) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as sender:

            def told() -> bool:
                sender.sendto(MDA.encode(), ("127.0.0.1", port))
                return f"UDP port {port}" in hand.text_of("#foot")

            await hand.until(told, "the instrument's air")
