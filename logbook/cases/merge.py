"""Two cells' books into one: the dry run, the conflicts, the merge."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from logbook.cases.desk import Desk
from logbook.cases.rescoring import rescore, unscored
from logbook.records.attachment import Attachment
from logbook.refusals import Conflict
from logbook.store import attached
from logbook.store.backups import BEFORE_MERGE
from logbook.store.change import Change
from logbook.store.merging import Plan, plan
from logbook.store.other_book import looked_into
from logbook.store.two_books import Answers, Clash


@dataclass(frozen=True, slots=True)
class MergeReport:
    """What a merge did, or in a dry run would do.

    `entered` counts by noun the records that only the other book holds, `changed` the records
    of both that it has a newer version of, `changes` the entries of its audit trail that are
    taken along. `conflicts` are all that were found, settled or not; `notes` say what needs no
    decision. `backup` is the book as it was before; ``None`` where nothing was written.
    """

    other: str
    entered: Mapping[str, int]
    changed: int
    changes: int
    conflicts: tuple[Clash, ...]
    notes: tuple[str, ...]
    backup: Path | None = None

    @property
    def open(self) -> tuple[Clash, ...]:
        """The conflicts that nobody has settled."""
        return tuple(clash for clash in self.conflicts if clash.answer is None)

    @property
    def nothing_new(self) -> bool:
        """Whether this book held everything already."""
        return not (self.entered or self.changed or self.changes or self.conflicts)


class Unsettled(Conflict):
    """A merge that cannot be made before somebody decides; `report` lists what."""

    def __init__(self, report: MergeReport) -> None:
        self.report = report
        count = len(report.open)
        super().__init__(
            f"{count} conflict{'s are' if count > 1 else ' is'} not settled; nothing was merged",
            where=report.other,
            wanted="an answer to each, or a change in one of the books",
        )


def look(desk: Desk, other: Path, answers: Mapping[str, str] | None = None) -> MergeReport:
    """The dry run: what `merge` would do. Writes nothing."""
    with (
        looked_into(other, beside=desk.book.path) as there,
        desk.book.reading() as here,
    ):
        return _report(other, plan(here, there, Answers(answers or {})), desk)


def merge(desk: Desk, other: Path, answers: Mapping[str, str] | None = None) -> MergeReport:
    """Take the other book's records, files and audit trail into this one.

    `answers` settle conflicts by their codes. The other book is only read. The book is backed
    up first; then everything is written together or nothing is. A second merge of the same
    book finds nothing new and writes nothing.

    Raises `Unsettled` while a conflict is open, `Conflict` for the book itself, `BookTrouble`
    where the other book cannot be read or the backup cannot be made.
    """
    given = answers or {}
    with looked_into(other, beside=desk.book.path) as there:
        with desk.book.reading() as here:
            first = plan(here, there, Answers(given))
        _check_settled(other, first, desk)
        backup = None if first.nothing_new else desk.book.keep_copy(BEFORE_MERGE)
        # Before the records that speak of them: a file too many harms nobody.
        attached.bring(other, desk.book.path, attached.hashes(there))
        if backup is None:
            return _report(other, first, desk)
        with desk.book.changing(who=desk.who, what=f"Merged {other.name}") as change:
            # The book may have changed since: only now nobody else writes to it.
            now = plan(change, there, Answers(given))
            _check_settled(other, now, desk)
            change.what = f"Merged {other.name}{_in_words(now)}"
            change.merge(now, book=str(other.resolve()), backup=str(backup.resolve()))
            _score(change)
        desk.judged.clear()
        return _report(other, now, desk, backup)


def counted(count: int, noun: str) -> str:
    """``1 pull``, ``3 pulls``, ``2 kinds of source file``."""
    head, of, rest = noun.partition(" of ")
    return f"{count} {head}{'s' if count > 1 else ''}{of}{rest}"


def _check_settled(other: Path, found: Plan, desk: Desk) -> None:
    if found.both.open:
        raise Unsettled(_report(other, found, desk))


def _score(change: Change) -> None:
    for session_id, pull_ids in unscored(change).items():
        rescore(change, session_id, pull_ids)


def _in_words(found: Plan) -> str:
    told = [
        counted(found.entered[noun], noun)
        for noun in ("engine", "session", "pull")
        if noun in found.entered
    ]
    return ": " + ", ".join(told) if told else ""


def _files_missing(other: Path, found: Plan, desk: Desk) -> list[str]:
    """Attached files that stand beside neither of the books."""
    here = attached.missing_from(desk.book.path, attached.hashes(found.both.there))
    gone = set(attached.missing_from(other, here))
    return [
        f"attached file not beside either book: {one.name}"
        for one in found.both.there.where(Attachment)
        if one.sha256 in gone
    ]


def _report(other: Path, found: Plan, desk: Desk, backup: Path | None = None) -> MergeReport:
    return MergeReport(
        other=str(other),
        entered=found.entered,
        changed=found.changed,
        changes=len(found.changes),
        conflicts=tuple(found.both.clashes),
        notes=(*found.notes, *_files_missing(other, found, desk)),
        backup=backup,
    )
