"""A plan in block figures, words and ticks. Pure: a view in, lines out."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from logbook.app.widgets.answer_words import CAUTION
from logbook.app.widgets.figures import SMALLEST, tallest
from logbook.app.widgets.ink import BLANK, Line, fit, one, pad, wrap
from logbook.records.setup import TIMING, factor_key
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.plan import PlanLine, PlanProgress, PlanView

ROOM_BESIDE = 30
NEXT = "▶"


def plan_lines(view: PlanView, width: int, system: str) -> list[Line]:
    """An accepted plan: the next pull first and largest, what it can find, the pulls in order."""
    return [
        *_next(view.progress, width),
        *_said(view, width),
        *_resolves(view, width, system),
        BLANK,
        *_pulls(view, width),
    ]


def proposal_lines(view: PlanView, width: int, system: str) -> list[Line]:
    """A plan that is not accepted yet: what it can find, then the pulls in order."""
    left = len(view.lines) - view.progress.done
    made = f", {view.progress.done} made already" if view.progress.done else ""
    head: Line = ((f"{left} pulls to make", "strong"), (f" of {view.budget} given{made}", "quiet"))
    return [head, *_said(view, width), *_resolves(view, width, system), *_pulls(view, width)]


def name_of(line: PlanLine) -> str:
    """``timing 34°, main jets 82``; the baseline by its name."""
    return set_words(line.set_up) or line.name


def set_words(levels: Mapping[str, str]) -> str:
    """Factors and levels to set, as people write them: ``timing 34°, spacer taken away``."""
    parts = []
    for factor, text in levels.items():
        degree = "°" if factor_key(factor) == TIMING and text[-1:].isdigit() else ""
        parts.append(f"{factor} {text}{degree}" if text else f"{factor} taken away")
    return ", ".join(parts)


def progress_part(progress: PlanProgress, changed: Mapping[str, str]) -> Line:
    """A plan in a few words for the foot of the session, whose next pull has `changed` set."""
    of = f" {progress.done} of {len(progress.lines)}" if progress.lines else ""
    if progress.barred:
        return one("⚠ plan stopped: n says why", "caution")
    following = progress.next
    if following is None:
        return one(f"plan{of}, all made", "quiet")
    if dict(changed) == dict(progress.to_set):
        return (("✓ as planned: ", "quiet"), (name_of(following), ""), (f",{of}", "quiet"))
    return (("planned: ", "quiet"), (name_of(following), "accent"), (f",{of}", "quiet"))


def _next(progress: PlanProgress, width: int) -> list[Line]:
    """The timing to set in block letters where only that changes, else the pull's place."""
    if progress.barred:
        return [one("STOP", "caution"), *wrap(progress.barred, width, "strong")]
    following = progress.next
    if following is None:
        return [one("Every pull of the plan has been made.", "strong"),
                *wrap("Close the session for its final verdicts (z).", width)]  # fmt: skip
    timing = following.levels.get(TIMING, "").rstrip("° ")
    alone = set(progress.to_set) == {TIMING} and _drawable(timing)
    figure, beside = (timing, "°") if alone else (str(following.place), f"of {len(progress.lines)}")
    drawn = tallest(figure, max(width - ROOM_BESIDE, 8), SMALLEST) or (figure,)
    room = width - len(drawn[0]) - 2
    now = set_words(progress.to_set)
    words = {
        0: (beside, "strong"),
        1: (f"pull next: {name_of(following)}", "strong"),
        2: (f"set {now}" if now else "as the engine stands, nothing to set", ""),
        3: (following.why, "quiet"),
    }
    return [
        ((row, "accent"), (" ", ""), (fit(text, room), role))
        for index, row in enumerate(drawn)
        for text, role in (words.get(index, ("", "")),)
    ]


def _drawable(text: str) -> bool:
    return bool(text) and all(letter.isdigit() or letter == "." for letter in text)


def _said(view: PlanView, width: int) -> list[Line]:
    """The cautions beside the plan, whole."""
    lines: list[Line] = []
    for caution in view.cautions:
        first, *rest = wrap(caution, width - 2, "caution")
        lines += [((CAUTION, "caution"), *first), *((("  ", ""), *line) for line in rest)]
    return lines


def _resolves(view: PlanView, width: int, system: str) -> list[Line]:
    """The smallest gain of each change that the plan would find, at which noise."""
    groups: dict[str, list[str]] = {}
    for change, (_, gain) in zip(view.changes, view.resolves, strict=True):
        size = showing.share(gain, view.base_kw, system).replace(" ", "\u00a0")  # in one piece
        groups.setdefault(size, []).append(set_words(change.set_up))
    if len(groups) == 1:
        found = f"{next(iter(groups))} of each" if len(view.changes) > 1 else next(iter(groups))
    else:
        found = "; ".join(f"{gain} of {', '.join(names)}" for gain, names in groups.items())
    lines = wrap(f"Smallest gain it finds four times in five: {found}", width, "strong")
    role = "caution" if "assumed" in (view.noise.source, view.wander.source) else "quiet"
    noise = f"At noise {view.noise.percent:.2f} % {view.noise.source}"
    if view.wander.source != view.noise.source:
        noise += f", drift and re-setting {view.wander.source}"
    worth = view.worth_having_percent
    if view.smallest_gain_percent > worth:
        noise += f"; a gain of {worth:g} %, worth having, may stay not settled"
    return [*lines, *wrap(f"{noise}.", width, role)]


def _pulls(view: PlanView, width: int) -> list[Line]:
    """The pulls in their order: the next one marked, those made ticked off, why beside each."""
    following = view.next if view.accepted else None
    names = [name_of(line) for line in view.lines]
    room = min(max(len(name) for name in names), max(width // 2 - 6, 12))
    lines: list[Line] = []
    for line, name in zip(view.lines, names, strict=True):
        here = line is following
        mark = f"{NEXT if here else ' '}{line.place:>3} {'✓' if line.done else '·'} "
        role = "strong" if here else "quiet" if line.done else ""
        care: Line = (("⚠ ", "caution"),) if line.caution and not line.done else (("  ", ""),)
        first, *rest = wrap(name, room, role)
        shown = sum(len(text) for text, _ in first)
        why = one(pad("", room - shown + 2) + fit(line.why, width - room - 10), "quiet")
        lines.append(((mark, "accent" if here else role), *care, *first, *why))
        lines += [((pad("", 8), ""), *more) for more in rest]
    return lines
