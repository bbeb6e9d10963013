"""The search box's language, read into terms. Pure: knows no SQL and no book.

Words (each matches the start of a word), ``"quoted phrases"``, ``-`` before anything to leave
out; ``field:value`` for `TEXT_FIELDS`, quantities with their units for `QUANTITY_FIELDS`,
``date:``, and any set-up factor by its own name (``timing:>30``, ``"main jet":68..72``).
Values may be compared (``> >= < <=``) and may be ranges (``28..32``, ``2026-03..``).
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime

from logbook.quantities import display_unit, known_unit
from logbook.records.setup import factor_key
from logbook.refusals import BadInput
from logbook.store.query_dates import days
from logbook.store.query_numbers import Bounds, level_bounds, quantity_bounds, unit_is_missing

# Field → what it is searched in, for the help.
TEXT_FIELDS: Mapping[str, str] = {
    "engine": "an engine's tag or name",
    "owner": "the engine's owner",
    "family": "the engine's family",
    "build": "the build's label",
    "part": "an item of the build, or its value",
    "file": "the name of an attached file",
    "cell": "the cell's name",
    "session": "the session's date or id",
    "purpose": "the session's purpose",
    "operator": "the session's operator",
    "standard": "the standard corrected to",
    "fuel": "the fuel's name or batch",
    "note": "the pull's notes and observations",
    "knock": "none, heard or not checked",
    "kind": "sweep, steady points or typed peaks",
    "excluded": "yes or no",
}
# Field → the kind of quantity it is given in.
QUANTITY_FIELDS: Mapping[str, str] = {
    "power": "power",
    "torque": "torque",
    "oil": "temperature",
    "coolant": "temperature",
    "vacuum": "vacuum",
    "manifold vacuum": "vacuum",
    "crankcase vacuum": "vacuum",
    "blow by": "volume_flow",
    "lambda": "ratio",
    "number": "ratio",
}
DATE = "date"
FIELDS = (*TEXT_FIELDS, *QUANTITY_FIELDS, DATE)

MOST_CHARACTERS = 500
MOST_TERMS = 30
_WHERE = "Search"


@dataclass(frozen=True, slots=True)
class Words:
    """Free text: a word's beginning, or a phrase of whole words."""

    text: str
    phrase: bool
    negated: bool


@dataclass(frozen=True, slots=True)
class TextTerm:
    """A text field equal to `value`, or, where nothing is equal, containing it."""

    field: str
    value: str
    negated: bool


@dataclass(frozen=True, slots=True)
class NumberTerm:
    """A measured or computed number within `bounds` (stored unit)."""

    field: str
    bounds: Bounds
    negated: bool


@dataclass(frozen=True, slots=True)
class DateTerm:
    """Time of the pull in seconds since 1970: from `first` up to, not including, `end`."""

    first: int | None
    end: int | None
    negated: bool


@dataclass(frozen=True, slots=True)
class FactorTerm:
    """A set-up factor. `bounds` where a number was given (in `unit`; ``None``: as typed),
    else the level's text equal to `value` or containing it. `name` is as typed."""

    key: str
    name: str
    value: str
    bounds: Bounds | None
    unit: str | None
    negated: bool


Term = Words | TextTerm | NumberTerm | DateTerm | FactorTerm


@dataclass(frozen=True, slots=True)
class Query:
    """All terms must hold. No terms: every pull."""

    terms: tuple[Term, ...]


@dataclass(frozen=True, slots=True)
class _Token:
    negated: bool
    field: str | None
    value: str
    quoted: bool


# One token: an optional minus, an optional field (bare or quoted) with a colon, then a quoted
# or a bare value. The bare field stops at a quote, blank or colon.
_TOKEN = re.compile(
    r"""(?P<minus>-?)
        (?:(?:"(?P<quoted_field>[^"]*)"|(?P<field>[^\s":]+)):)?
        (?:"(?P<phrase>[^"]*)"|(?P<bare>[^\s"]*))""",
    re.VERBOSE,
)


