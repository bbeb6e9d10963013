"""Finding pulls, newest first, with the index that triggers keep.

A document's number is made of its pull's time, so the newest hits come first out of the index
and the query stops after a page. Everything typed reaches SQL as a parameter.
"""

from __future__ import annotations

from collections.abc import Iterator
from difflib import get_close_matches

from logbook.records.lists import FoundPull
from logbook.refusals import BadInput
from logbook.store.query import FIELDS, FactorTerm, Query, TextTerm, Words
from logbook.store.reader import Reader
from logbook.store.search_terms import Condition, condition

PAGE = 200

# Documents that are rather gathered than met one by one, without words and with them.
_FEW, _FEW_OF_WORDS = 2500, 10_000

_HITS = """
WITH found(docid) AS MATERIALIZED ({found})
SELECT p.id, p.session_id, e.tag, b.label, p.at, p.number,
  (SELECT number FROM setup_levels WHERE setup_id = p.setup_id AND factor_key = 'timing'),
  coalesce(f.name, (SELECT text FROM setup_levels
    WHERE setup_id = p.setup_id AND factor_key = 'fuel'), ''),
  c.power_kw, c.corrected_band_power_kw IS NOT NULL, coalesce(c.standard, s.standard),
  p.excluded_reason IS NOT NULL, p.notes
FROM found
JOIN search_documents d ON d.docid = found.docid
JOIN pulls p ON p.id = d.pull_id
JOIN sessions s ON s.id = p.session_id
JOIN engines e ON e.id = s.engine_id
JOIN builds b ON b.id = s.build_id
LEFT JOIN fuels f ON f.id = p.fuel_id
LEFT JOIN scores c ON c.pull_id = p.id
ORDER BY d.docid DESC
"""


def find(read: Reader, query: Query, *, limit: int = PAGE, offset: int = 0) -> list[FoundPull]:
    """The pulls that fit `query`, newest first, a page of them.

    Raises `BadInput` for a field that is neither built in nor a factor of any set-up.
    """
    _check_factors(read, query)
    matching = _matching(read, query)
    sql = _HITS.format(found=f"{matching.sql} ORDER BY docid DESC LIMIT ? OFFSET ?")
    rows = read.rows(sql, (*matching.parameters, limit, offset))
    found = (FoundPull(*row) for row in rows)
    return [
        one._replace(power_is_band=bool(one.power_is_band), excluded=bool(one.excluded))
        for one in found
    ]  # SQLite has no truth values


def count(read: Reader, query: Query) -> int:
    """How many pulls fit `query`; refusals as in `find`."""
    _check_factors(read, query)
    matching = _matching(read, query)
    sql = f"SELECT count(*) FROM ({matching.sql})"
    return int(next(read.rows(sql, matching.parameters))[0])


def _matching(read: Reader, query: Query) -> Condition:
    """A query for the `docid` of every document that fits."""
    match = _match(query)
    conditions = list(_conditions(query))
    few = _fewest(read, conditions, _FEW_OF_WORDS if match else _FEW)
    if few is not None and few.gathered is not None:
        conditions.remove(few)
        documents = f"SELECT d.docid FROM search_documents d WHERE {few.gathered.sql}"
        # The plus keeps SQLite from asking the word index once for each of them.
        among = f"{'+x.rowid' if match else 'd.docid'} IN ({documents})"
        conditions.insert(0, Condition(among, few.gathered.parameters))
    if match is not None:
        # The word index leads: it hands out its rows newest first, without a sort.
        source = "SELECT x.rowid AS docid FROM search_index x"
        if len(conditions) > (few is not None):
            source += " CROSS JOIN search_documents d ON d.docid = x.rowid"
        conditions.insert(0, Condition("search_index MATCH ?", (match,)))
    else:
        source = "SELECT d.docid AS docid FROM search_documents d"
    where = " AND ".join(one.sql for one in conditions) or "true"
    return Condition(
        f"{source} WHERE {where}", tuple(p for one in conditions for p in one.parameters)
    )


def _fewest(read: Reader, conditions: list[Condition], limit: int) -> Condition | None:
    """The condition that the fewest documents fit, fewer than `limit`: they are gathered first.
    Where many fit, a page is soon full when each document is looked at as it comes."""
    fewest, found = limit, None
    for one in conditions:
        if one.each is None:
            continue
        sql = f"SELECT count(*) FROM ({one.each.sql} LIMIT {fewest})"
        number = int(next(read.rows(sql, one.each.parameters))[0])
        if number < fewest:
            fewest, found = number, one
    return found


def _conditions(query: Query) -> Iterator[Condition]:
    wanted = _match(query) is not None
    for term in query.terms:
        if not isinstance(term, Words):
            yield condition(term)
        elif term.negated and not wanted:
            yield Condition(
                "d.docid NOT IN (SELECT rowid FROM search_index WHERE search_index MATCH ?)",
                (_phrase(term),),
            )


def _match(query: Query) -> str | None:
    """What the word index is asked; ``None`` where no word is wanted."""
    words = [term for term in query.terms if isinstance(term, Words)]
    # A note's words stand in the index too: asked there first, few notes need to be read.
    notes = [
        Words(term.value, phrase=False, negated=False)
        for term in query.terms
        if isinstance(term, TextTerm) and term.field == "note" and not term.negated
    ]
    wanted = [_phrase(term) for term in (*words, *notes) if not term.negated]
    if not wanted:
        return None
    unwanted = [_phrase(term) for term in words if term.negated]
    match = "(" + " AND ".join(wanted) + ")"
    return f"{match} NOT ({' OR '.join(unwanted)})" if unwanted else match


def _phrase(term: Words) -> str:
    # Within quotes nothing is syntax but the quote itself, which is doubled.
    quoted = '"' + term.text.replace('"', '""') + '"'
    return quoted if term.phrase else quoted + " *"


def _check_factors(read: Reader, query: Query) -> None:
    for term in query.terms:
        if isinstance(term, FactorTerm):
            known = next(
                read.rows("SELECT 1 FROM setup_levels WHERE factor_key = ? LIMIT 1", (term.key,)),
                None,
            )
            if known is None and term.key != "timing":
                raise _unknown(read, term)


def _unknown(read: Reader, term: FactorTerm) -> BadInput:
    factors = [str(row[0]) for row in read.rows("SELECT DISTINCT factor_key FROM setup_levels")]
    names = sorted({*FIELDS, *factors})
    close = get_close_matches(term.key, names, n=3, cutoff=0.6)
    return BadInput(
        f"“{term.name}” is neither a field nor a factor of any set-up",
        where="Search",
        wanted=f"perhaps {', '.join(close)}" if close else f"one of {', '.join(FIELDS)}",
    )
