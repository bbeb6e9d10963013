"""The demo: an invented workshop's logbook, as readable data and the model behind it.

``engines.toml``, ``cells.toml``, ``fuels.toml`` and ``sessions/*.toml`` say what was run and
what was true; `model` makes the engines, `day` the drift and noise, `logs` the files of the
cells' data systems; `retell` tells it all to the logbook's own use-cases. `truth` keeps what
only the story knows, for those who check the logbook's answers.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["build"]


def build(path: Path) -> None:
    """Build a fresh demo book at `path`.

    Values and times are the same every time; only the ids are new. Raises `Conflict` where
    `path` exists already.
    """
    import tempfile

    from logbook.cases.desk import Desk, stamp_of
    from logbook.refusals import Conflict
    from logbook.store.book import Book
    from seed_db.retell import Clock, Teller

    if path.exists():
        raise Conflict("there is already a file of this name", where=str(path),
                       wanted="a new name: the demo never writes over a book")  # fmt: skip
    clock = Clock()
    book = Book.open(path, now=lambda: stamp_of(clock()))
    desk = Desk(book=book, who="demo", now=clock, units="us")
    try:
        with tempfile.TemporaryDirectory(prefix="logbook-demo-") as folder:
            Teller(desk, clock, Path(folder)).tell()
    finally:
        desk.close()
