"""Every message of the app, as dataclasses.

An answer carries the ticket of its request. A newer request on the same lane makes the older
ticket stale, and a stale answer is dropped by whoever receives it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from textual.message import Message

if TYPE_CHECKING:
    from pathlib import Path

    from logbook.cases.form import FormStart
    from logbook.cases.results import (
        AnswerView,
        CompareView,
        EngineRow,
        FoundPull,
        Logged,
        PullPreview,
        SessionRow,
        SessionView,
    )
    from logbook.refusals import Refusal


@dataclass(frozen=True, slots=True)
class Ticket:
    """One request: who asked, on which lane, and its number."""

    owner: int
    lane: str
    number: int


@dataclass
class Answer(Message, bubble=False):
    """What a worker found out. Subclasses add the result."""

    ticket: Ticket


@dataclass
class Refused(Answer, bubble=False):
    """The request was refused, in a sentence. Nothing was written."""

    refusal: Refusal


@dataclass
class Faulted(Message, bubble=False):
    """A fault of the logbook itself. `details` is the traceback."""

    sentence: str
    details: str


@dataclass
class BookChanged(Message, bubble=False):
    """Something was written; whoever shows the book reads it again."""


@dataclass
class Noticed(Message, bubble=False):
    """A sentence for the notice line of the screen in front."""

    text: str
    role: str = "strong"


@dataclass
class EnginesListed(Answer, bubble=False):
    """The Engines list, and the zone its times are shown in."""

    rows: list[EngineRow]
    units: str
    zone: str


@dataclass
class SessionsListed(Answer, bubble=False):
    """A page of an engine's sessions."""

    rows: list[SessionRow]
    offset: int


@dataclass
class SessionJudged(Answer, bubble=False):
    """A session with all its pulls, judged, and what the next pull starts from."""

    view: SessionView
    start: FormStart
    safety: int


@dataclass
class PullAnswered(Answer, bubble=False):
    """The answer for the chosen pull."""

    view: AnswerView


@dataclass
class FilePreviewed(Answer, bubble=False):
    """A chosen trace file was read."""

    preview: PullPreview


@dataclass
class PullLogged(Answer, bubble=False):
    """A pull was stored."""

    logged: Logged


@dataclass
class PullsFound(Answer, bubble=False):
    """A page of search results. `total` counts all of them."""

    rows: list[FoundPull]
    total: int
    offset: int


@dataclass
class Compared(Answer, bubble=False):
    """Two pulls laid over each other."""

    view: CompareView


@dataclass
class Got(Answer, bubble=False):
    """Any other result; the lane says which."""

    result: object


@dataclass
class Landed(Message, bubble=False):
    """A trace file is there, waiting to become a pull."""

    path: Path
