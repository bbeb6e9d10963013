"""``logbook backup``, ``verify`` and ``rescue``: keeping the book safe."""

from __future__ import annotations

from pathlib import Path

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.cli.trouble import FAILED


@click.command(cls=BookCommand)
@click.argument("path", metavar="FILE", type=click.Path(path_type=Path, dir_okay=False))
@pass_door
def backup(door: Door, path: Path) -> None:
    """Write a checked copy of the book, also while it is in use.

    \b
    Examples:
      logbook backup /media/stick/logbook-2026-03-14.db
    """
    from logbook.cases import safety

    with door.desk() as desk:
        written = safety.backup(desk, path)
    if door.json:
        door.put({"backup": str(written)})
    else:
        door.words(f"Backup written and checked: {written}.")


@click.command(cls=BookCommand)
@click.option("--refresh", is_flag=True, help="First compute the stored figures that are missing.")
@click.pass_context
def verify(ctx: click.Context, refresh: bool) -> None:
    """Check the whole book; of a damaged one, what can be saved.

    Its pages, references, search index, kept files and stored figures. Exit code 0 when it is
    whole, 1 when something was found.

    \b
    Examples:
      logbook verify
      logbook verify --refresh
    """
    from logbook.cases import safety
    from logbook.store.trouble import Damaged

    door = ctx.ensure_object(Door)
    try:
        with door.desk() as desk:
            if refresh and (computed := safety.refresh_scores(desk)):
                door.words(f"Figures computed anew: {computed}.")
            problems = safety.verify(desk)
    except Damaged as damaged:
        problems = [damaged.sentence]
    advice = safety.what_can_be_saved(door.book_path) if problems else []
    if door.json:
        door.put({"whole": not problems, "problems": problems, "advice": advice})
    else:
        for problem in problems:
            door.data(problem)
        door.words("Something was found." if problems else "The book is whole.")
        for sentence in advice:
            door.words(sentence)
    if problems:
        ctx.exit(FAILED)


@click.command(cls=BookCommand)
@click.argument("damaged", metavar="DAMAGED.db", type=click.Path(path_type=Path))
@click.argument("new", metavar="NEW.db", type=click.Path(path_type=Path))
@pass_door
def rescue(door: Door, damaged: Path, new: Path) -> None:
    """Copy everything readable of a damaged book into a new one.

    The damaged file is only read; keep it. What is lost is listed, and stands in the new book's
    history. Records that others belong to and that cannot be read are replaced by a stand-in
    named LOST-…, so that no readable pull is left behind.

    \b
    Examples:
      logbook rescue damaged.db rescued.db
    """
    from logbook.cases import safety

    rescued = safety.rescue(damaged, new, who=door.settings.who)
    if door.json:
        door.put({"book": str(rescued.path), "saved": dict(rescued.saved),
                  "lost": list(rescued.lost)})  # fmt: skip
        return
    for noun, count in rescued.saved.items():
        door.data(f"saved: {count} {noun}")
    for sentence in rescued.lost:
        door.data(f"lost: {sentence}")
    door.words(f"Written: {rescued.path}. {'Not all of it was whole.' if rescued.lost else ''}")
