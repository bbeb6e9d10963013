"""The screens as they are photographed: how to get to each from the list of engines.

The pictures of the README and the snapshot tests go through the same scenes, the one on the
demo logbook, the others on a small book of their own. The first engine of the book has an open
session with pulls and two fuels on file.
"""

from __future__ import annotations

import os
import time
from collections.abc import Awaitable, Callable
from typing import Any

from textual.pilot import Pilot

from logbook.app.screens.file_picker import FilePicker
from logbook.app.widgets.progress import Progress
from logbook.app.widgets.rows import Rows

SIZES = ((80, 24), (120, 40))
PATIENCE_S = 30.0
QUIET_POLLS = 3
REBUILT = "HC-4A"
_NAMES = {" ": "space", ".": "full_stop", "-": "minus", ":": "colon"}


class Visitor:
    """Goes through the app by keys and waits until the workers have answered."""

    def __init__(self, pilot: Pilot[Any]) -> None:
        self.pilot, self.app = pilot, pilot.app

    async def press(self, *keys: str) -> None:
        """Keys, each after the screen has come to rest."""
        for key in keys:
            await self.pilot.press(key)
            await self.rest()

    async def type(self, text: str) -> None:
        """Text into the field in focus."""
        await self.pilot.press(*(_NAMES.get(letter, letter) for letter in text))
        await self.rest()

    async def to(self, name: str) -> None:
        """Wait until the screen class `name` is in front and at rest."""
        ends = time.monotonic() + PATIENCE_S
        while type(self.app.screen).__name__ != name:
            if time.monotonic() > ends:
                raise TimeoutError(f"{name} did not come to the front")
            await self.pilot.pause(0.02)
        await self.rest()

    async def sees(self, words: str) -> None:
        """Wait until the words stand on the screen, and the picture is at rest."""
        ends = time.monotonic() + PATIENCE_S
        while words not in picture_text(self.app):
            if time.monotonic() > ends:
                raise TimeoutError(f"{words!r} did not come")
            await self.pilot.pause(0.02)
        await self.rest()

    async def rest(self) -> None:
        """Wait until every worker has answered and the picture has stayed the same for a while."""
        ends, same, before = time.monotonic() + PATIENCE_S, 0, ""
        while same < QUIET_POLLS and time.monotonic() < ends:
            await self.pilot.pause(0.01)
            now = picture_text(self.app)
            rows = (row for one in self.app.screen_stack for row in one.query(Progress))
            shown = any(row.courses for row in rows)
            waits = self.app.work.busy or shown
            same = same + 1 if now == before and not waits else 0
            before = now


def picture_text(app: Any) -> str:
    """Every line on the terminal."""
    strips = app.screen._compositor.render_strips()
    return "\n".join("".join(part.text for part in strip) for strip in strips)


async def engines(at: Visitor) -> None:
    """The first screen."""
    await at.to("EnginesScreen")


async def sheet(at: Visitor) -> None:
    """An engine's sheet."""
    await engines(at)
    await at.press("s")
    await at.to("SheetScreen")


async def checks(at: Visitor) -> None:
    """The newest build's measures against their tolerances."""
    await sheet(at)
    await at.press("m")
    await at.to("ChecksScreen")
    await at.press("down", "down")


async def years(at: Visitor) -> None:
    """An engine over the years."""
    await sheet(at)
    await at.press("h")
    await at.to("YearsScreen")
    await at.press("down")


async def fuels(at: Visitor) -> None:
    """Methanol against the gasoline in the tank."""
    await engines(at)
    await at.press("f")
    await at.to("FuelsScreen")
    await at.press("down", "enter", "up")


async def cell(at: Visitor) -> None:
    """The cell: its instruments' calibrations, the one chosen drawn."""
    await engines(at)
    await at.press("d")
    await at.to("CellScreen")


async def parts(at: Visitor) -> None:
    """What is in the newest build, and what differs from the one before."""
    await sheet(at)
    await at.press("p")
    await at.to("BuildScreen")
    await at.press("down", "down")


async def inspections(at: Visitor) -> None:
    """An engine's inspections, the one chosen cylinder by cylinder."""
    await sheet(at)
    await at.press("i")
    await at.to("InspectionsScreen")


