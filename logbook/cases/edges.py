"""Which samples of a file are the pull: what there is to see, and what other edges would change."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cases.air import latest_air
from logbook.cases.desk import Desk
from logbook.cases.files import chosen_part, trace_file
from logbook.cases.form import not_logged
from logbook.cases.place import Place
from logbook.cases.samples import free_parts, read_samples
from logbook.cases.scoring import observed_or, reckon
from logbook.intake.parts import LEAST_SAMPLES
from logbook.records.air import AirReading
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.refusals import BadInput
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.engineering.trace import Array
    from logbook.records.score import Figures
    from logbook.records.trace import Trace
    from logbook.store.reader import Reader


@dataclass(frozen=True, slots=True)
class Marked:
    """Samples that belong to something: first and last (inclusive, from 0 in the trace)."""

    label: str
    first: int
    last: int


@dataclass(frozen=True, slots=True, eq=False)
class EdgesView:
    """A trace with the samples `first` to `last` (inclusive, from 0) taken as the pull.

    `begin` is the file's sample that the trace begins with. `others` are parts that are, or
    could be, other pulls. `number` is the pull's; 0 for a file that is not logged yet.
    """

    number: int
    name: str
    begin: int
    first: int
    last: int
    others: tuple[Marked, ...]
    trace: Trace = field(repr=False)
    pull: Pull = field(repr=False)
    air: AirReading | None = field(repr=False)
    place: Place = field(repr=False)

    @property
    def count(self) -> int:
        """How many samples the trace has."""
        return len(self.trace.channels[0].values)

    def of(self, quantity: str) -> Array | None:
        """A quantity's values (samples,) in its stored unit; ``None`` without such a channel."""
        channel = self.trace.of(quantity)
        return None if channel is None else channel.si()

    def moved(self, edge: str, by: int, taken: tuple[int, int]) -> tuple[int, int]:
        """The samples taken with their ``"first"`` or ``"last"`` one moved, as far as can be."""
        first, last = taken
        least = LEAST_SAMPLES - 1
        if edge == "first":
            return max(0, min(first + by, last - least)), last
        return first, min(self.count - 1, max(last + by, first + least))

    def said(self, taken: tuple[int, int]) -> str:
        """The samples as people give them: counted from 1 in the file."""
        return f"{taken[0] + self.begin + 1}-{taken[1] + self.begin + 1}"


def edges_of(desk: Desk, pull_id: str) -> EdgesView:
    """The trace of a finished pull. Raises `BadInput` where it has none from a file."""
    with desk.book.reading() as read:
        pull = read.get(Pull, pull_id)
        trace = read.trace(pull_id)
        if trace is None or pull.source_id is None:
            raise BadInput("this pull has no trace from a file", where="Samples",
                           wanted="a pull that has")  # fmt: skip
        taken = lookups.samples_of_source(read, lookups.source_hash(read, pull.source_id))
        begin, count = pull.first_in_file, len(trace.channels[0].values)
        others = tuple(
            Marked(f"pull {read.get(Pull, other).number}", max(0, first - begin),
                   min(count - 1, last - begin))
            for other, first, last in taken
            if other != pull_id and first - begin < count and last >= begin
        )  # fmt: skip
        air = read.get(AirReading, pull.air_id) if pull.air_id else None
        return EdgesView(
            pull.number,
            lookups.source_name(read, pull.source_id),
            begin,
            trace.first_sample,
            trace.last_sample,
            others,
            trace,
            pull,
            air,
            _place(read, pull.session_id),
        )


def edges_of_file(
    desk: Desk,
    session_id: str,
    path: Path,
    landing_id: str | None = None,
    samples: str | None = None,
) -> EdgesView:
    """A file that waits: all its samples, with those marked that would be, or are, pulls."""
    file = trace_file(desk, path, landing_id)
    with desk.book.reading() as read:
        free = free_parts(read, file)
        known = read.source_kind(file.signature)
        logged = [
            Marked(f"pull {read.get(Pull, other).number}", first, last)
            for other, first, last in lookups.samples_of_source(read, file.sha256)
        ]
        place, air = _place(read, session_id), latest_air(read, session_id)
    if samples:
        first, last = read_samples(samples)
    else:
        first, last = chosen_part(file, free[0] if free else None, None).samples
    parts = [
        Marked(f"part {number}", *part)
        for number, part in enumerate(file.parts, start=1)
        if number in free and (part[0] > last or part[1] < first)
    ]
    pull = not_logged(desk, session_id, file.kind_hint, known)
    return EdgesView(0, file.name, 0, first, last, (*logged, *parts), file.trace, pull, air, place)


def _place(read: Reader, session_id: str) -> Place:
    session = read.get(Session, session_id)
    return Place(session, read.get(Engine, session.engine_id), read.get(Cell, session.cell_id))


def figures_with(view: EdgesView, taken: tuple[int, int]) -> tuple[Figures, bool]:
    """The figures of the pull with these samples taken, and whether they are corrected."""
    trace = replace(view.trace, first_sample=taken[0], last_sample=taken[1])
    score = reckon(view.pull, trace, view.air, view.place).score
    shown = observed_or(score.observed, score.corrected)
    return shown, shown is score.corrected
