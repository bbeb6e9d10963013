"""The logbook in a notebook: `logbook.open(path)` and pandas frames, one page.

Everything stands in SI with the unit in the column's name, never rounded; corrected and judged
values are computed as on the screens. The book is only read.

    import logbook

    with logbook.open("cell.db") as book:
        book.engines()
        book.pulls("engine:RB-8 timing:>30")
        book.judged("RB-8/last")
        book.curve("RB-8/2023-06-10/2").plot("speed_rpm", "power_kw")
"""

from __future__ import annotations

import os
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pandas as pd

from logbook.cases import finding, judge, sessions
from logbook.cases.desk import Desk, open_desk
from logbook.cases.engines import list_engines
from logbook.cases.ledger import LedgerView, ledger_view
from logbook.cases.pulls import find_pull
from logbook.cases.timing import TimingView, timing_view
from logbook.records.lists import EngineRow, FoundPull, SessionRow
from logbook.refusals import BadInput, NotFound
from logbook.reports.export import pull_row, trace_rows

if TYPE_CHECKING:
    from typing import Self

MOST = 1_000_000
_MOMENTS = ("At, UTC", "Session opened, UTC")


class OpenLogbook:
    """One open book. Close it, or use it in a ``with`` statement.

    Pulls are named by id or ``ENGINE/DATE/NUMBER``, sessions by id, ``ENGINE/DATE`` or
    ``ENGINE/last``. What cannot be found or read raises a `logbook.refusals.Refusal` in words.
    """

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the book."""
        self._desk.close()

    def engines(self) -> pd.DataFrame:
        """One row an engine, most recently run first; columns as `records.lists.EngineRow`."""
        return pd.DataFrame(list_engines(self._desk), columns=list(EngineRow._fields))

    def sessions(self, engine: str | None = None) -> pd.DataFrame:
        """One row a session, newest first; columns as `records.lists.SessionRow`."""
        rows = sessions.list_sessions(self._desk, engine, limit=MOST)
        return _dated(pd.DataFrame(rows, columns=list(SessionRow._fields)), "opened_at")

    def find(self, query: str = "") -> pd.DataFrame:
        """The pulls that the search box finds, newest first, as quickly as it does; columns as
        `records.lists.FoundPull`."""
        rows = finding.find(self._desk, query, limit=MOST)
        return _dated(pd.DataFrame(rows, columns=list(FoundPull._fields)), "at")

    def pulls(self, query: str = "") -> pd.DataFrame:
        """The pulls that the search box finds, newest first, each judged in its session: set-up,
        air, observed and corrected figures, worth, interval and verdict, readings and notes.

        Every session it touches is judged: some hundredths of a second each.
        """
        found = finding.find(self._desk, query, limit=MOST)
        return self._told(row.pull_id for row in found)

    def judged(self, session: str) -> pd.DataFrame:
        """The pulls of a session by number, with the same columns as `pulls`."""
        view = judge.session_view(self._desk, sessions.find_session(self._desk, session).id)
        by_number = sorted(view.rows, key=lambda row: row.pull.number)
        return self._told(row.pull.id for row in by_number)

    def trace(self, pull: str) -> pd.DataFrame:
        """The recorded samples of a pull, every channel of its source; a pull of typed peaks
        raises `NotFound`. ``Counts`` tells which samples the figures are made of."""
        story = judge.pull_story(self._desk, find_pull(self._desk, pull).id)
        with self._desk.book.reading() as read:
            trace = read.trace(story.row.pull.id)
        if trace is None:
            raise NotFound("this pull has no trace, only typed peaks", where=pull)
        return pd.DataFrame(trace_rows(story, trace))

    def curve(self, pull: str) -> pd.DataFrame:
        """The corrected curve on its speed bins: ``speed_rpm``, ``torque_nm``, ``power_kw``.
        Raises `NotFound` for a pull of typed peaks."""
        found = find_pull(self._desk, pull)
        curve = judge.answer(self._desk, found.session_id, found.id).curve
        if curve is None:
            raise NotFound("this pull has no curve, only typed peaks", where=pull)
        return pd.DataFrame(
            {
                "speed_rpm": curve.speed_rpm,
                "torque_nm": curve.torque_nm,
                "power_kw": curve.power_kw,
            }
        )

    def timing(self, session: str) -> TimingView:
        """What the session says about ignition timing, and which timing next."""
        return timing_view(self._desk, sessions.find_session(self._desk, session).id)

    def ledger(self, session: str) -> pd.DataFrame:
        """The session's steps from its baseline, each with its worth; their sum is the total."""
        view: LedgerView = ledger_view(self._desk, sessions.find_session(self._desk, session).id)
        return _flat(view.steps)

    def sql(self, query: str, parameters: Iterable[str | float | None] = ()) -> pd.DataFrame:
        """Any query of the book and its views, as a frame; it cannot write."""
        if not query.strip():
            raise BadInput("nothing was asked", where="SQL", wanted="a SELECT")
        with self._desk.book.reading() as read:
            columns, rows = read.table(query, tuple(parameters))
        return pd.DataFrame(rows, columns=list(columns))

    def _told(self, pull_ids: Iterable[str]) -> pd.DataFrame:
        stories = (judge.pull_story(self._desk, pull_id) for pull_id in pull_ids)
        frame = pd.DataFrame([pull_row(story, None) for story in stories])
        for column in frame.columns:
            # "Name, unit": a number, also where no pull has one
            if ", " in column and column not in _MOMENTS and frame[column].isna().all():
                frame[column] = frame[column].astype("float64")
        return _dated(frame, *_MOMENTS)


def open_logbook(path: str | os.PathLike[str] | None = None) -> OpenLogbook:
    """See `logbook.open`. A book of an earlier shape is brought up to date, a copy kept first."""
    return OpenLogbook(open_desk(Path(path) if path is not None else None, create=False))


def _dated(frame: pd.DataFrame, *columns: str) -> pd.DataFrame:
    """Stored times as aware timestamps."""
    for column in columns:
        if column in frame:
            frame[column] = pd.to_datetime(frame[column], utc=True, format="ISO8601")
    return frame


def _flat(records: Iterable[Any]) -> pd.DataFrame:
    """Frozen results as rows; a pair becomes two columns, a nested result its fields."""
    return pd.DataFrame([dict(_cells("", record)) for record in records])


def _cells(name: str, value: Any) -> Iterable[tuple[str, Any]]:
    if is_dataclass(value):
        for slot in fields(value):
            inner = f"{name}.{slot.name}" if name else slot.name
            yield from _cells(inner, getattr(value, slot.name))
    elif name.endswith("interval_kw") and isinstance(value, tuple):
        yield name.replace("interval", "low"), value[0]
        yield name.replace("interval", "high"), value[1]
    else:
        yield name, value
