"""Copying the traces of a damaged book: each channel against its checksum."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from typing import Protocol

from logbook.store import codec
from logbook.store.codec import MOST_DECIMALS
from logbook.store.printing import StoredChannel
from logbook.store.salvage import Row, Wreck


def save_traces(salvor: Saving) -> None:
    bounds, _ = salvor.wreck.rows("traces", "pull_id")
    channels: dict[str, list[Row]] = {}
    for row in _channels(salvor):
        channels.setdefault(str(row["pull_id"]), []).append(row)
    for pull_id, found in channels.items():
        if pull_id not in salvor.ids["pull"]:
            salvor.lost.append(f"the trace of pull {pull_id}: the pull itself is gone")
            continue
        sound = [row for row in found if _sound(salvor, row)]
        if sound:
            _trace(salvor, pull_id, bounds.pop(pull_id, None), sound)
    for pull_id in bounds.keys() & salvor.ids["pull"]:
        salvor.lost.append(f"the trace of pull {pull_id}: no channel of it is whole")
    number_samples(salvor.db)


def number_samples(db: sqlite3.Connection) -> None:
    """Number the samples of a new book's longest trace."""
    longest = db.execute("SELECT coalesce(max(samples), 0) FROM traces").fetchone()[0]
    db.execute(
        "INSERT INTO sample_numbers WITH RECURSIVE n(k) AS"
        " (SELECT 0 UNION ALL SELECT k + 1 FROM n WHERE k + 1 < ?) SELECT k FROM n",
        (longest,),
    )


class Found:
    """The channels that can be read of a damaged book.

    `rows` by rowid, `gone` are rowids that cannot be read; `named` says a second time, by the
    index, which channel of which pull a row is.
    """

    def __init__(self, wreck: Wreck) -> None:
        self.rows, self.gone = wreck.rows("channels", "rowid")
        self.named: dict[int, tuple[str, int]] = {
            rowid: (pull_id, position)
            for rowid, pull_id, position in wreck.peek(
                "SELECT rowid, pull_id, position FROM channels ORDER BY pull_id, position"
            )
        }

    def by_pull(self) -> dict[str, list[StoredChannel]]:
        """Pull → the channels of its trace in their order, sound or not."""
        found: dict[str, list[tuple[int, StoredChannel]]] = {}
        for rowid, row in self.rows.items():
            if not _as_columns_are(row):
                continue
            stored = codec.Stored(row["base"], row["width"], row["digits"], row["listed"])
            for pull_id in {str(row["pull_id"]), self.named.get(rowid, (row["pull_id"],))[0]}:
                channel = (row["position"], (stored, row["decimals"]))
                found.setdefault(pull_id, []).append(channel)
        return {
            pull_id: [channel for _, channel in sorted(channels, key=lambda one: one[0])]
            for pull_id, channels in found.items()
        }


class Saving(Protocol):
    """The rescue under way: what is asked of it for traces and files. See `Salvor`."""

    wreck: Wreck
    db: sqlite3.Connection
    lost: list[str]
    ids: dict[str, set[str]]
    outlined: dict[str, str]

    @property
    def channels(self) -> Found:
        """What can be read of the traces."""

    def insert(self, table: str, row: Row, noun: str) -> bool:
        """Write a row; false, and said, where the new book does not take it."""


def _as_columns_are(row: Row) -> bool:
    """Whether the values are of the kinds that they were stored as."""
    whole = all(isinstance(row[name], int) for name in ("position", "decimals", "samples"))
    return whole and isinstance(row["listed"] if row["digits"] is None else row["digits"], str)


def _channels(salvor: Saving) -> Iterable[Row]:
    """Every channel that can be read; which pull it is of, an index says a second time."""
    rows, gone = salvor.channels.rows, set(salvor.channels.gone)
    for rowid, (pull_id, position) in salvor.channels.named.items():
        if rowid in gone:
            gone.discard(rowid)
            salvor.lost.append(f"channel {position} of pull {pull_id}: cannot be read")
        elif rowid in rows and rows[rowid]["pull_id"] not in salvor.ids["pull"]:
            rows[rowid]["pull_id"] = pull_id
    if gone:
        salvor.lost.append(f"channels of traces that cannot be read: {len(gone)}")
    return rows.values()


def _trace(salvor: Saving, pull_id: str, bounds: Row | None, channels: list[Row]) -> None:
    samples = int(channels[0]["samples"])
    if bounds is None or bounds["samples"] != samples or not _bounded(bounds):
        salvor.lost.append(f"the trace of pull {pull_id}: which samples count is gone")
        bounds = {
            "pull_id": pull_id, "samples": samples,
            "first_sample": 0, "last_sample": samples - 1,
        }  # fmt: skip
    if salvor.insert("traces", bounds, "trace"):
        for row in channels:
            if row["samples"] == samples:
                salvor.insert("channels", row, "channel")


def _sound(salvor: Saving, row: Row) -> bool:
    try:
        stored = codec.Stored(row["base"], row["width"], row["digits"], row["listed"])
        plain = _as_columns_are(row) and 0 <= row["decimals"] <= MOST_DECIMALS
        if plain and stored.crc32 == row["crc32"] and len(codec.decode(stored, row["decimals"])):
            return True
    except (ValueError, TypeError):
        pass  # said below, like a wrong checksum
    salvor.lost.append(f"channel {row['name']} of pull {row['pull_id']}: damaged")
    return False


def _bounded(trace: Row) -> bool:
    """Whether the samples that count lie within the trace."""
    first, last = trace["first_sample"], trace["last_sample"]
    return (
        isinstance(first, int) and isinstance(last, int) and 0 <= first <= last < trace["samples"]
    )
