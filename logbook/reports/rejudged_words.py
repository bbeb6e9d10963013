"""What a change did to the judgement, in sentences and as JSON; both doors say it alike."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from logbook.reports import showing
from logbook.reports.as_json import plain_value, worth_json

if TYPE_CHECKING:
    from logbook.cases.rejudged import Rejudged, Stand, Turned
    from logbook.cases.results import Noise, Worth

Document = dict[str, Any]
NOISE_STEP = 0.02  # percent
MOST_TURNED = 6  # of one session in sentences; the list of its pulls has the rest


def sentences(found: Sequence[Rejudged], system: str) -> str:
    """What is judged otherwise now, the first session's without its name: verdicts turned, the
    worth that moved furthest, all steps together, baseline and noise."""
    said = []
    for place, one in enumerate(found):
        if not (one.before.set_ups or one.after.set_ups):
            continue  # nothing was judged, and nothing is
        parts = _parts(one, system)
        named = f"{one.after.label}: " if place else ""
        said.append(f"{named}{'; '.join(parts)}.")
    unseen = sum(one.not_looked_at for one in found)
    if unseen:
        said.append(
            f"{unseen} more session{'s' if unseen > 1 else ''} that this touches"
            f" {'were' if unseen > 1 else 'was'} not looked at."
        )
    text = " ".join(said)
    return f"Judged anew: {text}" if text else ""


def _parts(one: Rejudged, system: str) -> list[str]:
    parts = [_turned(turned, system) for turned in one.turned[:MOST_TURNED]]
    if not one.turned:
        parts.append("no verdict changed")
    if len(one.turned) > MOST_TURNED:
        parts.append(f"{len(one.turned) - MOST_TURNED} more verdicts changed")
    if one.moved is not None and (moved := _worths(one.moved, system)):
        parts.append(f"{_name(one.moved.stand)}: still {one.moved.words[1]}, {moved}")
    if total := _move(one.before.total, one.after.total, system):
        parts.append(f"all steps together {total}")
    if one.before.baseline != one.after.baseline:
        parts.append(f"baseline {one.before.baseline} → {one.after.baseline}")
    if _noise_differs(one.before.noise, one.after.noise):
        parts.append(f"noise {_noise(one.before.noise)} → {_noise(one.after.noise)}")
    return parts


def _turned(turned: Turned, system: str) -> str:
    before, after = turned.words
    worths = _worths(turned, system)
    return f"{_name(turned.stand)}: {before} → {after}" + (f", {worths}" if worths else "")


def _name(stand: Stand) -> str:
    numbers = showing.numbers(stand.pulls)
    what = showing.changes(stand.changed)
    pulls = f"pull{'s' if len(stand.pulls) > 1 else ''} {numbers}"
    return f"{what} ({pulls})" if what else pulls


def _worths(turned: Turned, system: str) -> str:
    before, after = (side.worth if side else None for side in (turned.before, turned.after))
    return _move(before, after, system)


def _move(before: Worth | None, after: Worth | None, system: str) -> str:
    """``+5.8 → +4.9 hp``; ``""`` where both would be written alike, or neither is there."""
    old, new = (
        showing.signed(side.difference_kw, system) if side else "" for side in (before, after)
    )
    if old == new:
        return ""
    if before is None or after is None:
        only = before or after
        assert only is not None  # the texts differ
        return showing.signed(only.difference_kw, system, unit=True) + ("" if after else " before")
    return f"{old} → {showing.signed(after.difference_kw, system, unit=True)}"


def _noise_differs(before: Noise | None, after: Noise | None) -> bool:
    """Another source, or a figure that is another one to somebody who reads it."""
    if before is None or after is None:
        return before is not after
    return before.source != after.source or abs(after.percent - before.percent) >= NOISE_STEP


def _noise(noise: Noise | None) -> str:
    return f"{noise.percent:.2f} % {noise.source}" if noise else "not known"


def rejudged_json(found: Sequence[Rejudged]) -> list[Document]:
    """The same as documents; pulls by their numbers in the session."""
    return [
        {
            "session": one.after.session_id,
            "sessions_not_looked_at": one.not_looked_at,
            "turned": [_turned_json(turned) for turned in one.turned],
            "moved_most": _turned_json(one.moved) if one.moved else None,
            "total_kw": [
                plain_value(side.total.difference_kw) if side.total else None
                for side in (one.before, one.after)
            ],
            "baseline": [one.before.baseline, one.after.baseline],
            "noise_percent": [
                plain_value(side.noise.percent) if side.noise else None
                for side in (one.before, one.after)
            ],
        }
        for one in found
    ]


def _turned_json(turned: Turned) -> Document:
    return {
        "pulls": list(turned.stand.pulls),
        "changed": [change.factor for change in turned.stand.changed],
        "verdict": list(turned.words),
        "before": worth_json(turned.before.worth) if turned.before else None,
        "after": worth_json(turned.after.worth) if turned.after else None,
    }
