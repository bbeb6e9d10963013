"""Merging books in tests, and everything a book holds as one comparable value."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable, Mapping
from contextlib import closing
from pathlib import Path
from typing import Any

from logbook.store.book import Book
from logbook.store.merging import Plan, plan
from logbook.store.other_book import looked_into
from logbook.store.two_books import Answers, Clash

Policy = Callable[[Clash], str]


def merge(here: Book, there: Path, answers: Mapping[str, str] | None = None) -> Plan:
    """Merge as the use-case does, without its backup; a plan with open clashes is not made."""
    with looked_into(there, beside=here.path) as other, here.changing(who="x", what="m") as change:
        planned = plan(change, other, Answers(answers or {}))
        if not planned.both.open and not planned.nothing_new:
            change.merge(planned, book=str(there), backup="kept.db")
    return planned


def merge_deciding(here: Book, there: Path, policy: Policy) -> Plan:
    """Merge, and answer whatever is asked, until nothing is."""
    answers: dict[str, str] = {}
    while True:
        planned = merge(here, there, answers)
        if not planned.both.open:
            return planned
        answers |= {clash.code: policy(clash) for clash in planned.both.open}


def either_way(clash: Clash) -> str:
    """An answer that does not depend on which book is merged into which."""
    if "here" in clash.answers:
        return "here" if clash.here <= clash.there else "there"
    return clash.answers[0]


def held(path: Path) -> dict[str, Any]:
    """Everything a book holds, whatever ids its files have and whatever merges made it.

    Left out are what tells of merges themselves, and the numbers that only order rows.
    """
    with closing(sqlite3.connect(path)) as db:
        db.row_factory = sqlite3.Row
        rows = {
            name: [dict(row) for row in db.execute(f"SELECT * FROM {name}")]
            for name in (
                "cells", "engines", "builds", "fuels", "sessions", "airs", "pulls", "setups",
                "setup_levels", "source_kinds", "traces", "channels", "scores",
                "session_totals", "baseline_pulls", "search_documents", "sources",
                "audit_changes", "audit_fields", "build_items", "inspections", "clearances",
                "calibrations", "due_marks", "attachments",
            )
        }  # fmt: skip
    files = {row["id"]: row["sha256"] for row in rows.pop("sources")}
    of_merge = {
        row["id"]
        for row in rows["audit_changes"]
        if row["what"] == "Decided in a merge" or row["id"] in _notes(rows["audit_fields"])
    }
    for row in rows["pulls"]:
        row["source_id"] = files.get(row["source_id"])
    rows["audit_changes"] = [row for row in rows["audit_changes"] if row["id"] not in of_merge]
    rows["audit_fields"] = [row for row in rows["audit_fields"] if row["change_id"] not in of_merge]
    for name, without in {
        "audit_changes": "number", "audit_fields": "number", "search_documents": "docid",
    }.items():  # fmt: skip
        for row in rows[name]:
            del row[without]
    for name in ("cells", "engines", "fuels", "airs", "pulls"):
        for row in rows[name]:
            row["typed"] = json.loads(row["typed"])
    dump: dict[str, Any] = {
        name: sorted(json.dumps(row, sort_keys=True) for row in table)
        for name, table in rows.items()
    }
    dump["sources"] = sorted(files.values())
    return dump


def _notes(lines: list[dict[str, Any]]) -> set[str]:
    return {line["change_id"] for line in lines if line["record_type"] in ("merge", "rescue")}
