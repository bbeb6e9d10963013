"""A report as one HTML page that needs nothing else: styles and pictures stand in it.

jinja2 escapes every text; control characters and marks of direction are shown, not written.
The page refers to nothing outside itself, runs no script (its own policy forbids both), and is
well-formed XML too, so that any program can read the figures back.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

from logbook.plain import plain
from logbook.reports.charts import svg
from logbook.reports.paper import Figure
from logbook.underway import each

if TYPE_CHECKING:
    from jinja2 import Template

    from logbook.reports.paper import Paper


def html(paper: Paper) -> str:
    """The report as HTML."""
    from markupsafe import Markup

    figures = [
        part for section in paper.sections for part in section.parts if isinstance(part, Figure)
    ]
    pictures = {
        figure: Markup(svg(figure.chart, figure.title, figure.description, f"picture{number}"))
        for number, figure in enumerate(each(figures, len(figures)), 1)
    }
    template, style = _template()
    return template.render(
        paper=paper,
        style=Markup(style),
        picture=pictures.__getitem__,
        kind=lambda part: type(part).__name__,
    )


@lru_cache(maxsize=1)
def _template() -> tuple[Template, str]:
    from jinja2 import Environment, PackageLoader, StrictUndefined

    pages = Environment(
        loader=PackageLoader("logbook.reports", "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        finalize=_harmless,
        keep_trailing_newline=True,
    )
    loader = pages.loader
    assert loader is not None
    style, _, _ = loader.get_source(pages, "report.css")
    return pages.get_template("report.html"), style


def _harmless(value: Any) -> Any:
    """What a person typed, made visible; markup of ours as it is."""
    if isinstance(value, str) and not hasattr(value, "__html__"):
        return plain(value, lines=True)
    return value
