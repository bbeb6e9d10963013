"""Exit codes, words for the person, and where the details of an error are kept."""

from __future__ import annotations

import click

from logbook.plain import plain

DONE, FAILED, REFUSED, STOPPED = 0, 1, 2, 130


def say(text: str) -> None:
    """Words for the person: to stderr, so that stdout stays data."""
    click.echo(plain(text, lines=True), err=True)


def keep_details(details: str) -> str:
    """Append the details of an unexpected error to the log in the state folder.

    Returns the sentence that says where they are, or that they could not be written.
    """
    import platform
    from datetime import UTC, datetime

    from logbook import __version__
    from logbook.settings import log_path

    entry = (
        f"{datetime.now(UTC).isoformat(timespec='seconds')} logbook {__version__},"
        f" Python {platform.python_version()}, {platform.platform()}\n{details}\n"
    )
    path = log_path()
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        with path.open("a", encoding="utf-8", errors="backslashreplace") as log:
            log.write(entry)
    except OSError as trouble:
        return f"The details could not be written to {path}: {trouble.strerror}."
    return f"The details are in {path}."
