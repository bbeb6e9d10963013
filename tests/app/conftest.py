"""The app on a small invented shop, driven by keys that are counted."""

from __future__ import annotations

import atexit
import shutil
import tempfile
import time
from collections.abc import AsyncIterator, Callable, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

import pytest
import textual._wait
from textual.pilot import Pilot

from logbook.app.app import LogbookApp
from logbook.app.next_pull import GUARD
from logbook.app.screens.file_picker import FilePicker
from logbook.app.widgets.lines import Lines
from logbook.app.widgets.rows import Rows
from logbook.cases import engines, pulls, sessions
from logbook.cases.desk import Desk, open_desk
from logbook.cases.entry import PullEntry
from logbook.drafts import Drafts

# A pilot waits after every key until the process has been idle for so many seconds, 0.02 if
# nobody says otherwise. What these tests wait for they ask for (`Hand.until`, `Visitor.rest`).
textual._wait.SLEEP_GRANULARITY = 0.005
textual._wait.SLEEP_IDLE = 0.001

PATIENCE_S = 20.0
_NAMES = {
    " ": "space", ".": "full_stop", "/": "slash", "-": "minus", ":": "colon", "°": "degree_sign",
    "%": "percent_sign", '"': "quotation_mark", ">": "greater_than_sign", ",": "comma",
}  # fmt: skip


@dataclass
class Clock:
    """Stands still until it is turned; the second clock counts seconds."""

    moment: datetime = field(default_factory=lambda: datetime(2026, 3, 14, 15, 0, tzinfo=UTC))

    def __call__(self) -> datetime:
        return self.moment

    def turn(self, minutes: float) -> None:
        self.moment += timedelta(minutes=minutes)

    def tick(self) -> float:
        return self.moment.timestamp()


def sweep_csv(scale: float) -> str:
    """An invented sweep: 4000–7000 rpm, a torque hump, vacuums and blow-by."""
    lines = ["Engine speed [rpm],Torque [lb-ft],Manifold vacuum [inHg],"
             "Crankcase vacuum [inHg],Blow-by [cfm]"]  # fmt: skip
    for rpm in range(4000, 7001, 50):
        torque = scale * (400 - ((rpm - 5000) / 150) ** 2)
        lines.append(
            f"{rpm},{torque:.2f},{0.4 + (rpm - 4000) / 4000:.2f},9.5,{1.2 + rpm / 9000:.3f}"
        )
    return "\n".join(lines) + "\n"


@dataclass
class Shop:
    """A book with one engine, a session of last year, and one open today."""

    folder: Path
    clock: Clock
    desk: Desk
    session_id: str = ""
    pull_ids: list[str] = field(default_factory=list)

    @property
    def book(self) -> Path:
        return self.folder / "book.db"

    def trace(self, scale: float, name: str, **set_up: str) -> str:
        """Log a sweep file, five minutes later; its pull's id."""
        self.clock.turn(5)
        entry = PullEntry(
            session_id=self.session_id, trace=self.file(scale, name), set_up=set_up,
            torque_state="observed",
        )  # fmt: skip
        self.pull_ids.append(pulls.add_pull(self.desk, entry).pull_id)
        return self.pull_ids[-1]

    def file(self, scale: float, name: str) -> Path:
        """A sweep file in the cell's folder."""
        folder = self.folder / "cell"
        folder.mkdir(exist_ok=True)
        path = folder / name
        path.write_text(sweep_csv(scale))
        return path

    def air(self) -> None:
        given = {"pressure": "29.42 inHg", "temperature": "78 F", "rh": "41 %"}
        pulls.new_air(self.desk, self.session_id, given, units=None)


def make_shop(folder: Path) -> Shop:
    """A shop of the test's own: a copy of one that is built once."""
    built = _built_shop()
    shutil.copytree(built.folder, folder, dirs_exist_ok=True)
    clock = Clock(built.clock.moment)
    desk = open_desk(folder / "book.db", who="KL", units="us", now=clock)
    return Shop(folder, clock, desk, built.session_id, list(built.pull_ids))


