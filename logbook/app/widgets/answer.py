"""The answer for one pull: the figure first, then words, cautions, pictures.

Laid out for the room there is. Cautions are never left away: pictures give way to them.
"""

from __future__ import annotations

from collections.abc import Sequence

from logbook import quantities
from logbook.app import showing
from logbook.app.widgets.curve import difference_picture, overlay_picture
from logbook.app.widgets.figures import SMALLEST, big, role_of, sign_of, tallest
from logbook.app.widgets.ink import BLANK, Line, Span, one, rows_of, wrap
from logbook.app.widgets.lines import Lines
from logbook.cases.results import AnswerView, SessionView, Worth
from logbook.records.caution import Caution
from logbook.records.score import Figures

CAUTION = "⚠ "
HIDDEN = "v: difference curve and curves"
BOTH, DIFFERENCE, OVERLAY = "both", "difference", "curves"


class AnswerPane(Lines):
    """Draws the answer for the chosen pull of a session."""

    DEFAULT_CSS = "AnswerPane { width: 1fr; height: 1fr; padding: 0 1; }"

    def __init__(self) -> None:
        super().__init__(id="answer")
        self._answer: AnswerView | None = None
        self._session: SessionView | None = None
        self._system = "us"
        self.pictures = BOTH

    def put(self, session: SessionView | None, answer: AnswerView | None, system: str) -> None:
        """Show this answer."""
        self._session, self._answer, self._system = session, answer, system
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The answer, or what to do first."""
        if self._session is None:
            return [BLANK, one("Reading the session …", "quiet")]
        if self._answer is None:
            return _nothing_yet(width) if not self._session.rows else []
        return answer_lines(self._answer, self._session, width, height, self._system, self.pictures)


def _nothing_yet(width: int) -> list[Line]:
    return [
        BLANK,
        one("No pull yet", "strong"),
        *wrap(
            "Enter types a pull's peaks, o takes a trace file, a takes down the air. The first"
            " set-up's pulls are the baseline until b names others.",
            width,
            "quiet",
        ),
    ]


def answer_lines(
    view: AnswerView, session: SessionView, width: int, height: int, system: str, pictures: str
) -> list[Line]:
    """The answer in `width` × `height` cells. With the pictures by themselves, the words about
    the pull make room for them; figure, verdict and cautions stay."""
    alone = pictures != BOTH
    said = _verdict(view, session, width, system) if alone else _said(view, session, width, system)
    cautions = caution_lines(view.row.cautions, width)
    words = len(said) + len(cautions)
    figure = _figure(view, width, min(10, max(SMALLEST, (height - words) // 3)), system)
    lines = [*figure, *said, *cautions]
    drawn = _pictures(view, session, width, height - len(lines), system, pictures)
    if not drawn and view.curve is not None and len(lines) <= height:
        lines = [
            *lines[: height - 1],
            one(f"… {'v: the words again' if alone else HIDDEN}", "quiet"),
        ]
    return [*lines, *drawn]


def caution_lines(cautions: Sequence[Caution], width: int) -> list[Line]:
    """Each caution whole, with its sign."""
    lines: list[Line] = []
    for caution in cautions:
        first, *rest = wrap(caution.text, width - 2, "caution")
        lines.append(((CAUTION, "caution"), *first))
        lines.extend(((" " * 2, ""), *line) for line in rest)
    return lines


def _figure(view: AnswerView, width: int, height: int, system: str) -> list[Line]:
    """The sign and the figure in block letters, unit beside; power itself where there is no
    difference to show."""
    worth, unit = view.from_baseline, quantities.display_unit("power", system)
    if worth is not None:
        return worth_figure(worth, width, height, system)
    figures = _corrected(view)
    power = _main_power(figures)
    if power is None:
        return [one(view.why_none, "strong")] if view.why_none else []
    drawn = tallest(quantities.show(power, "power", system, unit=False), width - 4, height)
    return [((row, "strong"), (f" {unit}" if index == len(drawn or ()) - 1 else "", ""))
            for index, row in enumerate(drawn or ())]  # fmt: skip


def worth_figure(worth: Worth, width: int, height: int, system: str) -> list[Line]:
    """A judged difference in block letters with its shaped sign, unit and share beside."""
    unit = quantities.display_unit("power", system)
    sign, role = sign_of(worth.verdict), role_of(worth.verdict)
    beside = (f" {unit}", f" {showing.percent(worth.percent)}")
    room = width - max(len(text) for text in beside)
    texts = [sign + showing.signed(worth.difference_kw, system, digits=d) for d in (1, 0)]
    drawn = next((d for text in texts if (d := tallest(text, room, height))), None)
    if drawn is None:
        drawn = big(sign, SMALLEST)
        beside = (f" {showing.signed(worth.difference_kw, system, unit=True)}", beside[1])
    at = len(drawn) - 3, len(drawn) - 1
    return [
        ((row, role), (beside[at.index(index)] if index in at else "", "strong"))
        for index, row in enumerate(drawn)
    ]


def _verdict(view: AnswerView, session: SessionView, width: int, system: str) -> list[Line]:
    """The verdict, or why there is none."""
    if view.from_baseline is not None:
        return worth_words(view.from_baseline, session, width, system)
    return wrap(view.why_none, width, "strong") if view.why_none else []


def _said(view: AnswerView, session: SessionView, width: int, system: str) -> list[Line]:
    """Everything about the answer in words."""
    return [
        *_verdict(view, session, width, system),
        *_previous(view, width, system),
        *_power_lines(_corrected(view), view, width, system),
        *_reading_lines(view, width, system),
    ]


def _reading_lines(view: AnswerView, width: int, system: str) -> list[Line]:
    """Vacuums and blow-by; the vacuums share a row and a unit where the pane is narrow."""
    vacuums = [(label, value) for label, kind, value in view.readings if kind == "vacuum"]
    if width >= 60 or len(vacuums) < 2:
        return rows_of(
            (
                ((f"{label} ", "quiet"), (showing.shown(value, kind, system), ""))
                for label, kind, value in view.readings
            ),
            width,
        )
    spans: list[Span] = [(f"Vacuum, {quantities.display_unit('vacuum', system)}: ", "quiet")]
    for index, (label, value) in enumerate(vacuums):
        name = label.removesuffix(" vacuum").lower()
        text = showing.true_minus(quantities.show(value, "vacuum", system, unit=False))
        spans += [(f"{' · ' if index else ''}{name} ", "quiet"), (text, "")]
    others = [
        ((f"{label} ", "quiet"), (showing.shown(value, kind, system), ""))
        for label, kind, value in view.readings
        if kind != "vacuum"
    ]
    return [tuple(spans), *rows_of(others, width)]


def worth_words(worth: Worth, session: SessionView | None, width: int, system: str) -> list[Line]:
    """The verdict, what it judges, the interval and how many pulls would settle it."""
    sign, role = sign_of(worth.verdict), role_of(worth.verdict)
    low, high = (showing.signed(edge, system) for edge in worth.interval_kw)
    unit = quantities.display_unit("power", system)
    noise = worth.noise
    parts: list[Line] = [((f"{sign} {worth.verdict}", role), (f" in {worth.quantity}", ""))]
    if worth.more_pulls:
        parts.append(one(f"{showing.count(worth.more_pulls, 'more pull')} would settle it"))
    interval: list[Line] = [one(f"95 % {low} to {high} {unit}")]
    base = _baseline_power(worth)
    if session is not None and base is not None:
        least = base * session.session.worth_having_percent / 100
        shown = quantities.show(least, "power", system)
        interval.append(one(f"worth having {shown}", "quiet"))
    if noise.source == "assumed":
        interval.append(one(f"noise {noise.percent:.2f} % assumed", "caution"))
    return [*rows_of(parts, width), *rows_of(interval, width)]


def _baseline_power(worth: Worth) -> float | None:
    """The baseline's score, from the difference and its share of it."""
    return worth.difference_kw / worth.percent * 100 if abs(worth.percent) > 1e-6 else None


