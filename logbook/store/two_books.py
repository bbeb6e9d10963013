"""Two books as one, before anything is written: what is new, what is edited, what clashes."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from logbook.refusals import BadInput
from logbook.store.labels import called
from logbook.store.reader import Reader
from logbook.store.tables import TABLES, SqlValue, Table

# A record of the union: its table's name and id.
Key = tuple[str, str]
Line = tuple[str, str, str, SqlValue, SqlValue]
Row = dict[str, Any]

ALL = "all"


@dataclass(frozen=True, slots=True)
class Clash:
    """Something that two books disagree about, and what may be answered.

    `here` is this book's side, `there` the other's. `code` is the same whichever of the two
    books is merged into the other. `answers` are the words that settle it (``here:NAME`` stands
    for any name), `answer` the one that was given. No answers: it cannot be settled by words.
    """

    code: str
    kind: str
    what: str
    here: str
    there: str
    answers: tuple[str, ...]
    answer: str | None

    @property
    def sentence(self) -> str:
        """The whole disagreement in one line."""
        return f"{self.what}: {self.kind}. Here: {self.here}. There: {self.there}."


class Answers:
    """What the person said about clashes, by code; ``all`` answers every one it fits."""

    def __init__(self, given: Mapping[str, str]) -> None:
        self._given = dict(given)
        self._used: set[str] = {ALL}

    def to(self, code: str, what: str, answers: tuple[str, ...]) -> str | None:
        """The answer to a clash, or ``None``. Raises `BadInput` for one that does not fit."""
        said = self._given.get(code)
        if said is None:
            common = self._given.get(ALL)
            return common if common in answers else None
        self._used.add(code)
        word, colon, text = said.partition(":")
        fits = said in answers or (f"{word}:NAME" in answers and colon and text.strip())
        if not fits:
            raise BadInput(
                f"{said[:60]!r} is no answer to {code} ({what})",
                where="Conflict",
                wanted=" or ".join(answers) if answers else "nothing: it cannot be settled here",
            )
        return said

    def check_used(self) -> None:
        """Raise `BadInput` for an answer to something nobody asked."""
        idle = sorted(set(self._given) - self._used)
        if idle:
            raise BadInput(f"there is no conflict {idle[0][:40]!r}", where="Conflict",
                           wanted="a code that the dry run lists")  # fmt: skip


class TwoBooks:
    """The records of both books together, as they will stand; nothing is written by it.

    `new` are the ids that only the other book holds, `edits` what changes of any record beside
    that, `lines` the decisions that the audit trail has to tell. `apart` are records that will
    not stand as the other book has them. `sources` maps the other book's id of a file to the
    one under which this book keeps the same bytes.
    """

    def __init__(self, here: Reader, there: Reader, answers: Answers) -> None:
        self.here = here
        self.there = there
        self.answers = answers
        self.new: dict[str, set[str]] = {table.name: set() for table in TABLES.values()}
        self.edits: dict[Key, Row] = {}
        self.lines: list[Line] = []
        self.apart: set[str] = set()
        self.clashes: list[Clash] = []
        self.sources: dict[str, str] = {}

    def is_new(self, table: Table, record_id: str) -> bool:
        """Whether only the other book holds the record."""
        return record_id in self.new[table.name]

    def set(self, table: Table, record_id: str, values: Mapping[str, SqlValue]) -> None:
        """Let columns of a record have these values in the union."""
        self.edits.setdefault((table.name, record_id), {}).update(values)

    def decide(self, table: Table, record_id: str, column: str, new: SqlValue) -> None:
        """Set a column because somebody, or a rule of the books, decided so."""
        old = self.row(table, record_id)[column]
        if old != new:
            self.lines.append((table.noun, record_id, column, old, new))
            self.apart.add(record_id)
            self.set(table, record_id, {column: new})

    def rows(self, table: Table, columns: tuple[str, ...]) -> Iterator[tuple[str, Row]]:
        """(id, columns) of every record of the union, this book's first."""
        for read in (self.here, self.there):
            for values in read.rows(f"SELECT id, {', '.join(columns)} FROM {table.name}"):
                record_id = str(values[0])
                if read is self.here or self.is_new(table, record_id):
                    row: Row = dict(zip(columns, values[1:], strict=True))
                    if read is self.there:
                        self.translate(row)
                    edited = self.edits.get((table.name, record_id), {})
                    yield record_id, {name: edited.get(name, row[name]) for name in columns}

    def row(self, table: Table, record_id: str) -> Row:
        """A record as it will stand."""
        read = self.there if self.is_new(table, record_id) else self.here
        found = self.stored(read, table, record_id)
        if found is None:
            raise KeyError(record_id)
        return {**found, **self.edits.get((table.name, record_id), {})}

    def stored(self, read: Reader, table: Table, record_id: str) -> Row | None:
        """A record as one of the two books has it."""
        values = next(
            read.rows(
                f"SELECT {', '.join(table.stored)} FROM {table.name} WHERE id = ?", (record_id,)
            ),
            None,
        )
        if values is None:
            return None
        row: Row = dict(zip(table.stored, values, strict=True))
        if read is self.there:
            self.translate(row)
        return row

    def translate(self, row: Row) -> None:
        """Let a row of the other book name this book's id of the same source file."""
        source = row.get("source_id")
        if isinstance(source, str):
            row["source_id"] = self.sources.get(source, source)

    def called(self, table: Table, record_id: str) -> str:
        """What people call the record."""
        return called(self.row, table, record_id)

    def ask(
        self,
        kind: str,
        key: tuple[str, ...],
        what: str,
        sides: tuple[str, str],
        answers: tuple[str, ...],
    ) -> str | None:
        """Note a clash; gives the person's answer, ``None`` while it is open."""
        code = hashlib.sha256("|".join((kind, *sorted(key))).encode()).hexdigest()[:8]
        said = self.answers.to(code, what, answers)
        self.clashes.append(Clash(code, kind, what, *sides, answers, said))
        return said

    @property
    def open(self) -> list[Clash]:
        """The clashes that nobody has settled."""
        return [clash for clash in self.clashes if clash.answer is None]
