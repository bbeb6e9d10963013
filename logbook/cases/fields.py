"""The fields a person fills in: one list for the forms, the command line and the carry-forward.

A field knows its key (the command line's option, the form's id), its label, the kind of
quantity it takes and the record attribute that keeps it. `read` turns text into the stored
value or refuses; the screens call it while the person types.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import cast

from logbook import quantities
from logbook.cases.splitting import split_list
from logbook.engineering.limits import check
from logbook.records.setup import FUEL, TIMING, Level, factor_key
from logbook.refusals import BadInput

LONGEST_NOTE = 1_000_000
LONGEST_WORD = 200


@dataclass(frozen=True, slots=True)
class Field:
    """One thing that can be typed.

    `kind` is a quantity kind of `logbook.quantities`, or ``"text"``, ``"note"``, ``"choice"``,
    ``"choices"`` (comma separated), ``"count"`` (whole number), ``"number"``, ``"yes or no"``,
    ``"day"``. `low`/`high` bound the stored value (inclusive); `limit` names those of
    `engineering.limits` instead. `many`: one value for every cylinder, as a tuple; texts are
    separated by semicolons.
    """

    key: str
    label: str
    kind: str
    attribute: str
    choices: tuple[str, ...] = ()
    low: float | None = None
    high: float | None = None
    example: str = ""
    many: bool = False
    limit: str = ""

    @property
    def is_quantity(self) -> bool:
        """Whether a unit belongs to it."""
        return self.kind not in _PLAIN_KINDS


_PLAIN_KINDS = frozenset(
    {"text", "note", "choice", "choices", "count", "number", "yes or no", "day"}
)

Stored = float | int | str | bool | tuple[str, ...] | tuple[float | None, ...]


@dataclass(frozen=True, slots=True)
class Entry:
    """A value as stored, with the text it was typed as."""

    value: Stored
    typed: str


# Common factors and the unit a bare number takes; any other factor keeps its text.
FACTOR_KINDS: Mapping[str, str] = {TIMING: "angle"}
SUGGESTED_FACTORS = (
    TIMING, FUEL, "carburetor", "main jets", "air bleeds", "power valve", "spacer",
    "float level", "fuel pressure", "plugs", "plug gap", "manifold", "header", "lash",
    "vacuum pump", "air cleaner",
)  # fmt: skip


def read(field: Field, text: str, units: str | None) -> Entry:
    """Text → stored value.

    `units` is the display system whose unit a bare number takes (``"us"`` or ``"metric"``), or
    ``None`` where a quantity must bring its unit (scripts). Raises `BadInput` in a sentence.
    """
    typed = text.strip()
    if not typed:
        raise BadInput("nothing was given", where=field.label, wanted=_wanted(field))
    if field.many:
        return _read_many(field, typed, units)
    if field.is_quantity:
        bare = quantities.display_unit(field.kind, units) if units else _safe_bare(field.kind)
        measured = quantities.parse(typed, field.kind, field=field.label, bare_unit=bare)
        if field.limit:
            check(field.label, field.limit, measured.value, measured.unit)
        # with the unit a bare number was taken in, so that it reads back right ever after
        return Entry(_bounded(field, measured.value, typed, measured.unit), measured.typed)
    return Entry(_value(field, typed), typed)


def _read_many(field: Field, typed: str, units: str | None) -> Entry:
    """A value for every cylinder, each read as one."""
    if not field.is_quantity:
        texts = tuple(" ".join(part.split()) for part in typed.split(";"))
        for text in texts:
            _value(field, text)
        return Entry(texts, typed)
    one = replace(field, many=False)
    values, unit = split_list(typed, where=field.label, example=field.example)
    read_ones = [None if text is None else read(one, text, units) for text in values]
    stored = tuple(None if entry is None else cast("float", entry.value) for entry in read_ones)
    if unit or units is None:
        return Entry(stored, typed)
    bare = quantities.display_unit(field.kind, units)
    return Entry(stored, f"{typed} {bare}" if bare else typed)


def _value(field: Field, typed: str) -> Stored:
    match field.kind:
        case "number":
            return _bounded(field, _number(field, typed), typed)
        case "count":
            number = _bounded(field, _number(field, typed), typed)
            if number != int(number):
                raise BadInput(f"{typed} is not a whole number", where=field.label)
            return int(number)
        case "choice":
            return _choice(field, typed)
        case "choices":
            return tuple(str(_choice(field, part)) for part in typed.split(",") if part.strip())
        case "yes or no":
            return _yes_or_no(field, typed)
        case "day":
            return _day(field, typed)
        case _:
            longest = LONGEST_NOTE if field.kind == "note" else LONGEST_WORD
            if len(typed) > longest:
                raise BadInput(
                    f"{len(typed)} characters is longer than a {field.kind} may be",
                    where=field.label,
                    wanted=f"at most {longest} characters",
                )
            return typed


def _day(field: Field, typed: str) -> str:
    try:
        return date.fromisoformat(typed).isoformat()
    except ValueError:
        raise BadInput(
            f"{typed[:40]!r} is not a date", where=field.label, wanted="such as 2026-03-01"
        ) from None


def _safe_bare(kind: str) -> str | None:
    """A bare number in a script is taken only where no other unit is in use."""
    return {"speed": "rpm", "angle": "deg", "fraction": "%", "percent": "%"}.get(kind)


def _number(field: Field, typed: str) -> float:
    try:
        value = float(typed.replace("−", "-"))
    except ValueError:
        raise BadInput(
            f"{typed[:40]!r} is not a number", where=field.label, wanted=_wanted(field)
        ) from None
    if not math.isfinite(value):
        raise BadInput(f"{typed} is not a finite number", where=field.label)
    return value


def _bounded(field: Field, value: float, typed: str, unit: str = "") -> float:
    """The value, within the field's bounds; they are said in the unit that was typed."""
    below = field.low is not None and value < field.low
    above = field.high is not None and value > field.high
    if below or above:
        low, high = (
            "" if bound is None else f"{word} {_in_unit(field, bound, unit)}"
            for word, bound in (("from", field.low), ("up to", field.high))
        )
        raise BadInput(
            f"{typed} is out of range", where=field.label, wanted=f"{low} {high}".strip()
        )
    return value


