"""The pull form's entries and sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from logbook import quantities
from logbook.app.widgets.answer_words import caution_lines
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.entries import entry_for
from logbook.app.widgets.field import VALUE, Entry, TextEntry
from logbook.app.widgets.ink import BLANK, Line, join, one, rows_of, wrap
from logbook.app.widgets.lines import Lines
from logbook.cases.field_lists import PEAK_FIELDS, READING_FIELDS, by_key
from logbook.records.pull import KNOCK_UNKNOWN, OBSERVED
from logbook.records.setup import FUEL, TIMING, factor_key
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.form import EntryCheck
    from logbook.cases.results import PullPreview, SessionView
    from logbook.engineering.correction import Standard
    from logbook.records.caution import Caution

FACTOR, NUMBER, TRACE = "set-up:", "pull number", "trace file"
TABLE = "table"
USUAL = ("manifold-vacuum", "crankcase-vacuum", "blow-by", "oil", "coolant", "knock", "note")


class _Folding(Protocol):
    def folded_words(self) -> str: ...


class Folded(Lines):
    """The unchanged factors in a line or two."""

    def __init__(self, form: _Folding) -> None:
        super().__init__(id="folded")
        self._form = form

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """What is carried forward; nothing where everything is unfolded."""
        words = self._form.folded_words()
        return wrap(f"  Unchanged: {words}", width, "quiet", indent="  ") if words else []


class TraceLine(Lines):
    """The chosen file and what was read in it."""

    def __init__(self, path: Path, preview: PullPreview | None, system: str) -> None:
        super().__init__(id="trace")
        self._path, self._preview, self._system = path, preview, system

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """Name, samples, speeds, peaks."""
        name: Line = (("  Trace ", ""), (self._path.name, "strong"))
        read = self._preview
        if read is None:
            return [join([name, one("being read …", "quiet")])]
        figures = read.figures
        peaks = [
            (f"{quantities.show(value, kind, self._system)} at {speed:.0f} rpm", "strong")
            for value, kind, speed in (
                (figures.peak_power_kw, "power", figures.peak_power_rpm),
                (figures.peak_torque_nm, "torque", figures.peak_torque_rpm),
            )
            if value is not None and speed is not None
        ]
        parts: list[Line] = [
            name,
            one(read.kind),
            one(f"part {read.part} of {read.parts}", "strong") if read.parts > 1 else BLANK,
            one(f"samples {read.samples_taken}", "quiet"),
            one(f"{read.speed_from_rpm:.0f}–{read.speed_to_rpm:.0f} rpm"),
            *((("as in the file: ", "quiet"), peak) for peak in peaks[:1]),
            *((peak,) for peak in peaks[1:]),
        ]
        return rows_of(parts, width)


def factor_entry(
    name: str, text: str, carried: str, fuels: Sequence[str], hint: str = ""
) -> TextEntry:
    """A factor of the set-up, touched where it differs from what is carried forward."""
    key = factor_key(name)
    entry = TextEntry(
        FACTOR + name,
        name.capitalize() if name == name.lower() else name,
        text,
        unit="°" if key == TIMING else "",
        hint=hint,
        step=1.0 if key == TIMING else 0.0,
        suggestions=fuels if key == FUEL else (),
        wide=len(text) >= VALUE or (key == FUEL and not text),
    )
    entry.initial = carried
    return entry


def unset_entries(have: Iterable[str], fuels: Sequence[str]) -> list[TextEntry]:
    """Timing and fuel, empty, where nobody has set them yet: every pull has both."""
    keys = {factor_key(name) for name in have}
    return [
        factor_entry(name, "", "", fuels, "not set yet")
        for name in (TIMING, FUEL)
        if factor_key(name) not in keys
    ]


def peak_entries(system: str) -> list[Entry]:
    """The four numbers of a pull without a trace, in the order they are read off."""
    return [entry_for(field, "", system) for field in PEAK_FIELDS]


def reading_entries(system: str, *, first: bool) -> list[Entry]:
    """The readings beside the result: the usual ones, or the others."""
    fields = by_key(READING_FIELDS)
    if not first:
        table = TextEntry(
            TABLE, "Speeds and torques", wide=True,
        )  # fmt: skip
        others = [f for f in READING_FIELDS if f.key not in USUAL]
        return [*(entry_for(field, "", system) for field in others), table]
    entries: list[Entry] = []
    for key in USUAL:
        if key == "knock":
            entries.append(entry_for(fields[key], KNOCK_UNKNOWN, system))
        else:
            entries.append(entry_for(fields[key], "", system))
    return entries


def torque_entry(key: str, known: str | None) -> ChoiceEntry:
    """What the file's torque is: asked once for every kind of file."""
    from logbook.engineering.correction import STANDARDS

    standards = [one_ for one_ in STANDARDS.values() if one_.key != "none"]
    return ChoiceEntry(
        key,
        "The file's torque is",
        (OBSERVED, *(standard.key for standard in standards)),
        known or "",
        words=("observed", *(f"corrected already, {standard.name}" for standard in standards)),
        hint="as answered for such files before" if known else _numbered(standards),
    )


def _numbered(standards: Sequence[Standard]) -> str:
    """Every answer with its number: they do not fit in a row, and nobody guesses a number."""
    names = " · ".join(f"{n} {standard.name}" for n, standard in enumerate(standards, 2))
    return f"1 observed · or corrected already to: {names}"


def said_lines(
    check: EntryCheck | None, cautions: Sequence[Caution], view: SessionView, width: int
) -> list[Line]:
    """What changes with this pull, whether it is a bundle, and the cautions."""
    lines: list[Line] = []
    if check is not None:
        if not check.changed:
            first = "The first pull of this session"
            lines.append(one("Nothing changed: a repeat" if view.rows else first, "quiet"))
        else:
            changed = showing.changes(check.changed)
            lines += wrap(f"Changed: {changed}", width, "changed")
        if check.bundle:
            number = len(check.changed)
            words = {2: "Two", 3: "Three", 4: "Four"}.get(number, str(number))
            lines += wrap(
                f"⚠ {words} changes: this step will be a bundle, its parts cannot be told apart",
                width,
                "caution",
            )
        limit = view.engine.limit_timing_deg
        if any(factor_key(one_.factor) == TIMING for one_ in check.changed) and limit is not None:
            lines.append(one(f"Timing limit on the sheet: {limit:g}°", "strong"))
    return [*lines, *caution_lines(cautions, width)]
