"""A printed report before it is HTML or Markdown: an answer, facts, sections of tables, pictures.

Every text stands here as it is, typed ones too; each writer makes it harmless in its own way.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TypeAlias

from logbook.reports.charts import Chart

LONG = 70


@dataclass(frozen=True, slots=True)
class Column:
    """A table's column; `number` is set to the right."""

    head: str
    number: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of texts under `columns`; the first cell names its row. `total` is a last row that
    sums the others up. Without rows `empty` is said instead."""

    caption: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[str, ...], ...]
    total: tuple[str, ...] = ()
    empty: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """Label and value, pair by pair."""

    pairs: tuple[tuple[str, str], ...]

    @property
    def long(self) -> bool:
        """Whether the values are sentences, which want the page's whole width."""
        return any(len(value) > LONG for _, value in self.pairs)


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Cautions:
    """Sentences that somebody should look at."""

    texts: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Figure:
    """A picture with its title, and in words what can be seen in it."""

    title: str
    description: str
    chart: Chart


Part: TypeAlias = Table | Facts | Words | Cautions | Figure


@dataclass(frozen=True, slots=True)
class Answer:
    """What a report says first and largest: a verdict's sign, a figure with its unit, the
    verdict's word, then lines that say what it is and how sure it is."""

    sign: str
    figure: str
    unit: str
    word: str
    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Section:
    """A heading and what stands under it."""

    title: str
    parts: tuple[Part, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Paper:
    """A whole report. `answer` is ``None`` where there is nothing to judge, and `why_none` says
    why. `made` says when, by whom, with what."""

    title: str
    subtitle: str
    answer: Answer | None
    why_none: str
    cautions: Cautions
    facts: Facts
    sections: tuple[Section, ...]
    made: str


def facts(*pairs: tuple[str, str]) -> Facts:
    """Those pairs that say something."""
    return Facts(tuple((label, value) for label, value in pairs if value.strip()))


def columns(*heads: str) -> tuple[Column, ...]:
    """Columns by their heads; one that begins with ``>`` holds numbers."""
    return tuple(Column(head.removeprefix(">"), head.startswith(">")) for head in heads)