def _previous(view: AnswerView, width: int, system: str) -> list[Line]:
    worth = view.from_previous
    if worth is None:
        return [] if view.from_baseline is None else wrap(view.why_none, width, "quiet")
    sign, role = sign_of(worth.verdict), role_of(worth.verdict)
    before: Line = (
        ("From the set-up before: ", "quiet"),
        (f"{sign} {showing.signed(worth.difference_kw, system, unit=True)} ", role),
        (worth.verdict, ""),
    )
    settle = one(f"{worth.more_pulls} more", "quiet") if worth.more_pulls else BLANK
    return rows_of((before, settle), width)


def _corrected(view: AnswerView) -> Figures:
    score = view.row.score
    return score.corrected if score else Figures()


def _main_power(figures: Figures) -> float | None:
    return figures.band_power_kw if figures.band_power_kw is not None else figures.peak_power_kw


def _power_lines(figures: Figures, view: AnswerView, width: int, system: str) -> list[Line]:
    """Corrected band averages and peaks, and the factor that made them so."""
    parts: list[Line] = []
    if figures.band_power_kw is not None:
        text = quantities.show(figures.band_power_kw, "power", system)
        parts.append((("Band ", "quiet"), (text, "strong")))
        if figures.band_torque_nm is not None:
            parts.append(one(quantities.show(figures.band_torque_nm, "torque", system)))
        parts += _factor(view)
    for label, value, kind, speed in (
        ("Peak ", figures.peak_power_kw, "power", figures.peak_power_rpm),
        ("", figures.peak_torque_nm, "torque", figures.peak_torque_rpm),
    ):
        if value is not None:
            at = "" if speed is None else f" at {speed:.0f}"
            parts.append(
                ((label, "quiet"), (quantities.show(value, kind, system), ""), (at, "quiet"))
            )
    if not parts:
        return []
    if figures.band_power_kw is None:
        parts += _factor(view)
    return rows_of(parts, width)


def _factor(view: AnswerView) -> list[Line]:
    score = view.row.score
    if score is None or score.factor is None:
        return []
    return [(("factor ", "quiet"), (f"{score.factor:.4f}", ""))]


def _pictures(
    view: AnswerView, session: SessionView, width: int, room: int, system: str, pictures: str
) -> list[Line]:
    band = (session.session.band_low_rpm, session.session.band_high_rpm)
    marked = (band[0], band[1]) if band[0] is not None and band[1] is not None else None
    lines: list[Line] = []
    overlaid = view.curve is not None and view.reference is not None
    if view.difference is not None and pictures != OVERLAY:
        alone = pictures == DIFFERENCE or not overlaid or room < 16
        share = room if alone else max(7, room * 2 // 5)
        lines += difference_picture(
            view.difference, width, share, system,
            names=(f"pull {view.row.pull.number}", "baseline"), band=marked,
        )  # fmt: skip
    left = room - len(lines)
    wanted = pictures != DIFFERENCE and (left >= 7 or pictures == OVERLAY)
    if wanted and view.curve is not None:
        lines += overlay_picture(view.curve, view.reference, width, left, system, band=marked)
    return lines
