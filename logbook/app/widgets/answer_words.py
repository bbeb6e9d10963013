"""The answer in words: verdict, what changed, figures, readings, cautions. Pure."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from logbook import quantities
from logbook.app.widgets.figures import SMALLEST, big, role_of, tallest
from logbook.app.widgets.ink import BLANK, Line, Span, one, rows_of, width_of, wrap
from logbook.cases.results import AnswerView, SessionView, Worth
from logbook.records.caution import Caution
from logbook.records.score import Figures
from logbook.reports import showing

CAUTION = "⚠ "
WIDE = 60  # cells of a pane in which there is room for more words


def caution_lines(cautions: Sequence[Caution], width: int) -> list[Line]:
    """Each caution whole, with its sign."""
    lines: list[Line] = []
    for caution in cautions:
        first, *rest = wrap(caution.text, width - 2, "caution")
        lines.append(((CAUTION, "caution"), *first))
        lines.extend(((" " * 2, ""), *line) for line in rest)
    return lines


def corrected(view: AnswerView) -> Figures:
    """The corrected figures of the pull."""
    return view.row.score.corrected if view.row.score else Figures()


def main_power(figures: Figures) -> float | None:
    """The band average, else the peak."""
    return figures.band_power_kw if figures.band_power_kw is not None else figures.peak_power_kw


def figure_lines(view: AnswerView, width: int, height: int, system: str) -> list[Line]:
    """The sign and the figure in block letters; power itself where there is no difference."""
    figures = corrected(view)
    if view.from_baseline is not None:
        count = len(view.from_baseline.pulls)
        of = f"of {count} pulls" if count > 1 else ""
        return worth_figure(view.from_baseline, width, height, system, figures, of)
    power = main_power(figures)
    if power is None:
        return []
    label = "band" if figures.band_power_kw is not None else "peak"
    unit = quantities.display_unit("power", system)
    beside = {-3: unit, -2: label, -1: "corrected"}
    room = width - 11
    texts = [quantities.show(power, "power", system, digits=d, unit=False) for d in (1, 0)]
    drawn = next((d for text in texts if (d := tallest(text, room, height))), ())
    return _beside(drawn, "strong", beside)


def worth_figure(
    worth: Worth, width: int, height: int, system: str, figures: Figures, of: str = ""
) -> list[Line]:
    """A judged difference in block letters with its shaped sign; unit, share, `of` how many pulls
    it is, and the power it comes to beside it."""
    unit = quantities.display_unit("power", system)
    power = main_power(figures)
    label = "band power" if figures.band_power_kw is not None else "peak power"
    now = quantities.show(power, "power", system)
    beside = {0: unit, 1: showing.percent(worth.percent), 2: of, -2: label, -1: now}
    sign = showing.sign_of(worth.verdict)
    return difference_figure(sign, worth.difference_kw, role_of(worth.verdict), width, height,
                             system, beside)  # fmt: skip


def difference_figure(
    sign: str,
    difference_kw: float,
    role: str,
    width: int,
    height: int,
    system: str,
    beside: dict[int, str],
) -> list[Line]:
    """A sign and a signed difference as large as they fit, with words beside single rows."""
    room = width - 1 - max(len(text) for text in beside.values())
    texts = [sign + showing.signed(difference_kw, system, digits=d) for d in (1, 0)]
    drawn = next((d for text in texts if (d := tallest(text, room, height))), None)
    if drawn is None:
        drawn = big(sign, SMALLEST)
        beside = {**beside, 0: showing.signed(difference_kw, system, unit=True)}
    return _beside(drawn, role, beside)


def _beside(drawn: Sequence[str], role: str, beside: dict[int, str]) -> list[Line]:
    """Block letters with words at the right of some rows, counted from top or bottom."""
    words = {index % len(drawn): text for index, text in beside.items()} if drawn else {}
    return [((row, role), (f" {words.get(i, '')}", "strong")) for i, row in enumerate(drawn)]


def verdict_lines(view: AnswerView, session: SessionView, width: int, system: str) -> list[Line]:
    """The verdict with its interval, or why there is none."""
    if view.from_baseline is not None:
        alone: Line = BLANK
        if view.row.own_difference_kw is not None and width >= WIDE:
            own = showing.signed(view.row.own_difference_kw, system, unit=True)
            alone = ((f"pull {view.row.pull.number} alone ", "quiet"), (own, ""))
        return worth_words(view.from_baseline, session, width, system, alone)
    return wrap(view.why_none, width, "strong") if view.why_none else []


def worth_words(
    worth: Worth, session: SessionView | None, width: int, system: str, alone: Line = BLANK
) -> list[Line]:
    """The verdict, what it judges, the interval and how many pulls would settle it. `alone` is
    what the pull differs by alone, said where others of its set-up are judged with it."""
    sign, role = showing.sign_of(worth.verdict), role_of(worth.verdict)
    low, high = (showing.signed(edge, system) for edge in worth.interval_kw)
    unit = quantities.display_unit("power", system)
    parts: list[Line] = [((f"{sign} {worth.verdict}", role), (f" in {worth.quantity}", ""))]
    if len(worth.pulls) > 1:
        together = " together" if alone else ""
        parts += [one(f"pulls {showing.numbers(worth.pulls)}{together}"), alone]
    if worth.more_pulls:
        parts.append(one(settled_by(worth)))
    interval: list[Line] = [one(f"95 % {low} to {high} {unit}")]
    base = worth.difference_kw / worth.percent * 100 if abs(worth.percent) > 1e-6 else None
    if session is not None and base is not None:
        least = base * session.session.worth_having_percent / 100
        interval.append(one(f"worth having {quantities.show(least, 'power', system)}", "quiet"))
    if told := _believed(worth, width):
        interval.append(told)
    return [*rows_of(parts, width), *rows_of(interval, width)]


def settled_by(worth: Worth) -> str:
    """``2 more settle it: 1 here, 1 baseline``."""
    here, there = worth.settle_by
    which = ", ".join(f"{n} {what}" for n, what in ((here, "here"), (there, "baseline")) if n)
    return f"{worth.more_pulls} more settle it" + (f": {which}" if which else "")


def why_lines(view: AnswerView, width: int) -> list[Line]:
    """Why a verdict is still open, and what would change that; that repeats without the baseline
    remove no drift."""
    worth = view.from_baseline
    if worth is None or worth.verdict in ("gain", "loss"):
        return []
    return wrap(worth.reason, width, "quiet")


def _believed(worth: Worth, width: int) -> Line:
    """Which figures the verdict rests on are assumed; where there is no room for it in the head,
    also which are the cell's own."""
    assumed = [f"noise {worth.noise.percent:.2f} %"] if worth.noise.source == "assumed" else []
    if worth.wander is not None and worth.wander.source == "assumed":
        assumed += ["drift", "re-setting"]
    if assumed:
        return one(f"{', '.join(assumed)} assumed", "caution")
    return (
        one("drift, re-setting: cell history", "quiet") if worth.wander and width < WIDE else BLANK
    )


