"""Taking another book's records, files and audit trail into this one.

Records are joined by id, fields by `lineage`; what cannot be joined without a decision is a
`Clash`. While one is open nothing is taken: both books stay as they are, both values stay
visible, the dry run lists them. A decision is written as a change of its own that knows both
versions, so a book that it reaches later does not ask again.

Where nothing clashes the result does not depend on which book is merged into which, in what
order, or how often: records and trail are sets that are united, scores, totals, stamps and the
search index are computed from them. Merged twice, the second time changes nothing.

* Set-ups are the same by what they say: the same one under two ids is kept under both.
* Source files are the same by their bytes: kept once, under the id this book has for them.
* Notes of a merge or a rescue tell what happened to one file. They stay there, as do the folders
  that one machine watches.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from logbook.store import clashes, joining
from logbook.store.reader import Reader
from logbook.store.tables import BY_NOUN, TABLES
from logbook.store.two_books import Answers, TwoBooks

# Audit lines of these types tell of a merge or a rescue, not of a record.
NOTE = "merge"
_NOTES = (NOTE, "rescue")


@dataclass(frozen=True, slots=True)
class Plan:
    """What a merge will do. `entered` counts by noun what only the other book holds, `changed`
    the records of both that change here, `changes` the entries of the audit trail to come."""

    both: TwoBooks
    changes: tuple[str, ...]
    new_setups: tuple[str, ...]
    new_sources: tuple[str, ...]
    notes: tuple[str, ...]

    @property
    def entered(self) -> dict[str, int]:
        """Noun → how many records only the other book holds."""
        counts = {noun: len(self.both.new[table.name]) for noun, table in BY_NOUN.items()}
        counts |= {"set-up": len(self.new_setups), "source file": len(self.new_sources)}
        return {noun: count for noun, count in counts.items() if count}

    @property
    def changed(self) -> int:
        """How many records that this book holds will change."""
        return sum(1 for name, one in self.both.edits if one not in self.both.new[name])

    @property
    def nothing_new(self) -> bool:
        """Whether this book holds everything already."""
        return not (self.entered or self.changed or self.changes or self.both.lines)


def plan(here: Reader, there: Reader, answers: Answers) -> Plan:
    """Compare two books of the same shape. Only reads.

    Raises `BadInput` for an answer that fits no clash.
    """
    both = TwoBooks(here, there, answers)
    known = dict(here.rows("SELECT sha256, id FROM sources"))
    new_sources = []
    for source_id, sha256 in there.rows("SELECT id, sha256 FROM sources ORDER BY id"):
        if sha256 in known:
            both.sources[source_id] = known[sha256]
        else:
            new_sources.append(source_id)
    mine = {row[0] for row in here.rows("SELECT id FROM setups")}
    theirs = [row[0] for row in there.rows("SELECT id FROM setups ORDER BY id")]
    for table in TABLES.values():
        joining.join(both, table)
    joining.check_traces(both)
    clashes.settle(both)
    answers.check_used()
    return Plan(
        both,
        tuple(_missing_changes(both)),
        tuple(one for one in theirs if one not in mine),
        tuple(new_sources),
        tuple(_notes(both)),
    )


def _missing_changes(both: TwoBooks) -> Iterator[str]:
    known = {row[0] for row in both.here.rows("SELECT id FROM audit_changes")}
    for (change,) in both.there.rows(
        "SELECT id FROM audit_changes WHERE id NOT IN"
        " (SELECT change_id FROM audit_fields WHERE record_type IN (?, ?)) ORDER BY number",
        _NOTES,
    ):
        if change not in known:
            yield change


def _notes(both: TwoBooks) -> Iterator[str]:
    if both.sources:
        same = sum(1 for theirs, mine in both.sources.items() if theirs != mine)
        if same:
            yield f"source files in both books under two ids, kept once each: {same}"
    fingerprints = "SELECT DISTINCT fingerprint FROM setups"
    shared = {row[0] for row in both.here.rows(fingerprints)} & {
        row[0] for row in both.there.rows(fingerprints)
    }
    if shared:
        yield f"set-ups in both books, counting as the same: {len(shared)}"