def parse_query(text: str, *, now: datetime, units: str | None = None) -> Query:
    """Read what stands in the search box.

    `now` says what ``today`` is, in its own time zone. `units` (``"us"`` or ``"metric"``) gives
    bare numbers the display unit of their field; without it they are refused where a unit
    could be doubted. Raises `BadInput` with a sentence for anything malformed.
    """
    clean = re.sub(r"[\x00-\x1f\x7f]", " ", text).encode("utf-8", "replace").decode("utf-8")
    if len(clean) > MOST_CHARACTERS:
        raise BadInput(
            f"{len(clean)} characters are too many",
            where=_WHERE,
            wanted=f"at most {MOST_CHARACTERS}",
        )
    tokens = _joined(list(_tokens(clean)))
    if len(tokens) > MOST_TERMS:
        raise BadInput(
            f"{len(tokens)} terms are too many", where=_WHERE, wanted=f"at most {MOST_TERMS}"
        )
    return Query(tuple(_term(token, now, units) for token in tokens))


def _tokens(text: str) -> Iterator[_Token]:
    place = 0
    while place < len(text):
        if text[place].isspace():
            place += 1
            continue
        found = _TOKEN.match(text, place)
        # The pattern takes nothing only where a quotation mark is never closed.
        if found is None or found.end() == place or _unclosed(text, found):
            raise BadInput(
                "a quotation mark is not closed",
                where=_WHERE,
                wanted='a phrase such as "new rings"',
            )
        place = found.end()
        field = found["quoted_field"] if found["quoted_field"] is not None else found["field"]
        phrase = found["phrase"]
        yield _Token(
            negated=bool(found["minus"]),
            field=field,
            value=phrase if phrase is not None else found["bare"],
            quoted=phrase is not None,
        )


def _unclosed(text: str, found: re.Match[str]) -> bool:
    return (
        found["phrase"] is None
        and text[found.end() : found.end() + 1] == '"'
        and text.count('"', found.end()) % 2 == 1
    )


def _joined(tokens: list[_Token]) -> list[_Token]:
    """``power:>200 hp``: a unit that stands apart belongs to the number before it."""
    joined: list[_Token] = []
    for token in tokens:
        before = joined[-1] if joined else None
        kind = QUANTITY_FIELDS.get(factor_key(before.field)) if before and before.field else None
        unit = known_unit(token.value) if token.field is None and not token.negated else None
        if before and kind and unit and not token.quoted and unit_is_missing(before.value):
            joined[-1] = _Token(before.negated, before.field, f"{before.value} {token.value}", True)
        else:
            joined.append(token)
    return joined


def _term(token: _Token, now: datetime, units: str | None) -> Term:
    value = " ".join(token.value.split())
    if token.field is None:
        return _words(value, token)
    key = factor_key(token.field)
    if not key:
        raise BadInput(
            "a field's name is missing before the colon", where=_WHERE, wanted="engine:V8"
        )
    if not value:
        raise BadInput(
            f"“{token.field}:” has no value", where=_WHERE, wanted=f"{token.field}:{_example(key)}"
        )
    if key == DATE:
        first, end = days(value, now)
        return DateTerm(first, end, token.negated)
    if key in QUANTITY_FIELDS:
        kind = QUANTITY_FIELDS[key]
        bare = display_unit(kind, units) if units else None
        bounds = quantity_bounds(value, kind, field=token.field, bare_unit=bare)
        return NumberTerm(key, bounds, token.negated)
    if key in TEXT_FIELDS:
        return TextTerm(key, value, token.negated)
    level, unit = level_bounds(value, key, field=token.field)
    return FactorTerm(key, token.field, value, level, unit, token.negated)


def _words(value: str, token: _Token) -> Words:
    text = value if token.quoted else value.rstrip("*")
    if not any(character.isalnum() for character in text):
        shown = f"“{value}”" if value else "an empty phrase" if token.quoted else "“-”"
        raise BadInput(
            f"{shown} holds nothing to search for", where=_WHERE, wanted="a word or field:value"
        )
    return Words(text, token.quoted, token.negated)


def _example(key: str) -> str:
    if key == DATE:
        return "2026-03"
    if key in QUANTITY_FIELDS:
        return {"power": ">200hp", "torque": ">=300Nm", "number": "3", "lambda": "0.85..0.9"}.get(
            key, {"temperature": ">190F", "vacuum": ">14inHg"}.get(QUANTITY_FIELDS[key], ">1.5cfm")
        )
    return {"timing": ">30", "knock": "heard", "excluded": "yes"}.get(key, "VALUE")
