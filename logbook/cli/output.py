"""Where a command's data goes: stdout, or a file that appears whole or not at all."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TextIO, TypeVar

import click

from logbook.refusals import Conflict
from logbook.reports.files import whole_file

Decorated = TypeVar("Decorated", bound=Callable[..., Any])


def output_options(function: Decorated) -> Decorated:
    """``-o FILE`` and ``--replace``."""
    replace = click.option("--replace", is_flag=True, help="Replace FILE where it exists.")
    output = click.option(
        "-o", "--output", type=click.Path(path_type=Path, dir_okay=False), metavar="FILE",
        help="Write here, all or nothing; else to stdout.",
    )  # fmt: skip
    return output(replace(function))


def refuse_taken(path: Path | None, replace: bool) -> None:
    """`Conflict` where there is a file already that nobody said may go."""
    if path is not None and path.exists() and not replace:
        raise Conflict("there is already a file of this name", where=str(path),
                       wanted="another name, or --replace")  # fmt: skip


@contextmanager
def destination(path: Path | None) -> Iterator[TextIO]:
    """Stdout, or a file that appears whole or not at all."""
    if path is None:
        yield sys.stdout
    else:
        with whole_file(path) as out:
            yield out