@cache
def _built_shop() -> Shop:
    folder = Path(tempfile.mkdtemp(prefix="logbook-shop-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    shop = _build_shop(folder)
    shop.desk.close()
    return shop


def _build_shop(folder: Path) -> Shop:
    """Two sessions of one engine: five pulls last year, five today."""
    clock = Clock(datetime(2025, 3, 15, 16, 0, tzinfo=UTC))
    shop = Shop(folder, clock, open_desk(folder / "book.db", who="KL", units="us", now=clock))
    desk = shop.desk
    engines.add_cell(desk, "North", {"altitude": "1250 ft", "time-zone": "America/Denver"})
    engines.add_engine(
        desk, "RB-2",
        {"name": "boat V8", "cylinders": "8", "bore": "4.25 in", "stroke": "3.75 in",
         "limit-timing": "36", "limit-speed": "7200", "ready-oil-low": "180 F",
         "ready-oil-high": "220 F"},
        band="4500-6500",
    )  # fmt: skip
    for name in ("Tango", "Foxtrot"):
        engines.add_fuel(desk, name, {})
    every = tuple(key for key, _ in sessions.SAFETY_LIST)
    opened = sessions.open_session(desk, "RB-2", purpose="rings", operator="KL",
                                   safety_checked=every)  # fmt: skip
    shop.session_id = opened.id
    shop.air()
    for number, scale in enumerate((0.97, 0.98, 0.975)):
        shop.trace(
            scale, f"old-{number}.csv", **({} if number else {"timing": "30", "fuel": "Tango"})
        )
    sessions.close_session(desk, opened.id)
    clock.moment = datetime(2026, 3, 14, 15, 0, tzinfo=UTC)
    opened = sessions.open_session(desk, "RB-2", purpose="timing", operator="KL",
                                   safety_checked=every)  # fmt: skip
    shop.session_id = opened.id
    shop.pull_ids.clear()
    shop.air()
    for number, (scale, timing) in enumerate(
        ((1.0, ""), (1.001, ""), (0.9995, ""), (1.012, "32"), (1.0125, ""))
    ):
        shop.trace(scale, f"run-{number}.csv", **({"timing": timing} if timing else {}))
    return shop


def rebuild(shop: Shop) -> None:
    """Another V8 is rebuilt and gets another fuel and a carburetor with it; its sister gets these
    one by one. In a cell of their own."""
    from logbook.cases.builds import add_build

    desk, clock = shop.desk, shop.clock
    engines.add_cell(desk, "South", {"altitude": "1250 ft", "time-zone": "America/Denver"})
    for tag in ("RB-3", "RB-5"):
        sheet = {"name": "boat V8", "cylinders": "8", "bore": "4.25 in", "stroke": "3.75 in",
                 "family": "boat V8"}  # fmt: skip
        engines.add_engine(desk, tag, sheet, band="4500-6500")
    add_build(desk, "RB-5", "build 2", built_on="2026-04-01")
    old = {"timing": "30", "fuel": "Tango", "carburetor": "550 cfm"}
    large, new = (
        {**old, "carburetor": "780 cfm"},
        {**old, "carburetor": "780 cfm", "fuel": "Foxtrot"},
    )
    alone = [old, old, large, large, new, new, large, old]
    for day, tag, build, set_ups, scales in (
        (datetime(2025, 6, 14, 15, tzinfo=UTC), "RB-5", "build 1", [old] * 3,
         (0.98, 0.981, 0.9795)),
        (datetime(2026, 4, 10, 15, tzinfo=UTC), "RB-3", "build 1", alone,
         (0.99, 0.991, 1.014, 1.0155, 1.034, 1.033, 1.0145, 0.9905)),
        (datetime(2026, 5, 9, 15, tzinfo=UTC), "RB-5", "build 2", [new] * 3,
         (1.052, 1.0535, 1.053)),
    ):  # fmt: skip
        clock.moment = day
        shop.session_id = sessions.open_session(desk, tag, build=build, cell="South").id
        shop.air()
        for number, (set_up, scale) in enumerate(zip(set_ups, scales, strict=True)):
            # No two files are the same: a measurement is taken once.
            scale += (day.month + number) * 1e-5
            shop.trace(scale, f"{tag}-{day:%m}-{number}.csv", **set_up)
        sessions.close_session(desk, shop.session_id)


def measure_build(shop: Shop) -> None:
    """What a builder found of the V8: one bore worn, one top ring tight; and a load cell that
    reads a little high, hung with weights."""
    from logbook.cases.builds import set_item
    from logbook.cases.calibrations import CalibrationEntry, add_calibration

    each = "per-cylinder"
    for system, name, given in (
        ("short block", "bore top thrust", {each: " ".join(["4.2506"] * 7 + ["4.2522 in"])}),
        ("short block", "bore bottom thrust", {each: " ".join(["4.2503"] * 7 + ["4.2509 in"])}),
        ("pistons", "skirt", {each: " ".join(["4.2455"] * 8) + " in"}),
        ("clearances", "piston clearance", {"tolerance": "0.0045..0.0060 in"}),
        ("clearances", "taper", {"tolerance": "..0.0008 in"}),
        ("ring pack", "top ring gap", {each: "0.018 0.018 0.015 0.019 0.018 0.018 0.018 0.018 in"}),
        ("bore finish", "Rpk", {"value": "0.25 µm", "tolerance": "..0.30 µm"}),
        ("head", "chamber", {"value": "74 cc"}),
        ("head", "compression ratio", {"tolerance": "11.8..12.2"}),
    ):
        set_item(shop.desk, "RB-2", None, system, name, given)
    for name, more in (
        (
            "Tank",
            {
                "density": "0.745 kg/L",
                "density-at": "15 C",
                "carbon": "1",
                "hydrogen": "1.87",
                "heating-value": "43.1 MJ/kg",
            },
        ),
        (
            "Methanol",
            {
                "density": "0.791 kg/L",
                "density-at": "20 C",
                "carbon": "1",
                "hydrogen": "4",
                "oxygen": "1",
            },
        ),
    ):
        engines.add_fuel(shop.desk, name, more)
    add_calibration(
        shop.desk, "North",
        CalibrationEntry(
            "load cell", unit="lb-ft", weights="lb", arm="24 in", latitude="39.7",
            pairs="0:0.1 50:100.3 100:200.9 150:301.2 200:401.6 150:301.9 100:201.6 50:100.9 0:0.3",
            zero_before="0.1", zero_after="0.3", tolerance="0.5 %", due="6 months",
        ),
    )  # fmt: skip


def file_engine(shop: Shop) -> None:
    """The V8's file: a rebuild with other rings, an inspection with one bad cylinder."""
    from logbook.cases.builds import add_build, set_item
    from logbook.cases.inspections import ClearanceEntry, add_inspection

    def items(*found: tuple[str, str, dict[str, str]]) -> None:
        for system, name, given in found:
            set_item(shop.desk, "RB-2", None, system, name, given)

    items(
        ("pistons", "piston", {"value": "forged, 8 cc dome"}),
        ("ring pack", "top ring", {"value": "1/16 in"}),
        ("ring pack", "top ring end gap", {"per-cylinder": "0.022 " * 8 + "in",
                                           "tolerance": "0.016..0.024 in"}),
        ("clearances", "main bearing", {"value": "0.0026 in", "tolerance": "0.0020..0.0030 in"}),
        ("head", "valve guide, exhaust 3", {"value": "worn", "done": "rejected"}),
    )  # fmt: skip
    add_build(shop.desk, "RB-2", "build 2", built_on="2026-03-14", notes="Thin rings, honed.")
    items(
        ("pistons", "piston", {"done": "reclaimed", "note": "skirts dressed"}),
        ("ring pack", "top ring", {"value": "0.043 in", "done": "new"}),
        ("bore finish", "Ra", {"value": "18 µin"}),
    )
    add_inspection(
        shop.desk, "RB-2",
        {"kind": "after assembly", "leak-down": "3 3 2 3 3 11 3 3 %",
         "cranking": "198 198 199 197 198 181 198 198 psi", "lash-intake-hot": "0.020 in",
         "plugs": "tan; tan; tan; tan; tan; oily; tan; tan", "note": "Look at 6."},
        clearances=[
            ClearanceEntry("main bearing", "0.0026 in", "main 1", "0.0020..0.0030 in"),
            ClearanceEntry("rod bearing", "0.0030 in", "cylinder 6", "..0.0028 in", "reclaim",
                           "rod resized"),
        ],
    )  # fmt: skip


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    shop = make_shop(tmp_path)
    FilePicker.last_folder = tmp_path / "cell"
    yield shop
    shop.desk.close()
    FilePicker.last_folder = None


class Hand:
    """Presses keys and counts them; what is typed into a field is not counted."""

    def __init__(self, app: LogbookApp, pilot: Pilot[Any]) -> None:
        self.app, self.pilot, self.keys = app, pilot, 0

    async def press(self, *keys: str) -> None:
        """Keys that count."""
        for key in keys:
            self.keys += 1
            await self.pilot.press(key)

    async def type(self, text: str) -> None:
        """The datum itself: not counted."""
        await self.pilot.press(*(_NAMES.get(letter, letter) for letter in text))

    async def until(self, true: Callable[[], object], what: str = "") -> None:
        """Wait for the workers' answers."""
        ends = time.monotonic() + PATIENCE_S
        while not true():
            if time.monotonic() > ends:
                raise AssertionError(f"waited in vain for {what or true}:\n{self.screen_text()}")
            await self.pilot.pause(0.01)
        await self.pilot.pause()

    async def front(self, name: str) -> Any:
        """Wait until the screen class `name` is in front."""
        await self.until(lambda: type(self.app.screen).__name__ == name, name)
        return self.app.screen

    async def session(self) -> Any:
        """Wait until the Session screen shows an answer."""
        screen = await self.front("SessionScreen")
        await self.until(lambda: screen.view is not None, "the session")
        return screen

    async def notice(self, words: str) -> None:
        """Wait until the notice says these words, over however many rows."""
        await self.until(lambda: words in " ".join(self.text_of("#notice").split()), words)

    def text_of(self, selector: str) -> str:
        """What a pane of lines in the screen in front says."""
        panes = self.app.screen.query(selector)
        if not panes:
            return ""
        pane = panes.first(Lines)
        lines = pane.lines(pane.size.width or 80, pane.size.height or 40)
        return "\n".join("".join(text for text, _ in line) for line in lines)

    def rows(self) -> list[str]:
        """The rows of the list in front, as text."""
        return [
            " ".join("".join(text for text, _ in cell) for cell in row.cells).strip()
            for row in self.app.screen.query_one(Rows).rows
        ]

    def screen_text(self) -> str:
        """Every line on the terminal."""
        strips = self.app.screen._compositor.render_strips()
        return "\n".join("".join(part.text for part in strip).rstrip() for strip in strips)


@asynccontextmanager
async def hand_on(
    book: Path,
    *,
    size: tuple[int, int] = (80, 24),
    clock: Clock | None = None,
    drafts: Drafts | None = None,
    **rest: Any,
) -> AsyncIterator[Hand]:
    """The app on a book, with a hand on its keyboard."""
    clock = clock or Clock(datetime(2026, 3, 14, 15, 30, tzinfo=UTC))
    app = LogbookApp(
        lambda: open_desk(book, who="KL", units="us", now=clock),
        now=clock, tick=clock.tick, drafts=drafts, **rest,
    )  # fmt: skip
    async with app.run_test(size=size) as pilot:
        hand = Hand(app, pilot)
        await hand.front("EnginesScreen")
        yield hand


@asynccontextmanager
async def in_session(shop: Shop, **rest: Any) -> AsyncIterator[Hand]:
    """The app with the shop's open session in front and no key counted yet."""
    async with hand_on(shop.book, clock=shop.clock, **rest) as hand:
        await hand.until(lambda: bool(hand.rows()), "the engines")
        await hand.press("enter")
        await hand.session()
        await hand.until(lambda: "hp" in hand.text_of("#answer"), "the answer")
        hand.keys = 0
        yield hand


async def wait_for_trace(hand: Hand, shop: Shop, name: str) -> None:
    """Choose a file and let it wait, as a landing would leave it; the keys of that are not
    those of the moment counted next."""
    await hand.press("o")
    picker = await hand.front("FilePicker")
    await hand.until(lambda: any(name in row for row in hand.rows()), name)
    rows = picker.query_one("Rows")
    rows.cursor = next(i for i, row in enumerate(hand.rows()) if name in row)
    await hand.press("enter")
    screen = await hand.session()
    await hand.until(lambda: screen.next.preview is not None, "the preview")
    shop.clock.turn(GUARD / 60 + 0.01)
    hand.keys = 0
