"""A report as Markdown (CommonMark with tables): the same words and figures as the page.

Everything that could be markup in a text is escaped; control characters are shown. A picture
is told in words.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from logbook.plain import plain
from logbook.reports.paper import Cautions, Facts, Figure, Paper, Part, Table, Words

_MARKUP = re.compile(r"[\\`*_\[\]<>|~&$@]|:(?=//)|(?<=www)\.")
# What only the beginning of a line makes a heading, a rule or a list.
_AT_THE_START = re.compile(r"([-+=#]+(?=\s|$)|[-=]{2,}|\d+(?=[.)](?:\s|$)))")
_HARD_BREAK = "<br>"


def markdown(paper: Paper) -> str:
    """The report as Markdown."""
    return "\n".join(_lines(paper)).rstrip() + "\n"


def _lines(paper: Paper) -> Iterator[str]:
    yield f"# {_text(paper.title)}"
    yield ""
    yield _text(paper.subtitle)
    yield ""
    if paper.answer is None:
        yield f"**{_text(paper.why_none)}**"
    else:
        answer = paper.answer
        large = " ".join(part for part in (answer.sign, answer.figure, answer.unit) if part)
        yield f"**{_text(large)} — {_text(answer.word)}**"
        for line in answer.lines:
            yield ""
            yield _text(line)
    yield ""
    yield from _part(paper.cautions)
    yield from _part(paper.facts)
    for section in paper.sections:
        yield f"## {_text(section.title)}"
        yield ""
        for part in section.parts:
            yield from _part(part)
    yield "---"
    yield ""
    yield _text(paper.made)


def _part(part: Part) -> Iterator[str]:
    match part:
        case Words():
            yield _text(part.text)
        case Cautions():
            yield from (f"- ⚠ {_text(text)}" for text in part.texts)
        case Facts():
            yield from (f"- {_text(label)}: {_text(value)}" for label, value in part.pairs)
        case Figure():
            yield f"**{_text(part.title)}.** {_text(part.description)}"
        case Table():
            yield from _table(part)
    yield ""


def _table(table: Table) -> Iterator[str]:
    if not table.rows and not table.total:
        yield _text(table.empty)
        return
    yield f"**{_text(table.caption)}**"
    yield ""
    yield _row(tuple(column.head for column in table.columns))
    yield "|" + "|".join(" ---: " if column.number else " --- " for column in table.columns) + "|"
    for row in table.rows:
        yield _row(row)
    if table.total:
        yield _row(table.total)


def _row(cells: tuple[str, ...]) -> str:
    return f"| {' | '.join(_text(cell) for cell in cells)} |"


def _text(text: str) -> str:
    """A text in which nothing is markup; its line breaks are kept, as no new block."""
    return _HARD_BREAK.join(_line(line.strip()) for line in plain(text, lines=True).split("\n"))


def _line(line: str) -> str:
    escaped = _MARKUP.sub(r"\\\g<0>", line)
    start = _AT_THE_START.match(escaped)
    if start is None:
        return escaped
    end = start.end() if start.group()[0].isdigit() else 0
    return f"{escaped[:end]}\\{escaped[end:]}"
