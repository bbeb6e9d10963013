"""Which samples of a file are which pull: none are two pulls, and edges can be moved.

People count samples from 1; inside they are counted from 0.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.cases.labels import label_of
from logbook.records.pull import Pull
from logbook.refusals import BadInput, Conflict
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.intake import ReadFile
    from logbook.store.change import Change
    from logbook.store.reader import Reader


def read_samples(text: str) -> tuple[int, int]:
    """``601-1210`` → (600, 1209): samples are counted from 1 by people, from 0 inside."""
    first, dash, last = text.replace("–", "-").replace("..", "-").partition("-")
    if not (dash and first.strip().isdecimal() and last.strip().isdecimal() and len(text) < 30):
        raise BadInput(
            f"{text[:30]!r} are not two samples",
            where="Samples",
            wanted="the first and the last sample of the pull, such as 601-1210",
        )
    return int(first) - 1, int(last) - 1


def overlap(one: tuple[int, int], other: tuple[int, int]) -> bool:
    """Whether two runs of samples, first and last inclusive, have any in common."""
    return one[0] <= other[1] and other[0] <= one[1]


def free_parts(read: Reader, file: ReadFile) -> list[int]:
    """The numbers of the file's parts of which no sample is a pull yet."""
    taken = lookups.samples_of_source(read, file.sha256)
    return [
        number
        for number, part in enumerate(file.parts, start=1)
        if not any(overlap(part, (begin, end)) for _, begin, end in taken)
    ]


def refuse_taken(change: Change, file: ReadFile) -> None:
    """The same samples are never two pulls; other parts of the same file may be."""
    for pull_id, begin, end in lookups.samples_of_source(change, file.sha256):
        if overlap((begin, end), file.samples):
            label = label_of(change, change.get(Pull, pull_id))
            free = free_parts(change, file)
            parts = f"part {free[0]} of it, or another file" if free else "another file"
            raise Conflict(
                f"this file is already pull {label}"
                if len(file.parts) < 2
                else f"samples {begin + 1}–{end + 1} of this file are already pull {label}",
                where=file.name,
                wanted=f"{parts}; to log it again, take that pull back first",
            )


def moved_edges(change: Change, pull: Pull, samples: str) -> dict[str, int]:
    """Other edges for a pull's trace. Refused outside it, and over another pull's samples."""
    count = lookups.samples_of_trace(change, pull.id)
    if count == 0 or pull.source_id is None:
        raise BadInput("this pull has no trace from a file", where="Samples", wanted="one that has")
    from logbook.intake.parts import check_samples

    first, last = read_samples(samples)
    begin = pull.first_in_file
    if not begin <= first <= last < begin + count:
        raise BadInput(
            f"this pull's trace holds the samples {begin + 1}–{begin + count} of its file",
            where="Samples",
            wanted="edges within them",
        )
    check_samples(first - begin, last - begin, count)
    sha256 = lookups.source_hash(change, pull.source_id)
    for other, start, end in lookups.samples_of_source(change, sha256):
        if other != pull.id and overlap((start, end), (first, last)):
            label = label_of(change, change.get(Pull, other))
            raise Conflict(f"samples {start + 1}–{end + 1} are pull {label}", where="Samples")
    return {"first_sample": first - begin, "last_sample": last - begin}