async def attached(at: Visitor) -> None:
    """Files attached to an engine, the first one just now."""
    await sheet(at)
    await at.press("o")
    await at.to("AttachedScreen")
    await at.press("n")
    await at.to("FilePicker")
    await at.press("enter")
    await at.to("AttachedScreen")


async def calibration_form(at: Visitor) -> None:
    """Taking a calibration down, with a pair that is none."""
    await cell(at)
    await at.press("n")
    await at.to("CalibrationForm")
    await at.press("enter", "enter", "enter", "enter")
    await at.type("0:0.1 50:50.3 100")


async def opening(at: Visitor) -> None:
    """Opening a session, with the safety list."""
    await sheet(at)
    await at.press("n")
    await at.to("OpeningForm")
    await at.type("first look after winter")


async def engine_form(at: Visitor) -> None:
    """Correcting an engine's sheet."""
    await sheet(at)
    await at.press("e")
    await at.to("EngineForm")


async def session(at: Visitor) -> None:
    """The heart."""
    await engines(at)
    await at.press("enter")
    await at.to("SessionScreen")


async def session_older(at: Visitor) -> None:
    """The answer for an earlier pull."""
    await session(at)
    await at.press("down", "down", "down")


async def large(at: Visitor) -> None:
    """The answer for an earlier pull, to be read across the cell."""
    await session_older(at)
    await at.press("w")
    await at.to("LargeScreen")


async def jump(at: Visitor) -> None:
    """A letter beside every field."""
    await pull_form(at)
    await at.press("f4")
    await at.to("JumpScreen")


async def session_curves(at: Visitor) -> None:
    """The curves laid over each other."""
    await session(at)
    await at.press("v", "v")


async def session_next(at: Visitor) -> None:
    """Timing set for the next pull, past the limit."""
    await session(at)
    await at.press("plus", "plus", "plus", "plus", "plus")


async def pull_form(at: Visitor) -> None:
    """Two changes: a bundle; and an error beside its field."""
    await session(at)
    await at.press("plus", "plus", "f", "1")
    await at.to("SessionScreen")
    await at.press("p")
    await at.to("PullForm")
    await at.type("466.5")
    await at.press("enter")
    await at.type("64 furlongs")


async def air_form(at: Visitor) -> None:
    """Three numbers and what follows from them."""
    await session(at)
    await at.press("a")
    await at.to("AirForm")
    for text in ("28.62", "81", "38"):
        await at.type(text)
        if text != "38":
            await at.press("enter")


async def exclude(at: Visitor) -> None:
    """A reason for leaving a pull out."""
    await session(at)
    await at.press("x")
    await at.to("ExcludeForm")
    await at.type("oil cold")


async def baseline(at: Visitor) -> None:
    """The question before the baseline changes."""
    await session(at)
    await at.press("b")
    await at.to("ConfirmScreen")


async def lay_over(at: Visitor) -> None:
    """What this pull can be laid over."""
    await session(at)
    await at.press("c")
    await at.to("Chooser")


async def compare(at: Visitor) -> None:
    """Two pulls of this session."""
    await lay_over(at)
    await at.press("2")
    await at.to("CompareScreen")


async def sides(at: Visitor) -> None:
    """A build over the one before: what the rebuild was worth by itself. On the demo it is the
    hill-climb four that got another fuel and other carburetors with it."""
    await engines(at)
    tags = [row.cells[0][0][0] for row in at.app.screen.query_one(Rows).rows]
    await at.press(*["down"] * (tags.index(REBUILT) if REBUILT in tags else 0), "s")
    await at.to("SheetScreen")
    await at.press("c")
    await at.to("Chooser")
    await at.press("1")
    await at.to("SidesScreen")


async def timing(at: Visitor) -> None:
    """Which timing next."""
    await session(at)
    await at.press("t")
    await at.to("TimingScreen")


async def ledger(at: Visitor) -> None:
    """What each step was worth."""
    await session(at)
    await at.press("l")
    await at.to("LedgerScreen")


