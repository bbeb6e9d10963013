"""Reports as text, made of a book: the one place that knows which paper goes into which format."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from logbook.reports.files import file_name, reports_folder, whole_file

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.reports.paper import Paper

HTML, MARKDOWN = "html", "markdown"
SUFFIXES = {HTML: ".html", MARKDOWN: ".md"}


def session_text(desk: Desk, ref: str, form: str) -> str:
    """The report of a session; `form` is `HTML` or `MARKDOWN`."""
    from logbook.cases.report import session_report
    from logbook.reports.session_paper import session_paper

    return _written(session_paper(session_report(desk, ref), desk.units), form)


def build_text(desk: Desk, tag: str, label: str, form: str) -> str:
    """The report of a build."""
    from logbook.cases.report_engine import build_report
    from logbook.reports.engine_paper import build_paper

    return _written(build_paper(build_report(desk, tag, label), desk.units), form)


def engine_text(desk: Desk, tag: str, form: str) -> str:
    """The report of an engine."""
    from logbook.cases.report_engine import engine_report
    from logbook.reports.engine_paper import engine_paper

    return _written(engine_paper(engine_report(desk, tag), desk.units), form)


def _written(paper: Paper, form: str) -> str:
    if form == MARKDOWN:
        from logbook.reports.markdown import markdown

        return markdown(paper)
    from logbook.reports.page import html

    return html(paper)


def session_file(desk: Desk, session_id: str, form: str) -> Path:
    """Write the report of a session beside the book, under a name of its engine and day.

    The time of writing stands in the name: a report that was handed over is never written over
    by a later one. Gives the file's path; raises `BookTrouble` where it cannot be written.
    """
    from logbook.cases.engines import engine_of
    from logbook.cases.sessions import find_session
    from logbook.records.cell import Cell
    from logbook.records.times import local

    session = find_session(desk, session_id)
    with desk.book.reading() as read:
        tag = engine_of(read, session.engine_id).tag
        zone = read.get(Cell, session.cell_id).time_zone
    day = local(session.opened_at, zone).strftime("%Y-%m-%d")
    written = local(desk.timestamp(), zone).strftime("written-%Y-%m-%d-%H%M%S")
    text = session_text(desk, session_id, form)
    path = reports_folder(desk.book.path) / file_name(tag, day, written, suffix=SUFFIXES[form])
    with whole_file(path) as out:
        out.write(text)
    return path
