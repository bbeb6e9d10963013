"""Each term of a query as a condition on `search_documents d`, its values as parameters."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from logbook.refusals import BadInput
from logbook.store.query import DateTerm, FactorTerm, NumberTerm, TextTerm
from logbook.store.query_numbers import Bounds

_DOCIDS_A_SECOND = 1_000_000
_FEW = 3000


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition in SQL with a ``?`` for each parameter."""

    sql: str
    parameters: tuple[str | int | float, ...]

    def negated(self) -> Condition:
        """Its opposite; what is not known does not fit the condition, so it fits this one."""
        return Condition(f"({self.sql}) IS NOT TRUE", self.parameters)


@dataclass(frozen=True, slots=True)
class _Text:
    """`ids` are found in `table`, where one of `columns` fits, and looked for in `within`."""

    table: str
    columns: tuple[str, ...]
    within: str


_OF_ENGINE = "d.session_id IN (SELECT id FROM sessions WHERE engine_id IN ({ids}))"
_OF_SESSION = "d.session_id IN ({ids})"

_TEXT: Mapping[str, _Text] = {
    "engine": _Text("engines", ("tag", "name"), _OF_ENGINE),
    "owner": _Text("engines", ("owner",), _OF_ENGINE),
    "family": _Text("engines", ("family",), _OF_ENGINE),
    "build": _Text(
        "builds", ("label",), "d.session_id IN (SELECT id FROM sessions WHERE build_id IN ({ids}))"
    ),
    "part": _Text(
        "build_items",
        ("name", "text"),
        "d.session_id IN (SELECT s.id FROM build_items i JOIN sessions s"
        " ON s.build_id = i.build_id WHERE i.withdrawn = 0 AND i.id IN ({ids}))",
    ),
    "file": _Text(
        "attachments",
        ("name",),
        "d.session_id IN (SELECT s.id FROM attachments a"
        " LEFT JOIN inspections n ON n.id = a.inspection_id JOIN sessions s"
        " ON s.id = a.session_id OR s.engine_id = a.engine_id"
        " OR s.build_id = coalesce(a.build_id, n.build_id)"
        " WHERE a.withdrawn = 0 AND a.id IN ({ids}))",
    ),
    "cell": _Text(
        "cells", ("name",), "d.session_id IN (SELECT id FROM sessions WHERE cell_id IN ({ids}))"
    ),
    "purpose": _Text("sessions", ("purpose",), _OF_SESSION),
    "operator": _Text("sessions", ("operator",), _OF_SESSION),
    "standard": _Text("sessions", ("standard",), _OF_SESSION),
    "fuel": _Text(
        "fuels", ("name", "batch"), "d.pull_id IN (SELECT id FROM pulls WHERE fuel_id IN ({ids}))"
    ),
}

_NUMBERS: Mapping[str, tuple[str, ...]] = {
    "oil": ("oil_c",),
    "coolant": ("coolant_c",),
    "vacuum": ("crankcase_vacuum_kpa", "manifold_vacuum_kpa"),
    "manifold vacuum": ("manifold_vacuum_kpa",),
    "crankcase vacuum": ("crankcase_vacuum_kpa",),
    "blow by": ("blow_by_m3_h",),
    "lambda": ("lambda_ratio",),
    "number": ("number",),
    "power": ("power_kw",),
    "torque": ("torque_nm",),
}
_SCORED = ("power", "torque")

_KNOCK = ("none", "heard", "not checked")
_KINDS = ("sweep", "steady points", "typed peaks")


def condition(term: TextTerm | NumberTerm | DateTerm | FactorTerm) -> Condition:
    """The condition that a term means."""
    if isinstance(term, TextTerm):
        found = _text(term)
    elif isinstance(term, NumberTerm):
        found = _number(term)
    elif isinstance(term, DateTerm):
        found = _date(term)
    else:
        found = _factor(term)
    return found.negated() if term.negated else found


def _text(term: TextTerm) -> Condition:
    match term.field:
        case "knock":
            return _choice("knock", term.value.replace("-", " "), _KNOCK)
        case "kind":
            return _choice("kind", term.value, _KINDS)
        case "excluded":
            return _excluded(term.value)
        case "session":
            begins = _like(term.value) + "%"
            fits = "opened_at LIKE ? ESCAPE '\\' OR id LIKE ? ESCAPE '\\'"
            ids = f"SELECT id FROM sessions WHERE {fits}"
            return Condition(_OF_SESSION.format(ids=ids), (begins, begins))
        case "note":
            contains = f"%{_like(term.value)}%"
            fits = "notes LIKE ? ESCAPE '\\' OR observations LIKE ? ESCAPE '\\'"
            sql = f"EXISTS (SELECT 1 FROM pulls WHERE id = d.pull_id AND ({fits}))"
            return Condition(sql, (contains, contains))
        case "fuel":
            # A fuel is named by its record, or only by the set-up.
            by_record, by_setup = _named(_TEXT["fuel"], term.value), _level_text("fuel", term.value)
            return Condition(
                f"({by_record.sql} OR {by_setup.sql})",
                (*by_record.parameters, *by_setup.parameters),
            )
        case _:
            return _named(_TEXT[term.field], term.value)


