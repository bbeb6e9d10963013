"""``logbook archive`` and ``import``: the whole book as open formats, and back."""

from __future__ import annotations

from pathlib import Path

import click

from logbook.cli.door import BookCommand, Door, pass_door

_FORMS = ("csv", "jsonl", "parquet")


@click.command(cls=BookCommand)
@click.argument("target", metavar="FOLDER", type=click.Path(path_type=Path))
@click.option("--format", "form", type=click.Choice(_FORMS), default=_FORMS[0], show_default=True,
              help="What the tables are written as.")  # fmt: skip
@pass_door
def archive(door: Door, target: Path, form: str) -> None:
    """Write the whole book to a folder, in open formats.

    Every record, every trace as its source printed it, every source and attached file byte for
    byte, the audit trail and a data dictionary. A name that ends in .zip makes one file of it.
    `logbook import` makes an equal book of it.

    \b
    Examples:
      logbook archive shop-2026
      logbook archive shop-2026.zip --format jsonl
    """
    from logbook.cases.archive import write_archive

    with door.desk() as desk:
        done = write_archive(desk, target, form)
    if door.json:
        door.put({"archive": str(done.path), "rows": done.rows, "traces": done.traces,
                  "files": done.files, "missing_attached": list(done.missing)})  # fmt: skip
        return
    for table, count in done.rows.items():
        door.data(f"{table}: {count}")
    door.words(f"Written: {done.path}, {done.traces} traces and {done.files} files.")
    for sha256 in done.missing:
        door.words(f"Caution: an attached file is not where it was kept: {sha256}.")


@click.command("import", cls=BookCommand)
@click.argument("source", metavar="FOLDER", type=click.Path(path_type=Path))
@click.argument("new", metavar="[NEW.db]", required=False,
                type=click.Path(path_type=Path, dir_okay=False))  # fmt: skip
@pass_door
def import_(door: Door, source: Path, new: Path | None) -> None:
    """A new book of an archive, equal to the one it came from.

    FOLDER may be a ZIP file. Every file is held against the archive's manifest first; a file that
    was changed since is refused. NEW.db must not exist; without it the book is made where the
    settings or --db say.

    \b
    Examples:
      logbook import shop-2026 shop-copy.db
      logbook import shop-2026.zip --db shop-copy.db
    """
    from logbook.cases.archive import import_archive

    done = import_archive(source, new or door.book_path, who=door.settings.who)
    if door.json:
        door.put({"book": str(done.path), "rows": done.rows})
        return
    for table, count in done.rows.items():
        door.data(f"{table}: {count}")
    door.words(f"Written: {done.path}.")
