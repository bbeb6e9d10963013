"""The pulls that one log holds, before any of them is logged."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk
from logbook.cases.files import trace_file
from logbook.cases.labels import label_of
from logbook.cases.samples import overlap
from logbook.records.caution import Caution
from logbook.records.pull import Pull
from logbook.store import lookups

if TYPE_CHECKING:
    from logbook.intake import ReadFile


@dataclass(frozen=True, slots=True)
class Part:
    """One rising loaded part of a log. Samples are counted from 1; peaks are as in the file.

    `seconds` is ``None`` for a log without time, `pull` names the pull it was logged as.
    """

    number: int
    first_sample: int
    last_sample: int
    seconds: float | None
    speed_from_rpm: float
    speed_to_rpm: float
    peak_power_kw: float | None
    peak_power_rpm: float | None
    peak_torque_nm: float | None
    peak_torque_rpm: float | None
    pull: str | None


@dataclass(frozen=True, slots=True)
class FileParts:
    """The parts of a log, and what is to be said about the file."""

    parts: tuple[Part, ...]
    cautions: tuple[Caution, ...]


def parts_of(desk: Desk, path: Path) -> FileParts:
    """What the log at `path` holds. Raises `BadFile`."""
    from logbook.intake.taken import SAMPLES_TAKEN

    file = trace_file(desk, path)
    with desk.book.reading() as read:
        taken = [
            (begin, end, label_of(read, read.get(Pull, pull_id)))
            for pull_id, begin, end in lookups.samples_of_source(read, file.sha256)
        ]
    found = []
    for number, (first, last) in enumerate(file.parts, start=1):
        pull = next(
            (one for begin, end, one in taken if overlap((begin, end), (first, last))), None
        )
        found.append(part_of(file, number, first, last, pull))
    others = tuple(caution for caution in file.cautions if caution.code != SAMPLES_TAKEN)
    return FileParts(tuple(found), others)


def part_of(file: ReadFile, number: int, first: int, last: int, pull: str | None) -> Part:
    """One part of a file: its samples (from 0), speeds and peaks, and the pull it is already."""
    from logbook.engineering.trace import bin_curve, figures

    cut = slice(first, last + 1)
    of = {
        quantity: channel.si()[cut]
        for quantity in ("time", "engine speed", "torque", "power")
        if (channel := file.trace.of(quantity)) is not None
    }
    speed, time = of["engine speed"], of.get("time")
    peaks = figures(bin_curve(speed, of.get("torque"), of.get("power")), None)
    return Part(
        number=number,
        first_sample=first + 1,
        last_sample=last + 1,
        seconds=None if time is None else float(time[-1] - time[0]),
        speed_from_rpm=float(speed.min()),
        speed_to_rpm=float(speed.max()),
        peak_power_kw=peaks.peak_power_kw,
        peak_power_rpm=peaks.peak_power_rpm,
        peak_torque_nm=peaks.peak_torque_nm,
        peak_torque_rpm=peaks.peak_torque_rpm,
        pull=pull,
    )
