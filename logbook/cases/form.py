"""The pull form: what it starts from, and what it says while somebody types."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from logbook.cases.air import latest_air, view_air
from logbook.cases.cautions import set_up_cautions
from logbook.cases.desk import Desk
from logbook.cases.engines import fuel_label, list_fuels
from logbook.cases.entry import PullEntry, read_air, sea_level_caution
from logbook.cases.field_lists import AIR_FIELDS, PEAK_FIELDS, READING_FIELDS, by_key
from logbook.cases.fields import SUGGESTED_FACTORS, read, read_level
from logbook.cases.files import chosen_part, trace_file
from logbook.cases.place import Place
from logbook.cases.pulls import starting_set_up
from logbook.cases.results import AirView, PullPreview
from logbook.cases.samples import free_parts, overlap
from logbook.cases.scoring import reckon
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.engine import Engine
from logbook.records.pull import OBSERVED, Pull
from logbook.records.session import Session
from logbook.records.setup import FactorChange, Level, SetUp, factor_key
from logbook.records.trace import SourceKind
from logbook.refusals import Conflict, Refusal
from logbook.store import lookups


@dataclass(frozen=True, slots=True)
class FormStart:
    """What the form shows before anything is touched. `set_up` maps factor names to the text
    carried forward; `suggestions` are factors of this shop that are not set yet."""

    number: int
    set_up: Mapping[str, str]
    air: AirView | None
    suggestions: tuple[str, ...]
    fuels: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class EntryCheck:
    """What there is to say about an entry as typed: a sentence per bad field (factors by their
    name), cautions, what it changes against the pull before, and whether that is a bundle."""

    errors: Mapping[str, str]
    cautions: tuple[Caution, ...]
    changed: tuple[FactorChange, ...]

    @property
    def bundle(self) -> bool:
        """More than one factor changes: their worth could not be told apart."""
        return len(self.changed) > 1


def form_start(desk: Desk, session_id: str) -> FormStart:
    """The next pull of a session with everything carried forward."""
    with desk.book.reading() as read_:
        session = read_.get(Session, session_id)
        cell = read_.get(Cell, session.cell_id)
        set_up = starting_set_up(read_, session)
        reading = latest_air(read_, session_id)
        number = read_.next_number(session_id)
        used = lookups.factor_names(read_)
    names = {factor_key(name): name for name in (*used, *SUGGESTED_FACTORS)}
    have = set_up.keyed()
    return FormStart(
        number=number,
        set_up={name: level.text for name, level in set_up.levels.items()},
        air=view_air(reading, session, cell, desk.timestamp()) if reading else None,
        suggestions=tuple(name for key, name in names.items() if key not in have),
        fuels=tuple(fuel_label(fuel) for fuel in list_fuels(desk)),
    )


def check_entry(desk: Desk, entry: PullEntry) -> EntryCheck:
    """Check an entry as it is typed; never raises for what was typed."""
    assert entry.session_id is not None
    with desk.book.reading() as read_:
        session = read_.get(Session, entry.session_id)
        engine = read_.get(Engine, session.engine_id)
        cell = read_.get(Cell, session.cell_id)
        before = starting_set_up(read_, session)
        reading = latest_air(read_, session.id)
    errors: dict[str, str] = {}
    levels: dict[str, Level | None] = {}
    for name, text in entry.set_up.items():
        try:
            levels[name] = read_level(name, text) if text and text.strip() else None
        except Refusal as refusal:
            errors[name] = refusal.sentence
    known = by_key((*AIR_FIELDS, *PEAK_FIELDS, *READING_FIELDS))
    for key, text in entry.fields.items():
        if text.strip():
            try:
                read(known[key], text, entry.units or desk.units)
            except Refusal as refusal:
                errors[key] = refusal.sentence
    cautions = list(set_up_cautions(engine, before.with_levels(levels)))
    air = {f.key: entry.fields[f.key] for f in AIR_FIELDS if entry.fields.get(f.key, "").strip()}
    if air and not set(air) & set(errors):
        try:
            typed = read_air(
                air,
                cell=cell,
                read_at=desk.timestamp(),
                session_id=session.id,
                before=reading,
                units=entry.units or desk.units,
                sea_level=entry.sea_level,
            )
        except Refusal as refusal:
            errors[next(iter(air))] = refusal.sentence
        else:
            suspicion = sea_level_caution(typed, cell)
            cautions += [suspicion] if suspicion else []
    return EntryCheck(
        errors=errors,
        cautions=tuple(cautions),
        changed=_changed(before, levels),
    )


def _changed(before: SetUp, levels: Mapping[str, Level | None]) -> tuple[FactorChange, ...]:
    return before.with_levels(levels).changed_from(before)


def not_logged(desk: Desk, session_id: str, kind: str, known: SourceKind | None) -> Pull:
    """The pull that a file would be, for its figures alone."""
    return Pull(
        id="",
        session_id=session_id,
        number=0,
        at=desk.timestamp(),
        kind=kind,
        setup_id="",
        torque_state=(known.answered if known else None) or OBSERVED,
    )


def preview_file(
    desk: Desk,
    session_id: str,
    path: Path,
    landing_id: str | None = None,
    samples: str | None = None,
) -> PullPreview:
    """Read a trace file, or what has landed, without logging it: what it holds and what must be
    asked. `samples` are those to take, where somebody has moved the edges."""
    whole = trace_file(desk, path, landing_id)
    with desk.book.reading() as read_:
        session = read_.get(Session, session_id)
        place = Place(
            session, read_.get(Engine, session.engine_id), read_.get(Cell, session.cell_id)
        )
        free = free_parts(read_, whole)
        taken = None if free else read_.pull_of_source(whole.sha256)
        known = read_.source_kind(whole.signature)
        reading = latest_air(read_, session_id)
    if taken is not None:
        raise Conflict(f"this file is already pull {taken.number} of a session",
                       where=whole.name, wanted="another file")  # fmt: skip
    if samples:
        file = chosen_part(whole, None, samples)
    else:
        file = whole if len(whole.parts) < 2 else chosen_part(whole, free[0], None)
    first, last = file.samples
    pull = not_logged(desk, session_id, file.kind_hint, known)
    reckoned = reckon(pull, file.trace, reading, place)
    speed = file.trace.of("engine speed")
    assert speed is not None  # the intake refuses a file without one
    taken_speed = speed.si()[file.trace.first_sample : file.trace.last_sample + 1]
    return PullPreview(
        path=str(path),
        name=file.name,
        kind=file.kind_hint,
        samples_taken=f"{first + 1}–{last + 1}",
        speed_from_rpm=float(taken_speed.min()),
        speed_to_rpm=float(taken_speed.max()),
        figures=reckoned.score.observed,
        channels=tuple(channel.name for channel in file.trace.channels),
        known_torque_state=known.answered if known else None,
        cautions=(*file.cautions, *reckoned.cautions),
        part=file.part or 1,
        parts=len(file.parts),
        more=sum(1 for at in free if not overlap(whole.parts[at - 1], file.samples)),
        moved=samples,
    )