def _named(text: _Text, value: str) -> Condition:
    """Rows of this very name; where there is none, those whose name contains it."""
    equal = " OR ".join(f"{column} = ? COLLATE NOCASE" for column in text.columns)
    like = " OR ".join(f"{column} LIKE ? ESCAPE '\\'" for column in text.columns)
    ids = (
        f"SELECT id FROM {text.table} WHERE CASE WHEN EXISTS"
        f" (SELECT 1 FROM {text.table} WHERE {equal}) THEN {equal} ELSE {like} END"
    )
    many = len(text.columns)
    parameters = (*(value,) * (2 * many), *(f"%{_like(value)}%",) * many)
    return Condition(text.within.format(ids=ids), parameters)


def _choice(column: str, value: str, choices: tuple[str, ...]) -> Condition:
    start = value.casefold()
    fitting = [
        choice
        for choice in choices
        if choice.startswith(start) or any(word.startswith(start) for word in choice.split()[1:])
    ]
    if not fitting:
        raise BadInput(
            f"“{value}” is not known", where=column, wanted="one of " + ", ".join(choices)
        )
    marks = " OR ".join(f"{column} = ?" for _ in fitting)
    return Condition(f"d.pull_id IN (SELECT id FROM pulls WHERE {marks})", tuple(fitting))


def _excluded(value: str) -> Condition:
    word = value.casefold()
    if word not in ("yes", "no"):
        raise BadInput(f"“{value}” is not known", where="excluded", wanted="yes or no")
    inside = "IN" if word == "yes" else "NOT IN"
    return Condition(
        f"d.pull_id {inside} (SELECT id FROM pulls WHERE excluded_reason IS NOT NULL)", ()
    )


def _number(term: NumberTerm) -> Condition:
    columns = _NUMBERS[term.field]
    if term.field in _SCORED:
        table, key = "scores", "pull_id"
    else:
        table, key = "pulls", "id"
    parts = [_among(table, key, column, _within(column, term.bounds)) for column in columns]
    sql = " OR ".join(part.sql for part in parts)
    return Condition(f"({sql})", tuple(p for part in parts for p in part.parameters))


def _among(table: str, key: str, column: str, fits: Condition) -> Condition:
    """Documents whose row of `table` fits, cheap whether few fit or most.

    Few are gathered from the column's index once; of many, a page is soon full when each
    document is looked up as it comes.
    """
    some = f"FROM {table} WHERE {column} IS NOT NULL AND {fits.sql}"
    return Condition(
        f"CASE WHEN (SELECT count(*) FROM (SELECT 1 {some} LIMIT {_FEW})) < {_FEW}"
        f" THEN d.pull_id IN (SELECT {key} {some})"
        f" ELSE EXISTS (SELECT 1 {some} AND {key} = d.pull_id) END",
        fits.parameters * 3,
    )


def _date(term: DateTerm) -> Condition:
    low = -(2**63) if term.first is None else term.first * _DOCIDS_A_SECOND
    high = 2**63 - 1 if term.end is None else term.end * _DOCIDS_A_SECOND
    return Condition("d.docid >= ? AND d.docid < ?", (low, high))


def _factor(term: FactorTerm) -> Condition:
    if term.bounds is None:
        return _level_text(term.key, term.value)
    within = _within("number", term.bounds)
    unit: tuple[str, ...] = () if term.unit is None else (term.unit,)
    fits = f"{within.sql}{' AND unit = ?' if unit else ''}"
    parameters: tuple[str | int | float, ...] = (term.key, *within.parameters, *unit)
    if term.value[:1].isdigit() and ".." not in term.value:
        # 4150 may be a number, or stand in a name such as "4150 double pump".
        fits = (
            f"({fits}) OR text = ? COLLATE NOCASE OR (number IS NULL AND text LIKE ? ESCAPE '\\')"
        )
        parameters = (*parameters, term.value, f"%{_like(term.value)}%")
    return Condition(
        f"d.setup_id IN (SELECT setup_id FROM setup_levels WHERE factor_key = ? AND ({fits}))",
        parameters,
    )


def _level_text(key: str, value: str) -> Condition:
    levels = "SELECT setup_id FROM setup_levels WHERE factor_key = ?"
    return Condition(
        f"d.setup_id IN ({levels} AND CASE WHEN EXISTS ({levels} AND text = ? COLLATE NOCASE)"
        " THEN text = ? COLLATE NOCASE ELSE text LIKE ? ESCAPE '\\' END)",
        (key, key, value, value, f"%{_like(value)}%"),
    )


def _within(column: str, bounds: Bounds) -> Condition:
    parts: list[str] = []
    values: list[float] = []
    if bounds.low is not None:
        parts.append(f"{column} {'>=' if bounds.low_counts else '>'} ?")
        values.append(bounds.low)
    if bounds.high is not None:
        parts.append(f"{column} {'<=' if bounds.high_counts else '<'} ?")
        values.append(bounds.high)
    return Condition(" AND ".join(parts), tuple(values))


def _like(text: str) -> str:
    """`text` with LIKE's own signs taken literally."""
    return text.replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
