"""Writing: one change of the book, audited field by field, and its undo."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

from logbook.records.ids import new_id
from logbook.records.score import Score
from logbook.records.setup import SetUp, factor_key
from logbook.records.trace import Source, SourceKind, Trace
from logbook.refusals import Conflict, NotFound
from logbook.store import sources, undoing
from logbook.store.audit import ChangeGroup
from logbook.store.reader import Reader
from logbook.store.scores import PUT_SCORE, row_of
from logbook.store.tables import (
    LINKS,
    Identified,
    SqlValue,
    Table,
    checked_columns,
    encode,
    table_of,
)
from logbook.store.traces import CHANNEL_COLUMNS, StoredTrace, stored_trace

if TYPE_CHECKING:
    from logbook.store.merging import Plan

R = TypeVar("R", bound=Identified)


class Change(Reader):
    """One change under way. It also reads, and sees what it has written so far.

    `group` names it in the audit trail; `what` may still be set until it ends, for a sentence
    that is only known then (``"Pull 4 logged"``).
    """

    def __init__(self, db: sqlite3.Connection, *, at: str, who: str, what: str, why: str) -> None:
        super().__init__(db)
        self.group = new_id()
        self.at = at
        self.who = who
        self.what = what
        self.why = why
        self._undoes: str | None = None
        # By pull: the trace that its new file was outlined over, and the copy that waits for it.
        self._outlined: dict[str, StoredTrace] = {}
        self._copies: dict[str, tuple[str, bytes]] = {}
        self._lines: list[tuple[str, str, str | None, SqlValue, SqlValue]] = []

    @contextmanager
    def attempt(self) -> Iterator[None]:
        """A part of the change that is taken back alone where it is refused."""
        lines = len(self._lines)
        self._db.execute("SAVEPOINT attempt")
        try:
            yield
        except BaseException:
            if self._db.in_transaction:  # a full disk may have ended it already
                self._db.execute("ROLLBACK TO attempt")
                self._db.execute("RELEASE attempt")
            del self._lines[lines:]
            raise
        self._db.execute("RELEASE attempt")

    def insert(self, record: Identified) -> str:
        """Enter a record; gives its id."""
        table = table_of(type(record))
        values = [encode(getattr(record, name), field=name) for name in table.columns]
        marks = ", ".join("?" * len(values))
        self._db.execute(
            f"INSERT INTO {table.name} ({', '.join(table.columns)}) VALUES ({marks})", values
        )
        self._lines.append((table.noun, record.id, None, None, None))
        return record.id

    def update(self, record: type[R], record_id: str, **fields: Any) -> bool:
        """Set fields of a record; those that keep their value leave no trace.

        Gives whether anything changed. Raises `NotFound`.
        """
        table = table_of(record)
        checked_columns(table, fields)
        if "id" in fields:
            raise TypeError("an id never changes")
        new = {name: encode(value, field=name) for name, value in fields.items()}
        return self.set_columns(table, record_id, new)

    def set_columns(self, table: Table, record_id: str, new: dict[str, SqlValue]) -> bool:
        """Set stored values of a row, with one line in the audit trail for each that changes."""
        if not new:
            return False
        old = self._db.execute(
            f"SELECT {', '.join(new)} FROM {table.name} WHERE id = ?", (record_id,)
        ).fetchone()
        if old is None:
            raise NotFound(f"this book holds no {table.noun} {record_id}")
        changed = {
            name: (before, new[name])
            for name, before in zip(new, old, strict=True)
            if before != new[name]
        }
        if not changed:
            return False
        self._db.execute(
            f"UPDATE {table.name} SET {', '.join(f'{name} = ?' for name in changed)} WHERE id = ?",
            [*(after for _, after in changed.values()), record_id],
        )
        self._lines.extend(
            (table.noun, record_id, name, before, after)
            for name, (before, after) in changed.items()
        )
        return True

    def withdraw(self, record: type[R], record_id: str) -> None:
        """Take a record back: it stays in the book, lists leave it out.

        Raises `Conflict` while another record still leans on it.
        """
        table = table_of(record)
        self.set_columns(table, record_id, {"withdrawn": 1})
        self.check_leaning(table, record_id)

    def check_leaning(self, table: Table, record_id: str) -> None:
        """Refuse a withdrawn record that a record in use refers to, and the reverse."""
        gone = self._withdrawn(table.name, record_id)
        for link in LINKS:
            if gone and link.target == table.name:
                count = self._db.execute(
                    f"SELECT count(*) FROM {link.table} WHERE {link.column} = ? AND withdrawn = 0",
                    (record_id,),
                ).fetchone()[0]
                if count:
                    raise Conflict(
                        f"this {table.noun} cannot be taken back: {count} of the book's"
                        f" {link.table} still belong to it",
                        wanted="take those back first",
                    )
            elif not gone and link.table == table.name:
                target = self._db.execute(
                    f"SELECT {link.column} FROM {table.name} WHERE id = ?", (record_id,)
                ).fetchone()[0]
                if target is not None and self._withdrawn(link.target, target):
                    raise Conflict(
                        f"this {table.noun} belongs to one of the book's {link.target} that was"
                        " taken back",
                        wanted="bring that back first",
                    )

    def _withdrawn(self, table: str, record_id: str) -> bool:
        row = self._db.execute(
            f"SELECT withdrawn FROM {table} WHERE id = ?", (record_id,)
        ).fetchone()
        return row is not None and bool(row[0])

    def put_setup(self, setup: SetUp) -> str:
        """The id of this set-up; entered unless the book holds it exactly as written.

        Set-ups that are equal but written differently (``0.30 mm``, ``0.3 mm``) have rows of
        their own with one fingerprint, so that each pull reads back as it was written.
        """
        written = list(setup.levels.items())
        for (setup_id,) in self._db.execute(
            "SELECT id FROM setups WHERE fingerprint = ? ORDER BY id", (setup.fingerprint,)
        ).fetchall():
            if list(self.setup(setup_id).levels.items()) == written:
                return str(setup_id)
        setup_id = new_id()
        self._db.execute(
            "INSERT INTO setups (id, fingerprint) VALUES (?, ?)", (setup_id, setup.fingerprint)
        )
        self._db.executemany(
            "INSERT INTO setup_levels"
            " (setup_id, position, factor, factor_key, text, number, unit)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            [
                (
                    setup_id,
                    position,
                    encode(factor, field="factor"),
                    encode(factor_key(factor), field="factor"),
                    encode(level.text, field=factor),
                    encode(level.number, field=factor),
                    encode(level.unit, field=factor),
                )
                for position, (factor, level) in enumerate(written)
            ],
        )
        return setup_id

    def put_trace(self, pull_id: str, trace: Trace | StoredTrace) -> None:
        """Store a pull's trace, every channel. Raises `Conflict` where it already has one."""
        if self._db.execute("SELECT 1 FROM traces WHERE pull_id = ?", (pull_id,)).fetchone():
            raise Conflict("this pull already has a trace; what was measured is kept for ever")
        new = stored_trace(trace) if isinstance(trace, Trace) else trace
        if self._outlined.pop(pull_id, new) is not new:
            raise RuntimeError("a file was outlined over another trace of this pull")
        self._db.execute(
            "INSERT INTO traces (pull_id, samples, first_sample, last_sample) VALUES (?, ?, ?, ?)",
            (pull_id, new.samples, new.first_sample, new.last_sample),
        )
        marks = ", ".join("?" * (CHANNEL_COLUMNS.count(",") + 1))
        self._db.executemany(
            f"INSERT INTO channels (pull_id, position, {CHANNEL_COLUMNS}) VALUES (?, ?, {marks})",
            [(pull_id, at, *row) for at, row in enumerate(new.rows)],
        )
        self.count_samples(new.samples)
        if pull_id in self._copies:
            source_id, content = self._copies.pop(pull_id)
            sources.outline_kept(self._db, source_id, content, pull_id, new.channels)

    def count_samples(self, count: int) -> None:
        """Number the samples of a trace so long; the view of points counts with them."""
        have = self._db.execute(
            "SELECT coalesce(max(sample) + 1, 0) FROM sample_numbers"
        ).fetchone()[0]
        if count > have:
            self._db.executemany(
                "INSERT INTO sample_numbers (sample) VALUES (?)", ((n,) for n in range(have, count))
            )

    def put_source(
        self, source: Source, *, pull_id: str | None = None, trace: StoredTrace | None = None
    ) -> str:
        """Store a source file; gives the id it has in the book.

        A file of the same hash is stored once: its first id is given. Where the whole file is
        the source of one pull, `trace` is what `put_trace` will be given for that pull before the
        change ends: then the numbers that the trace holds are not kept a second time.
        """
        sha256, channels = source.sha256.lower(), trace.channels if pull_id and trace else ()
        row = self._db.execute("SELECT id FROM sources WHERE sha256 = ?", (sha256,)).fetchone()
        if row is not None:
            if pull_id and channels:
                self._copies[pull_id] = (row[0], source.content)
            return str(row[0])
        content, outlined = sources.outline_or_copy(source.content, sha256, channels)
        self._db.execute(
            "INSERT INTO sources (id, sha256, name, taken_at, signature, size_bytes, content_zlib,"
            " trace_pull_id) VALUES (?, ?, ?, ?, ?, ?, ?, ?)",
            (
                source.id,
                sha256,
                encode(source.name, field="name"),
                source.taken_at,
                encode(source.signature, field="signature"),
                len(source.content),
                content,
                pull_id if outlined else None,
            ),
        )
        if outlined and pull_id and trace:
            self._outlined[pull_id] = trace
        return source.id

    def put_source_kind(self, kind: SourceKind) -> str:
        """Keep what was answered for files with this header; a new answer replaces the old."""
        known = self.source_kind(kind.signature)
        if known is None:
            return self.insert(kind)
        self.update(
            SourceKind,
            known.id,
            name=kind.name,
            torque_state=kind.torque_state,
            column_map=kind.column_map,
        )
        return known.id

    def put_scores(self, scores: Iterable[Score]) -> None:
        """Store computed scores. They are no part of the audit trail: anyone can recompute."""
        self._db.executemany(PUT_SCORE, [row_of(score) for score in scores])

    def undo(self, group: str) -> ChangeGroup:
        """Take a change back as this new change, which must do nothing else.

        Gives the change that was taken back. Raises `NotFound`, or `Conflict` where it was
        taken back already or a later change touched the same fields.
        """
        if self._lines:
            raise RuntimeError("an undo is a change of its own")
        undone = undoing.take_back(self, self._db, group)
        self._undoes = group
        if not self.what:
            self.what = undoing.sentence(self._db, undone)
        return replace(undone, undone_by=self.group)

    def merge(self, plan: Plan, *, book: str, backup: str) -> None:
        """Take another book in as planned, and note which; there is no undo but `backup`."""
        from logbook.store import merging, taking_in  # no start of the app waits for these

        taking_in.take_in(self, self._db, plan)
        self._lines += [
            (merging.NOTE, self.group, name, None, text)
            for name, text in (("book", book), ("backup", backup))
        ]

    def finish(self) -> None:
        """Write the audit trail; called by the book before it commits."""
        if not self._lines:
            return
        self._db.execute(
            "INSERT INTO audit_changes (id, at, who, what, why, undoes) VALUES (?, ?, ?, ?, ?, ?)",
            (
                self.group,
                self.at,
                *(encode(text, field="audit") for text in (self.who, self.what, self.why)),
                self._undoes,
            ),
        )
        self._db.executemany(
            "INSERT INTO audit_fields (change_id, record_type, record_id, field, old, new)"
            " VALUES (?, ?, ?, ?, ?, ?)",
            [(self.group, *line) for line in self._lines],
        )
