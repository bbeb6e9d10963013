"""Reading records, traces, sources and scores from one moment of the book."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any, TypeVar

from logbook import underway
from logbook.records.pull import Pull
from logbook.records.setup import Level, SetUp
from logbook.records.trace import Channel, Source, SourceKind, Trace
from logbook.refusals import BookTrouble, NotFound
from logbook.store import codec, sources
from logbook.store.audit import ChangeGroup, change_groups
from logbook.store.scores import SCORE_COLUMNS, score_of
from logbook.store.tables import Identified, SqlValue, checked_columns, encode, table_of

if TYPE_CHECKING:
    from logbook.records.score import Score

R = TypeVar("R", bound=Identified)

# SQLite takes at least this many parameters in one statement.
_CHUNK = 500


class Reader:
    """What can be asked of the book. Handed out by `Book.reading`; not kept beyond it."""

    def __init__(self, db: sqlite3.Connection) -> None:
        self._db = db

    def rows(self, sql: str, parameters: Sequence[SqlValue] = ()) -> Iterator[tuple[Any, ...]]:
        """The rows of a query of this room; nobody outside `store` writes SQL."""
        return iter(self._db.execute(sql, parameters))

    def table(
        self, sql: str, parameters: Sequence[SqlValue] = ()
    ) -> tuple[tuple[str, ...], list[tuple[Any, ...]]]:
        """Column names and all rows of a query that somebody else wrote. It cannot write."""
        cursor = self._db.execute(sql, parameters)
        return tuple(column[0] for column in cursor.description or ()), cursor.fetchall()

    def get(self, record: type[R], record_id: str) -> R:
        """The record of this id, withdrawn or not. Raises `NotFound`."""
        table = table_of(record)
        row = self._db.execute(
            f"SELECT {', '.join(table.columns)} FROM {table.name} WHERE id = ?", (record_id,)
        ).fetchone()
        if row is None:
            raise NotFound(f"this book holds no {table.noun} {record_id}")
        found: R = table.decode(row)
        return found

    def find_one(self, record: type[R], **fields: Any) -> R | None:
        """The oldest record with these field values, or ``None``."""
        found = self.where(record, limit=1, **fields)
        return found[0] if found else None

    def where(
        self,
        record: type[R],
        *,
        order: str = "id",
        descending: bool = False,
        limit: int | None = None,
        with_withdrawn: bool = False,
        **fields: Any,
    ) -> list[R]:
        """Records with these field values (a list or set means any of its values).

        Ordered by the field `order`, ties by id; ids are ordered by time.
        """
        table = table_of(record)
        checked_columns(table, {**fields, order: None})
        terms, parameters = _terms(fields)
        if not with_withdrawn and "withdrawn" not in fields:
            terms.append("withdrawn = 0")
        direction = " DESC" if descending else ""
        sql = (
            f"SELECT {', '.join(table.columns)} FROM {table.name}"
            f" WHERE {' AND '.join(terms) or 'true'} ORDER BY {order}{direction}, id{direction}"
        )
        if limit is not None:
            sql += " LIMIT ?"
            parameters.append(limit)
        return [table.decode(row) for row in self._db.execute(sql, parameters)]

    def next_number(self, session_id: str) -> int:
        """The number that the session's next pull gets, from 1."""
        row = self._db.execute(
            "SELECT coalesce(max(number), 0) + 1 FROM pulls WHERE session_id = ? AND withdrawn = 0",
            (session_id,),
        ).fetchone()
        return int(row[0])

    def setup(self, setup_id: str) -> SetUp:
        """The set-up of this id, as it was written. Raises `NotFound`."""
        found = self.setups([setup_id])
        if setup_id not in found:
            raise NotFound(f"this book holds no set-up {setup_id}")
        return found[setup_id]

    def setups(self, setup_ids: Iterable[str]) -> dict[str, SetUp]:
        """Set-ups by id; ids the book does not hold are left out."""
        levels: dict[str, dict[str, Level]] = {}
        for marks, ids in chunks(setup_ids):
            sql = (
                "SELECT s.id, l.factor, l.text, l.number, l.unit FROM setups s"
                " LEFT JOIN setup_levels l ON l.setup_id = s.id"
                f" WHERE s.id IN ({marks}) ORDER BY s.id, l.position"
            )
            for setup_id, factor, text, number, unit in self._db.execute(sql, ids):
                of_setup = levels.setdefault(setup_id, {})
                if factor is not None:
                    of_setup[factor] = Level(text, number, unit)
        return {setup_id: SetUp(found) for setup_id, found in levels.items()}

    def trace(self, pull_id: str) -> Trace | None:
        """The pull's trace, every channel of its source; ``None`` where peaks were typed."""
        return self.traces([pull_id]).get(pull_id)

    def traces(self, pull_ids: Iterable[str], only: Sequence[str] = ()) -> dict[str, Trace]:
        """Traces by pull id; pulls without one are left out. `only`: no channels but those known
        as one of these quantities."""
        wanted = f" AND quantity IN ({', '.join('?' * len(only))})" if only else ""
        bounds: dict[str, tuple[int, int]] = {}
        channels: dict[str, list[Channel]] = {}
        for marks, ids in chunks(pull_ids):
            for pull_id, first, last in self._db.execute(
                "SELECT t.pull_id, coalesce(p.first_sample, t.first_sample),"
                " coalesce(p.last_sample, t.last_sample) FROM traces t"
                f" JOIN pulls p ON p.id = t.pull_id WHERE t.pull_id IN ({marks})",
                ids,
            ):
                bounds[pull_id] = (first, last)
            for row in underway.each(
                self._db.execute(
                    "SELECT pull_id, name, quantity, unit, decimals, si_unit, si_factor, si_offset,"
                    " base, width, digits, listed FROM channels"
                    f" WHERE pull_id IN ({marks}){wanted} ORDER BY pull_id, position",
                    [*ids, *only],
                )
            ):
                channels.setdefault(row[0], []).append(_channel(row))
        return {
            pull_id: Trace(tuple(channels.get(pull_id, ())), first, last)
            for pull_id, (first, last) in bounds.items()
        }

    def source(self, source_id: str) -> Source:
        """The source file of this id, byte for byte. Raises `NotFound`."""
        row = self._db.execute(
            "SELECT taken_at, signature FROM sources WHERE id = ?", (source_id,)
        ).fetchone()
        if row is None:
            raise NotFound(f"this book holds no source file {source_id}")
        (kept,) = sources.kept(self._db, source_id)
        with _whole(f"the source file {kept.name}"):
            channels = sources.channels_of(self._db, kept.trace_pull_id)
            content = sources.content_of(kept, channels)
        return Source(kept.id, kept.sha256, kept.name, row[0], content, row[1])

    def source_of_content(self, sha256: str) -> Source | None:
        """The source file of these bytes, or ``None`` where the book does not keep them."""
        row = self._db.execute("SELECT id FROM sources WHERE sha256 = ?", (sha256,)).fetchone()
        return None if row is None else self.source(row[0])

    def pull_of_source(self, sha256: str) -> Pull | None:
        """The pull that was logged from the file with this hash, unless it was taken back."""
        row = self._db.execute(
            "SELECT p.id FROM sources s JOIN pulls p ON p.source_id = s.id"
            " WHERE s.sha256 = ? AND p.withdrawn = 0 ORDER BY p.id LIMIT 1",
            (sha256.lower(),),
        ).fetchone()
        return None if row is None else self.get(Pull, row[0])

    def source_kind(self, signature: str) -> SourceKind | None:
        """What was answered for files with this header, or ``None`` when nobody was asked."""
        return self.find_one(SourceKind, signature=signature)

    def score(self, pull_id: str) -> Score | None:
        """The pull's stored score; ``None`` when it must be computed (again)."""
        return self.scores([pull_id]).get(pull_id)

    def scores(self, pull_ids: Iterable[str]) -> dict[str, Score]:
        """Stored scores by pull id; those that must be computed (again) are left out."""
        found = {}
        for marks, ids in chunks(pull_ids):
            for row in self._db.execute(
                f"SELECT {SCORE_COLUMNS} FROM scores WHERE pull_id IN ({marks})", ids
            ):
                score = score_of(row)
                found[score.pull_id] = score
        return found

    def stamp(self, session_id: str) -> int:
        """The session's stamp: it rises with every change of what its judgement rests on."""
        row = self._db.execute(
            "SELECT stamp FROM stamps WHERE session_id = ?", (session_id,)
        ).fetchone()
        return 0 if row is None else int(row[0])

    def changes(self, limit: int = 50, *, by_people: bool = False) -> list[ChangeGroup]:
        """The last changes, newest first, with what undid them; without the air that instruments
        told where `by_people`."""
        return change_groups(self._db, limit=limit, by_people=by_people)


