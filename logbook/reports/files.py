"""Files that leave the logbook: each appears whole or not at all."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TextIO

from logbook import underway
from logbook.refusals import BookTrouble

_LONGEST = 60
_NOT_IN_NAMES = re.compile(r"[^\w.-]+")


@contextmanager
def whole_path(path: Path) -> Iterator[Path]:
    """A path beside `path` to write to; the file is put in its place when all is in it.

    Raises `BookTrouble` where it cannot be written.
    """
    beside = path.with_name(f"{path.name}.part")
    try:
        yield beside
        underway.seal()
        beside.replace(path)
    except OSError as error:
        raise BookTrouble(
            f"the file cannot be written ({error.strerror or error})",
            where=str(path),
            wanted="a folder with room that you may write in",
        ) from error
    finally:
        beside.unlink(missing_ok=True)


@contextmanager
def whole_file(path: Path) -> Iterator[TextIO]:
    """A text file (UTF-8, line ends as written) that appears whole or not at all.

    Raises `BookTrouble` where it cannot be written.
    """
    with (
        whole_path(path) as beside,
        beside.open("w", encoding="utf-8", newline="", errors="backslashreplace") as out,
    ):
        yield out


def reports_folder(book: Path) -> Path:
    """Where reports made in the app are kept: ``BOOK-reports`` beside the book; made if needed."""
    folder = book.with_name(f"{book.stem}-reports")
    try:
        folder.mkdir(exist_ok=True)
    except OSError as error:
        raise BookTrouble(
            f"the folder cannot be made ({error.strerror})",
            where=str(folder),
            wanted="a book in a folder that you may write in",
        ) from error
    return folder


def file_name(*parts: str, suffix: str) -> str:
    """A file's name of people's words, without what a file system could stumble over."""
    words = (_NOT_IN_NAMES.sub("-", part).strip("-.")[:_LONGEST] for part in parts)
    return "-".join(word for word in words if word) + suffix