def _in_unit(field: Field, bound: float, unit: str) -> str:
    shown = quantities.from_stored(bound, unit, field.kind) if field.is_quantity else bound
    return f"{round(shown, 2):g} {unit}".rstrip()


def _choice(field: Field, typed: str) -> Stored:
    wanted = factor_key(typed)
    for choice in field.choices:
        if factor_key(choice) == wanted:
            return int(choice) if choice.isdigit() else choice
    raise BadInput(
        f"{typed[:40]!r} is not one of the choices",
        where=field.label,
        wanted="one of " + ", ".join(field.choices),
    )


def _yes_or_no(field: Field, typed: str) -> bool:
    word = typed.casefold()
    if word in {"yes", "y", "true", "1"}:
        return True
    if word in {"no", "n", "false", "0"}:
        return False
    raise BadInput(f"{typed[:40]!r} is neither yes nor no", where=field.label, wanted="yes or no")


def _wanted(field: Field) -> str:
    if field.example:
        return f"a value such as {field.example}"
    if field.choices:
        return "one of " + ", ".join(field.choices)
    return "a value"


def read_level(factor: str, text: str) -> Level:
    """The level of a factor. Timing is an angle; numbers and quantities of other factors are
    compared by value, and everything keeps the text that was typed."""
    typed = text.strip()
    if not factor_key(factor):
        raise BadInput("a factor needs a name", where="Set-up", wanted="such as main jets = 82")
    if not typed:
        raise BadInput("nothing was given", where=factor, wanted="a level, such as 82")
    if len(typed) > LONGEST_WORD or len(factor) > LONGEST_WORD:
        raise BadInput(
            "too long for a factor", where=factor[:40], wanted=f"at most {LONGEST_WORD} characters"
        )
    kind = FACTOR_KINDS.get(factor_key(factor))
    if kind:
        measured = quantities.parse(typed, kind, field=factor.capitalize(), bare_unit="deg")
        if not -20 <= measured.value <= 80:
            raise BadInput(
                f"{typed} is outside −20–80°",
                where=factor.capitalize(),
                wanted="degrees before top dead center, such as 32",
            )
        return Level(typed, measured.value, quantities.stored_unit(kind))
    return level_of(typed)


def level_of(typed: str) -> Level:
    """A number or a quantity with its value, any other text as it stands."""
    try:
        number = float(typed)
    except ValueError:
        return _quantity_level(typed)
    return Level(typed, number) if math.isfinite(number) else Level(typed)


def _quantity_level(typed: str) -> Level:
    """A level such as ``0.3 mm`` compares by value; any other text stands as text."""
    number, _, unit = typed.partition(" ")
    known = quantities.known_unit(unit) if unit else None
    if known is None:
        return Level(typed)
    try:
        value = quantities.parse(typed, known[1], field="level").value
    except BadInput:
        return Level(typed)  # a text that only looks like a quantity is still a level
    return Level(typed, value, quantities.stored_unit(known[1])) if number else Level(typed)


def read_band(text: str, *, field: str = "Band") -> tuple[float, float]:
    """``5500-8500`` → (5500.0, 8500.0) rpm."""
    cleaned = text.replace("–", "-").replace("..", "-").casefold().removesuffix("rpm").strip()
    low, dash, high = cleaned.partition("-")
    wanted = "two speeds in rpm, such as 4500-6500"
    if not dash:
        raise BadInput(f"{text[:40]!r} is not a band", where=field, wanted=wanted)
    edges = [
        quantities.parse(part, "speed", field=field, bare_unit="rpm").value for part in (low, high)
    ]
    if not 0 < edges[0] < edges[1] <= 30_000:
        raise BadInput(
            f"{text[:40]!r} does not run upward within 0–30 000 rpm", where=field, wanted=wanted
        )
    return edges[0], edges[1]