def _terms(fields: Mapping[str, Any]) -> tuple[list[str], list[SqlValue]]:
    terms: list[str] = []
    parameters: list[SqlValue] = []
    for name, value in fields.items():
        if isinstance(value, (list, set, frozenset)):
            terms.append(f"{name} IN ({', '.join('?' * len(value))})")
            parameters.extend(encode(one, field=name) for one in value)
        else:
            terms.append(f"{name} IS ?")
            parameters.append(encode(value, field=name))
    return terms, parameters


def chunks(ids: Iterable[str]) -> Iterator[tuple[str, list[str]]]:
    """Distinct ids with the marks of a statement, as many as one may take at a time."""
    unique = list(dict.fromkeys(ids))
    for start in range(0, len(unique), _CHUNK):
        part = unique[start : start + _CHUNK]
        yield ", ".join("?" * len(part)), part


@contextmanager
def _whole(what: str) -> Iterator[None]:
    try:
        yield
    except ValueError as error:
        raise BookTrouble(
            f"{what} is damaged ({error})",
            wanted="keep this file as it is, and go on with the latest backup",
        ) from error


def _channel(row: tuple[Any, ...]) -> Channel:
    _, name, quantity, unit, decimals, si_unit, factor, offset, base, width, digits, listed = row
    with _whole(f"the channel {name}"):
        values = codec.decode(codec.Stored(base, width, digits, listed), decimals)
    return Channel(name, quantity, unit, values, decimals, si_unit, factor, offset)
