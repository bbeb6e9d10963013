"""Copying the source files of a damaged book: each against its hash."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook.store import sources

if TYPE_CHECKING:
    from logbook.store.salvor_traces import Saving


def save_sources(salvor: Saving) -> None:
    """Files go over whole, whether or not the trace will that one is outlined over."""
    known = salvor.ids["source file"] = set()
    rows, gone = salvor.wreck.rows("sources", "id")
    outlined = any(row.get("trace_pull_id") for row in rows.values())
    channels = salvor.channels.by_pull() if outlined else {}
    for row in rows.values():
        kept = sources.Kept.of(row)
        over = channels.get(str(kept.trace_pull_id), [])
        try:
            sources.check(kept, over)
            if kept.trace_pull_id is not None:
                whole = sources.content_of(kept, over)
                row |= {"content_zlib": sources.copy_of(whole), "trace_pull_id": None}
        except (ValueError, TypeError) as error:
            trace = f" ({error})" if kept.trace_pull_id is not None else ""
            salvor.lost.append(f"source file {kept.name}, {kept.id}: its bytes are damaged{trace}")
            continue
        if salvor.insert("sources", row, "source file"):
            known.add(str(row["id"]))
            if kept.trace_pull_id is not None:
                salvor.outlined[str(row["id"])] = kept.trace_pull_id
    for one in sorted(gone, key=str):
        salvor.lost.append(f"source file {one}: cannot be read")


def outline_again(salvor: Saving) -> None:
    """What was outlined is so again where its trace is saved."""
    for source_id, pull_id in salvor.outlined.items():
        sources.outline_again(salvor.db, source_id, pull_id)