def previous_lines(view: AnswerView, width: int, system: str) -> list[Line]:
    """The change from the set-up before."""
    worth = view.from_previous
    if worth is None:
        return [] if view.from_baseline is None else wrap(view.why_none, width, "quiet")
    sign, role = showing.sign_of(worth.verdict), role_of(worth.verdict)
    before: Line = (
        ("Set-up before: ", "quiet"),
        (f"{sign} {showing.signed(worth.difference_kw, system, unit=True)} ", role),
        (worth.verdict, ""),
    )
    settle = one(f"{worth.more_pulls} more", "quiet") if worth.more_pulls else BLANK
    return rows_of((before, settle) if width_of(settle) else (before,), width)


def changed_lines(view: AnswerView, width: int) -> list[Line]:
    """What differs in the set-up from the pull before."""
    changed = view.row.changed
    if not changed:
        return []
    bundle = " (a bundle)" if len(changed) > 1 else ""
    lines = wrap(f"Changed: {showing.changes(changed)}", width, "", indent="  ")
    if bundle and width_of(lines[-1]) + len(bundle) <= width:
        lines[-1] = (*lines[-1], (bundle, "caution"))
    return lines


def peak_lines(view: AnswerView, width: int, system: str) -> list[Line]:
    """Corrected peaks with their speeds, and the band's torque where there is room."""
    figures, parts = corrected(view), list[Line]()
    if figures.band_torque_nm is not None and width >= WIDE:
        text = quantities.show(figures.band_torque_nm, "torque", system)
        parts.append((("Band torque ", "quiet"), (text, "")))
    for label, value, kind, speed in (
        ("Peak ", figures.peak_power_kw, "power", figures.peak_power_rpm),
        ("", figures.peak_torque_nm, "torque", figures.peak_torque_rpm),
    ):
        if value is not None:
            at = "" if speed is None else f" at {speed:.0f}"
            shown = quantities.show(value, kind, system)
            parts.append(((label, "quiet"), (shown, ""), (at, "quiet")))
    return rows_of(parts, width) if parts else []


def reading_lines(view: AnswerView, width: int, system: str) -> list[Line]:
    """Vacuums, blow-by and the factor; the vacuums share a unit where the pane is narrow."""
    vacuums = [(label, value) for label, kind, value in view.readings if kind == "vacuum"]
    shared = width < WIDE and len(vacuums) > 1
    parts: list[Line] = [
        ((f"{label} ", "quiet"), (showing.shown(value, kind, system), ""))
        for label, kind, value in view.readings
        if not (shared and kind == "vacuum")
    ]
    score = view.row.score
    if score is not None and score.factor is not None:
        parts.append((("factor ", "quiet"), (f"{score.factor:.4f}", "")))
    rest = rows_of(parts, width) if parts else []
    return [_vacuum_line(vacuums, system), *rest] if shared else rest


def _vacuum_line(vacuums: Iterable[tuple[str, float]], system: str) -> Line:
    spans: list[Span] = [(f"Vacuum, {quantities.display_unit('vacuum', system)}: ", "quiet")]
    for index, (label, value) in enumerate(vacuums):
        name = label.removesuffix(" vacuum").lower()
        text = showing.true_minus(quantities.show(value, "vacuum", system, unit=False))
        spans += [(f"{' · ' if index else ''}{name} ", "quiet"), (text, "")]
    return tuple(spans)
