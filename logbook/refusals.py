"""The error tree: what was wrong, where, and what would be right.

Every door (screen, command line) turns a `Refusal` into one sentence; nothing else that a
person can cause may reach them. A refusal means that nothing was written.
"""

from __future__ import annotations


class Refusal(Exception):  # noqa: N818 — a refusal is an answer, not a fault
    """Input or a request that the logbook does not take, said in a sentence.

    Parameters
    ----------
    what : what was given and why it is not taken, e.g. ``"140 % is outside 0–100 %"``.
    where : the field, file and line, or record it stands in, e.g. ``"Relative humidity"``.
    wanted : what would be right, e.g. ``"a value such as 45 %"``.
    """

    exit_code = 2

    def __init__(self, what: str, *, where: str | None = None, wanted: str | None = None) -> None:
        self.what = what
        self.where = where
        self.wanted = wanted
        super().__init__(self.sentence)

    @property
    def sentence(self) -> str:
        """The whole message: ``where: what. Wanted: …``."""
        head = f"{self.where}: {self.what}" if self.where else self.what
        head = head.rstrip(".") + "."
        return f"{head} Wanted: {self.wanted.rstrip('.')}." if self.wanted else head


class BadInput(Refusal):
    """A typed value out of range, of the wrong dimension, or not a value at all."""


class BadFile(Refusal):
    """A file that cannot be read as a pull; `where` names the file and, if known, the line."""


class NotFound(Refusal):
    """No such engine, session, pull … in this book."""


class Conflict(Refusal):
    """The request clashes with what the book holds: a duplicate file, a changed field."""


class CalledOff(Refusal):
    """Who asked for it has stopped it."""


class BookTrouble(Refusal):
    """The book itself cannot be used: locked, damaged, read-only, full disk, newer version.

    `wanted` says what to do about it. Exit code 1: the input was not at fault.
    """

    exit_code = 1


class InstrumentTrouble(Refusal):
    """An instrument does not answer, or does not tell what is needed. Exit code 1."""

    exit_code = 1
