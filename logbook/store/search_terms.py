"""Each term of a query as a condition on `search_documents d`, its values as parameters."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from logbook.records.setup import TIMING
from logbook.refusals import BadInput
from logbook.store.query import DateTerm, FactorTerm, NumberTerm, TextTerm
from logbook.store.query_numbers import Bounds

_DOCIDS_A_SECOND = 1_000_000

# A level's figure as it was typed, 1.75 of "1.75 in": what a number without a unit is held
# against. A comma before three digits groups them, any other is a decimal comma.
_FIGURE = (
    "CAST(CASE WHEN text GLOB '*[0-9],[0-9][0-9][0-9]*' THEN replace(text, ',', '')"
    " ELSE replace(text, ',', '.') END AS REAL)"
)


@dataclass(frozen=True, slots=True)
class Condition:
    """A condition in SQL with a ``?`` for each parameter, put to documents as they come.

    `gathered` is the same put so that an index finds what fits, and `each` a query that has a row
    for every document that does, or more: cheap to count up to a limit.
    """

    sql: str
    parameters: tuple[str | int | float, ...]
    gathered: Condition | None = None
    each: Condition | None = None

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
        found = _counted(_factor(term))
    return found.negated() if term.negated else found


def _counted(found: Condition) -> Condition:
    """A condition on documents that an index serves as it stands."""
    each = f"SELECT 1 FROM search_documents d WHERE {found.sql}"
    return Condition(found.sql, found.parameters, found, Condition(each, found.parameters))


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
            return _counted(Condition(_OF_SESSION.format(ids=ids), (begins, begins)))
        case "note":
            contains = f"%{_like(term.value)}%"
            fits = "notes LIKE ? ESCAPE '\\' OR observations LIKE ? ESCAPE '\\'"
            sql = f"EXISTS (SELECT 1 FROM pulls WHERE id = d.pull_id AND ({fits}))"
            return Condition(sql, (contains, contains))
        case "fuel":
            return _fuel(term.value)
        case _:
            return _counted(_named(_TEXT[term.field], term.value))


def _fuel(value: str) -> Condition:
    """Named by the pull's record of a fuel, or only by its set-up."""
    ids, parameters = _ids("fuels", ("name", "batch"), value)
    by_record = f"FROM pulls WHERE fuel_id IN ({ids})"
    by_setup = _level_text("fuel", value)
    both = (*parameters, *by_setup.parameters)
    return Condition(
        f"(EXISTS (SELECT 1 {by_record} AND id = d.pull_id) OR {by_setup.sql})",
        both,
        Condition(f"(d.pull_id IN (SELECT id {by_record}) OR {by_setup.sql})", both),
        Condition(
            f"SELECT 1 {by_record} UNION ALL SELECT 1 FROM search_documents d WHERE {by_setup.sql}",
            both,
        ),
    )


def _named(text: _Text, value: str) -> Condition:
    ids, parameters = _ids(text.table, text.columns, value)
    return Condition(text.within.format(ids=ids), parameters)


def _ids(table: str, columns: tuple[str, ...], value: str) -> tuple[str, tuple[str, ...]]:
    """Rows of this very name; where there is none, those whose name contains it."""
    equal = " OR ".join(f"{column} = ? COLLATE NOCASE" for column in columns)
    like = " OR ".join(f"{column} LIKE ? ESCAPE '\\'" for column in columns)
    sql = (
        f"SELECT id FROM {table} WHERE CASE WHEN EXISTS"
        f" (SELECT 1 FROM {table} WHERE {equal}) THEN {equal} ELSE {like} END"
    )
    many = len(columns)
    return sql, (*(value,) * (2 * many), *(f"%{_like(value)}%",) * many)


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
    return _of_pulls([f"{column} = '{choice}'" for choice in fitting], ())


def _excluded(value: str) -> Condition:
    word = value.casefold()
    if word not in ("yes", "no"):
        raise BadInput(f"“{value}” is not known", where="excluded", wanted="yes or no")
    return _of_pulls([f"excluded_reason IS {'NOT ' if word == 'yes' else ''}NULL"], ())


def _number(term: NumberTerm) -> Condition:
    within = [(column, _within(column, term.bounds)) for column in _NUMBERS[term.field]]
    return _of_pulls(
        [f"{column} IS NOT NULL AND {fits.sql}" for column, fits in within],
        tuple(value for _, fits in within for value in fits.parameters),
        *(("scores", "pull_id") if term.field in _SCORED else ("pulls", "id")),
    )


def _of_pulls(
    fits: Sequence[str],
    parameters: tuple[str | int | float, ...],
    table: str = "pulls",
    key: str = "id",
) -> Condition:
    """Documents whose row of `table` fits any of these, each a condition with an index."""
    some = [f"FROM {table} WHERE {one}" for one in fits]
    as_it_comes = " OR ".join(f"EXISTS (SELECT 1 {one} AND {key} = d.pull_id)" for one in some)
    gathered = " OR ".join(f"d.pull_id IN (SELECT {key} {one})" for one in some)
    each = " UNION ALL ".join(f"SELECT 1 {one}" for one in some)
    return Condition(
        f"({as_it_comes})",
        parameters,
        Condition(f"({gathered})", parameters),
        Condition(each, parameters),
    )


def _date(term: DateTerm) -> Condition:
    low = -(2**63) if term.first is None else term.first * _DOCIDS_A_SECOND
    high = 2**63 - 1 if term.end is None else term.end * _DOCIDS_A_SECOND
    return _counted(Condition("d.docid >= ? AND d.docid < ?", (low, high)))


def _factor(term: FactorTerm) -> Condition:
    if term.bounds is None:
        return _level_text(term.key, term.value)
    bare = term.unit is None and term.key != TIMING
    figure = f"CASE WHEN unit IS NULL THEN number ELSE {_FIGURE} END" if bare else "number"
    within = _within(figure, term.bounds)
    unit: tuple[str, ...] = () if term.unit is None else (term.unit,)
    fits = f"number IS NOT NULL AND {within.sql}{' AND unit = ?' if unit else ''}"
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
