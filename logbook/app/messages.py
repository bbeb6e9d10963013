"""Every message of the app, as dataclasses.

An answer carries the ticket of its request. A newer request on the same lane makes the older
ticket stale, and a stale answer is dropped by whoever receives it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple

from textual.message import Message

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

    from logbook.app.widgets.ink import Draw
    from logbook.cases.form import FormStart
    from logbook.cases.landing import LandingEvent, Looked
    from logbook.cases.plan import PlanProgress
    from logbook.cases.results import (
        AnswerView,
        CompareView,
        Logged,
        PullPreview,
        SessionView,
    )
    from logbook.intake.instruments.told import Told
    from logbook.records.landing import Landing
    from logbook.records.lists import EngineRow, FoundPull, SessionRow
    from logbook.refusals import Refusal


class Ticket(NamedTuple):
    """One request: on which lane of whoever asked, and its number, which no other has."""

    lane: str
    number: int


@dataclass(eq=False, repr=False)
class Answer(Message, bubble=False):
    """What a worker found out. Subclasses add the result."""

    ticket: Ticket


@dataclass(eq=False, repr=False)
class Refused(Answer, bubble=False):
    """The request was refused, in a sentence. Nothing was written."""

    refusal: Refusal


@dataclass(eq=False, repr=False)
class Faulted(Message, bubble=False):
    """A fault of the logbook itself. `details` is the traceback."""

    sentence: str
    details: str


@dataclass(eq=False, repr=False)
class BookChanged(Message, bubble=False):
    """Something was written; whoever shows the book reads it again."""


@dataclass(eq=False, repr=False)
class Noticed(Message, bubble=False):
    """A sentence for the notice line of the screen in front."""

    text: str
    role: str = "strong"


@dataclass(eq=False, repr=False)
class EnginesListed(Answer, bubble=False):
    """The Engines list, the display units and the zone its times are shown in."""

    rows: Sequence[EngineRow]
    units: str
    zone: str


@dataclass(eq=False, repr=False)
class AirTold(Answer, bubble=False):
    """What the air's instrument told, where it is news; `whole`: it told all that is needed."""

    told: Told | None
    whole: bool


@dataclass(eq=False, repr=False)
class AirKept(Answer, bubble=False):
    """In how many sessions it was written down."""

    sessions: int


@dataclass(eq=False, repr=False)
class UnitsChanged(Answer, bubble=False):
    """The units that everything is shown in from now on."""

    units: str


@dataclass(eq=False, repr=False)
class SessionsListed(Answer, bubble=False):
    """A page of an engine's sessions."""

    rows: list[SessionRow]
    offset: int


@dataclass(eq=False, repr=False)
class SessionJudged(Answer, bubble=False):
    """A session with all its pulls, judged, what the next pull starts from, how far the accepted
    plan has come, and the files that have landed and wait."""

    view: SessionView
    start: FormStart
    plan: PlanProgress | None
    safety: int
    waiting: list[Landing]


@dataclass(eq=False, repr=False)
class PullAnswered(Answer, bubble=False):
    """The answer for the chosen pull."""

    view: AnswerView


@dataclass(eq=False, repr=False)
class FilePreviewed(Answer, bubble=False):
    """A chosen trace file was read."""

    preview: PullPreview


@dataclass(eq=False, repr=False)
class PullLogged(Answer, bubble=False):
    """A pull was stored."""

    logged: Logged


@dataclass(eq=False, repr=False)
class PullsFound(Answer, bubble=False):
    """A page of search results. `total` counts all of them."""

    rows: list[FoundPull]
    total: int
    offset: int


@dataclass(eq=False, repr=False)
class Compared(Answer, bubble=False):
    """Two pulls laid over each other."""

    view: CompareView


@dataclass(eq=False, repr=False)
class Got(Answer, bubble=False):
    """Any other result; the lane says which."""

    result: object


@dataclass(eq=False, repr=False)
class Drawn(Answer, bubble=False):
    """A judgement, as a function that draws it for a width."""

    draw: Draw


@dataclass(eq=False, repr=False)
class Landed(Message, bubble=False):
    """A trace file was chosen, waiting to become a pull."""

    path: Path


@dataclass(eq=False, repr=False)
class FolderLooked(Answer, bubble=False):
    """A look into the watched folder (``None``: none is watched), and the ids of what waits."""

    looked: Looked | None
    waiting: tuple[str, ...]


@dataclass(eq=False, repr=False)
class LandingsTaken(Answer, bubble=False):
    """What the look found is in the book."""

    events: tuple[LandingEvent, ...]
