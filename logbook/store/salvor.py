"""Copying the readable records of a damaged book into a new one, each checked on its way."""

from __future__ import annotations

import json
import sqlite3
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from functools import cached_property

from logbook.records.ids import new_id
from logbook.records.setup import Level, SetUp
from logbook.store.salvage import Row, Wreck
from logbook.store.salvor_sources import outline_again, save_sources
from logbook.store.salvor_traces import Found, save_traces
from logbook.store.tables import BY_NOUN, Table

_BEFORE_SETUPS = (
    "cell", "engine", "fuel", "build", "session", "air reading", "build item", "inspection",
    "clearance", "calibration", "due mark", "attached file",
)  # fmt: skip
_TARGETS = {
    "engine_id": "engine", "build_id": "build", "cell_id": "cell", "session_id": "session",
    "air_id": "air reading", "fuel_id": "fuel", "inspection_id": "inspection",
    "calibration_id": "calibration", "recalibration_id": "calibration",
}  # fmt: skip
_OPTIONAL = frozenset(
    {
        ("air reading", "session_id"), ("pull", "air_id"), ("pull", "fuel_id"),
        ("pull", "calibration_id"), ("pull", "recalibration_id"),
        ("inspection", "build_id"), ("due mark", "build_id"),
    }
)  # fmt: skip
_UNREADABLE = "Stand-in: the damaged book's own record of this could not be read."