async def plan_form(at: Visitor) -> None:
    """What to try, and the plan that makes."""
    await session(at)
    await at.press("n")
    await at.to("PlanForm")
    await at.type("timing 34")
    await at.press("enter")
    await at.type("spacer 2 in")
    await at.press("f6", "enter", "enter")
    await at.type("7")
    await at.sees("baseline last")  # a plan is worked out a moment after the last key


async def plan(at: Visitor) -> None:
    """The accepted plan, with its next pull."""
    await plan_form(at)
    await at.press("ctrl+s")
    await at.to("SessionScreen")
    await at.press("n")
    await at.to("PlanScreen")


async def standard(at: Visitor) -> None:
    """Standard, band and words of the session."""
    await session(at)
    await at.press("s")
    await at.to("StandardForm")


async def correct(at: Visitor) -> None:
    """Correcting a finished pull."""
    await session(at)
    await at.press("e")
    await at.to("CorrectForm")


async def history(at: Visitor) -> None:
    """Results as they come while typing."""
    await session(at)
    await at.press("slash")
    await at.to("HistoryScreen")
    await at.press("f8")
    await at.type("timing:28..33 excluded:no")


async def help_screen(at: Visitor) -> None:
    """Help for the session."""
    await session(at)
    await at.press("question_mark")
    await at.to("HelpScreen")


async def palette(at: Visitor) -> None:
    """Every action with its key."""
    await session(at)
    await at.press("ctrl+p")
    await at.to("CommandPalette")


async def files(at: Visitor) -> None:
    """Choosing a trace file."""
    await session(at)
    await at.press("o")
    await at.to("FilePicker")


async def waiting(at: Visitor) -> None:
    """A trace waits to be accepted."""
    await files(at)
    at.app.screen.query_one(Rows).cursor = 0
    await at.press("enter")
    await at.to("SessionScreen")


async def columns(at: Visitor) -> None:
    """A header that leaves open what its columns are."""
    folder = FilePicker.last_folder
    assert folder is not None
    lines = ["t;N;TQ;Oil;Rail 1"]
    for sample in range(61):
        speed = 4000 + 50 * sample
        torque = 400 - ((speed - 5000) / 150) ** 2
        lines.append(f"{sample / 10};{speed};{torque:.1f};{92 + sample / 30:.1f};3.95")
    path = folder / "cell-2.csv"
    path.write_text("\n".join(lines))
    os.utime(path, (time.time() + 60,) * 2)  # the newest of all
    await waiting(at)
    await at.press("m")
    await at.to("ColumnsScreen")
    await at.press("enter", "1", "down", "down", "enter", "1")


async def edges(at: Visitor) -> None:
    """The last sample of a finished pull moved, and what that would change."""
    await session(at)
    await at.press("E")
    await at.to("EdgesScreen")
    await at.press("tab", "down", "left", "left")


async def first_run(at: Visitor) -> None:
    """An empty book."""
    await at.to("FirstRunScreen")


async def first_engine(at: Visitor) -> None:
    """Entering the first engine."""
    await first_run(at)
    await at.press("n")
    await at.to("EngineForm")
    await at.type("RB-2")


Scene = Callable[[Visitor], Awaitable[None]]
SCENES: dict[str, Scene] = {
    "engines": engines,
    "sheet": sheet,
    "checks": checks,
    "years": years,
    "fuels": fuels,
    "parts": parts,
    "inspections": inspections,
    "attached": attached,
    "cell": cell,
    "calibration-form": calibration_form,
    "opening": opening,
    "engine-form": engine_form,
    "session": session,
    "session-older": session_older,
    "large": large,
    "session-curves": session_curves,
    "session-next": session_next,
    "waiting": waiting,
    "columns": columns,
    "edges": edges,
    "pull-form": pull_form,
    "jump": jump,
    "air": air_form,
    "exclude": exclude,
    "baseline": baseline,
    "lay-over": lay_over,
    "compare": compare,
    "sides": sides,
    "timing": timing,
    "ledger": ledger,
    "plan-form": plan_form,
    "plan": plan,
    "standard": standard,
    "correct": correct,
    "history": history,
    "files": files,
    "help": help_screen,
    "palette": palette,
    "first-run": first_run,
    "first-engine": first_engine,
}
# These begin with a book that holds nothing yet.
ON_AN_EMPTY_BOOK = frozenset({"first-run", "first-engine"})
