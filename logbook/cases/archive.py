"""The whole book as an archive of open formats, and a book made of one."""

from __future__ import annotations

from importlib.metadata import version
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.cases.desk import Desk, open_desk
from logbook.cases.safety import refresh_scores
from logbook.store import archive_formats

if TYPE_CHECKING:
    from logbook.store.archive_in import Imported
    from logbook.store.archive_out import Archived

FORMS = archive_formats.FORMS


def write_archive(desk: Desk, target: Path, form: str) -> Archived:
    """Write the whole book to the folder or ``.zip`` file `target`, its tables as `form`."""
    from logbook.store.archive_out import write_archive as write

    made = {
        "made_at": desk.timestamp(),
        "made_by": desk.who,
        "made_with": f"dyno-cell logbook {version('dyno-cell-logbook')}",
        "book": desk.book.path.name,
    }
    return write(desk.book, target, form, made=made)


def import_archive(source: Path, new: Path, *, who: str) -> Imported:
    """Make the new book `new` of an archive, with its figures computed."""
    from logbook.store.archive_in import read_archive

    done = read_archive(source, new)
    desk = open_desk(new, create=False, who=who)
    try:
        refresh_scores(desk)
    finally:
        desk.close()
    return done