@dataclass
class Salvor:
    """One rescue under way: reads the wreck, writes into the new book's open transaction.

    `saved` counts by noun, `lost` has a sentence for everything that is not whole any more.
    """

    wreck: Wreck
    db: sqlite3.Connection
    saved: Counter[str] = field(default_factory=Counter)
    lost: list[str] = field(default_factory=list)
    ids: dict[str, set[str]] = field(default_factory=dict)
    named: dict[str, dict[str, str]] = field(default_factory=dict)
    stand_ins: int = 0
    outlined: dict[str, str] = field(default_factory=dict)

    @cached_property
    def channels(self) -> Found:
        """What can be read of the traces."""
        return Found(self.wreck)

    def everything(self) -> None:
        """Copy table by table, each after those it refers to."""
        changes, gone_changes = self.wreck.rows("audit_changes", "number")
        lines, gone_lines = self.wreck.rows("audit_fields", "rowid")
        said = {row["id"]: str(row["what"]) for row in changes.values()}
        for line in lines.values():
            if line["field"] is None:
                of_type = self.named.setdefault(str(line["record_type"]), {})
                of_type[str(line["record_id"])] = said.get(line["change_id"], "")
        for noun in _BEFORE_SETUPS:
            self._records(BY_NOUN[noun])
        self._setups()
        save_sources(self)
        self._records(BY_NOUN["kind of source file"])
        self._records(BY_NOUN["pull"])
        self._baselines()
        save_traces(self)
        outline_again(self)
        self._trail([row for _, row in sorted(changes.items())], list(lines.values()))
        self._scores()
        self._second_witness()
        if gone_changes or gone_lines:
            gone = len(gone_changes) + len(gone_lines)
            self.lost.append(f"{gone} entries of the audit trail cannot be read")

    def _records(self, table: Table) -> None:
        known = self.ids.setdefault(table.noun, set())
        entered = self.named.get(table.noun, {})
        rows, gone = self.wreck.rows(table.name, "id", entered)
        for row in rows.values():
            if not self.wreck.is_certain(table.name) and str(row["id"]) not in entered:
                continue  # pages of something else
            if table.noun == "session":
                row = {**row, "baseline": "[]"}  # its pulls are not there yet
            self._note_spoiled_text(table.noun, row)
            mended = self._mended(table.noun, row)
            if self.insert(table.name, mended, table.noun):
                known.add(str(row["id"]))
        for one in sorted(gone, key=str):
            what = entered.get(str(one))
            called = f" (“{what}”)" if what else ""
            self.lost.append(f"{table.noun} {one}{called}: cannot be read")
        if table.noun == "build":
            self._parents()

    def _parents(self) -> None:
        """A build whose parent is gone has none."""
        orphans = "parent_id IS NOT NULL AND parent_id NOT IN (SELECT id FROM builds)"
        for (one,) in self.db.execute(f"SELECT id FROM builds WHERE {orphans}").fetchall():
            self.db.execute("UPDATE builds SET parent_id = NULL WHERE id = ?", (one,))
            self.lost.append(f"build {one}: the build it came from is gone")

    def _note_spoiled_text(self, noun: str, row: Row) -> None:
        spoiled = [name for name, value in row.items() if isinstance(value, str) and "�" in value]
        if spoiled:
            self.lost.append(
                f"{noun} {row['id']}: some characters of {', '.join(spoiled)} are damaged"
            )

    def _mended(self, noun: str, row: Row) -> Row:
        """The row with references to what is gone emptied, or led to a stand-in."""
        mended = dict(row)
        for column, target in _TARGETS.items():
            value = row.get(column)
            if value is None or str(value) in self.ids.setdefault(target, set()):
                continue
            if (noun, column) in _OPTIONAL:
                mended[column] = None
                self.lost.append(f"{noun} {row['id']}: its {target} {value} is gone")
            else:
                self._stand_in(target, str(value), row)
        if noun == "pull":
            if row["setup_id"] not in self.ids["set-up"]:
                self._write_setup(str(row["setup_id"]), SetUp({}), spoiled=True)
            if row["source_id"] is not None and row["source_id"] not in self.ids["source file"]:
                mended["source_id"] = None
                self.lost.append(f"pull {row['id']}: its source file {row['source_id']} is gone")
        return mended

    def _stand_in(self, noun: str, record_id: str, needed_by: Row) -> None:
        """A record under the lost one's id that says that it is none."""
        name = f"LOST-{record_id[-6:]}"
        at = (
            needed_by.get("at")
            or needed_by.get("opened_at")
            or needed_by.get("attached_at")
            or "1970-01-01T00:00:00Z"
        )
        values: Row
        match noun:
            case "engine":
                values = {"tag": name, "strokes": 4, "ignition": "spark", "aspiration": "natural"}
            case "cell":
                values = {
                    "name": name, "standard": "none", "units": "us",
                    "air_stale_after_min": 15.0, "worth_having_percent": 0.5,
                }  # fmt: skip
            case "build":
                values = {"engine_id": self._engine_of(needed_by), "label": name}
            case "inspection":
                values = {
                    "engine_id": self._engine_of(needed_by),
                    "inspected_on": at[:10], "kind": name,
                }  # fmt: skip
            case _:
                owners = {name: new_id() for name in ("engine_id", "build_id", "cell_id")}
                for column, owner in owners.items():
                    self._stand_in(_TARGETS[column], owner, owners)
                values = {
                    **owners, "opened_at": at, "closed_at": at, "status": "closed",
                    "standard": "none", "power_source": "recorded", "power_rating": "gross",
                    "worth_having_percent": 0.5,
                }  # fmt: skip
        row = {"id": record_id, **values, "notes": _UNREADABLE}
        if self.insert(BY_NOUN[noun].name, row, noun, count=False):
            self.ids[noun].add(record_id)
            self.stand_ins += 1
            self.lost.append(f"{noun} {record_id}: gone; the stand-in {name} holds what it held")

    def _engine_of(self, needed_by: Row) -> str:
        """The engine that a record names, or the stand-in of one where it names none."""
        engine_id = str(needed_by.get("engine_id") or new_id())
        if engine_id not in self.ids.setdefault("engine", set()):
            self._stand_in("engine", engine_id, needed_by)
        return engine_id

    def insert(self, table: str, row: Row, noun: str, *, count: bool = True) -> bool:
        """Write one row; one that the new book does not take is lost, and named."""
        marks = ", ".join("?" * len(row))
        try:
            self.db.execute(
                f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", list(row.values())
            )
        except (sqlite3.IntegrityError, sqlite3.OperationalError) as error:
            said = str(error).partition(" constraint failed: ")[2] or str(error)
            which = row.get("id") or row.get("pull_id") or ""
            self.lost.append(f"{noun} {which}: damaged ({said})")
            return False
        if count:
            self.saved[noun] += 1
        return True

    def _setups(self) -> None:
        self.ids["set-up"] = set()
        rows, gone = self.wreck.rows("setups", "id")
        levels = self.wreck.levels([str(one) for one in rows])
        for setup_id, row in rows.items():
            written = {
                str(level["factor"]): Level(str(level["text"]), level["number"], level["unit"])
                for level in levels[setup_id]
            }
            set_up = SetUp(written)
            self._write_setup(
                str(setup_id), set_up, spoiled=set_up.fingerprint != row["fingerprint"]
            )
        for one in sorted(gone, key=str):
            self._write_setup(str(one), SetUp({}), spoiled=True)

    def _write_setup(self, setup_id: str, set_up: SetUp, *, spoiled: bool) -> None:
        if spoiled:
            # Its own mark keeps it from counting as the same as any other set-up.
            mark = {"set-up damaged": Level(setup_id)}
            set_up = SetUp({**set_up.levels, **mark})
            self.lost.append(f"set-up {setup_id}: not all of its factors can be read")
        row = {"id": setup_id, "fingerprint": set_up.fingerprint}
        if not self.insert("setups", row, "set-up", count=not spoiled):
            return
        self.ids["set-up"].add(setup_id)
        for position, (key, (name, level)) in enumerate(set_up.keyed().items()):
            self.insert(
                "setup_levels",
                {"setup_id": setup_id, "position": position, "factor": name, "factor_key": key,
                 "text": level.text, "number": level.number, "unit": level.unit},
                f"factor {name} of set-up {setup_id}",
                count=False,
            )  # fmt: skip

    def _baselines(self) -> None:
        rows, _ = self.wreck.rows("sessions", "id")
        for row in rows.values():
            try:
                wanted = [str(one) for one in json.loads(row["baseline"])]
            except (ValueError, TypeError):
                wanted = []
                self.lost.append(f"session {row['id']}: its baseline cannot be read")
            held = [one for one in wanted if one in self.ids["pull"]]
            if len(held) < len(wanted):
                self.lost.append(f"session {row['id']}: a pull of its baseline is gone")
            if held and row["id"] in self.ids["session"]:
                self.db.execute(
                    "UPDATE sessions SET baseline = ? WHERE id = ?", (json.dumps(held), row["id"])
                )

    def _scores(self) -> None:
        """The old figures, to be compared with what is computed from the records saved."""
        rows, _ = self.wreck.rows("scores", "pull_id")
        for pull_id, row in rows.items():
            if pull_id in self.ids["pull"]:
                marks = ", ".join("?" * len(row))
                with suppress(sqlite3.Error):  # what is spoiled is computed anew anyway
                    self.db.execute(
                        f"INSERT INTO scores ({', '.join(row)}) VALUES ({marks})",
                        list(row.values()),
                    )

    def _second_witness(self) -> None:
        """The old search index knew every pull's time and words: do they still agree?"""
        if self.stand_ins:
            return  # then they cannot, and why is said already
        now = {
            pull_id: (second, text)
            for pull_id, second, text in self.db.execute(
                "SELECT pull_id, docid / 1000000, text FROM search_documents"
            )
        }
        for pull_id, *words in self.wreck.peek(
            "SELECT pull_id, docid / 1000000, text FROM search_documents ORDER BY docid"
        ):
            if pull_id in now and now[pull_id] != tuple(words):
                self.lost.append(
                    f"pull {pull_id}: its time or words are not those the search index held;"
                    " one of the two is damaged"
                )

    def _trail(self, changes: list[Row], lines: list[Row]) -> None:
        known: set[str] = set()
        for row in changes:
            undoes = row["undoes"] if row["undoes"] in known else None
            if self.insert("audit_changes", {**row, "undoes": undoes}, "change"):
                known.add(str(row["id"]))
        for line in sorted(lines, key=lambda line: int(line["number"])):
            if line["change_id"] in known:
                self.insert("audit_fields", line, "line of the audit trail")
