"""The changes of a plan: as somebody types them, and as an accepted plan is kept."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from logbook.cases.fields import read_level
from logbook.records.setup import Level, SetUp, factor_key
from logbook.refusals import BadInput, Conflict

BASELINE_NAME = "baseline"
_WANTED = "FACTOR=LEVEL, such as timing=34"


@dataclass(frozen=True, slots=True)
class PlanChange:
    """A change to try: the factors with their levels as text (``""`` takes one away), and
    whether it is hard to make."""

    set_up: Mapping[str, str]
    hard: bool = False

    @property
    def name(self) -> str:
        """How people read it: ``timing 34, main jets 82``."""
        return ", ".join(
            f"{factor} {text}" if text else f"{factor} taken away"
            for factor, text in self.set_up.items()
        )

    def from_baseline(self, start: SetUp) -> SetUp:
        """The whole set-up of a baseline with this change made."""
        levels: dict[str, Level | None] = {
            factor: read_level(factor, text) if text else None
            for factor, text in self.set_up.items()
        }
        return start.with_levels(levels)


@dataclass(frozen=True, slots=True)
class KeptPlan:
    """An accepted plan as the session keeps it. `pulls` are (0 for the baseline or the number of
    the change, why); pulls before `first_pull` were made before it and tick off nothing."""

    changes: tuple[PlanChange, ...]
    pulls: tuple[tuple[int, str], ...]
    budget: int
    first_pull: int

    def as_text(self) -> str:
        """As it is stored."""
        kept = {
            "changes": [{"set": dict(c.set_up), "hard": c.hard} for c in self.changes],
            "pulls": [list(pull) for pull in self.pulls],
            "budget": self.budget,
            "from": self.first_pull,
        }
        return json.dumps(kept, ensure_ascii=False)


def read_kept(text: str) -> KeptPlan | None:
    """The accepted plan of a session; ``None`` for none, or words somebody wrote.

    Raises `Conflict` for one that cannot be read.
    """
    if not text.startswith("{"):
        return None
    try:
        kept = json.loads(text)
        plan = KeptPlan(
            tuple(PlanChange(dict(one["set"]), bool(one["hard"])) for one in kept["changes"]),
            tuple((int(label), str(why)) for label, why in kept["pulls"]),
            int(kept["budget"]),
            int(kept.get("from", 1)),
        )
        for change in plan.changes:
            change.from_baseline(SetUp({}))
        if not plan.pulls or not all(0 <= n <= len(plan.changes) for n, _ in plan.pulls):
            raise ValueError("a pull of no change")
    except (ValueError, KeyError, TypeError, AttributeError, BadInput) as error:
        raise Conflict("the plan kept in this session cannot be read", where="Plan",
                       wanted="withdraw it and propose another") from error  # fmt: skip
    return plan


def read_changes(
    texts: Sequence[str], *, hard: Sequence[str] = (), known: Iterable[str] = ()
) -> tuple[PlanChange, ...]:
    """Texts → changes, those in `hard` hard to make; see `read_change`."""
    return (
        *(PlanChange(read_change(text, known)) for text in texts),
        *(PlanChange(read_change(text, known), True) for text in hard),
    )


def read_change(text: str, known: Iterable[str] = ()) -> dict[str, str]:
    """``timing=34`` or ``fuel=Tango,main jets=82`` → factors and levels; ``spacer=`` takes the
    spacer away. Factors in `known` may stand without the equals sign: ``timing 34``. A comma
    that no factor follows belongs to the level."""
    names = sorted(known, key=len, reverse=True)
    parts: list[str] = []
    for piece in text.split(","):
        if parts and "=" not in piece and _named(piece, names) is None:
            parts[-1] += f",{piece}"
        else:
            parts.append(piece)
    levels: dict[str, str] = {}
    for part in parts:
        factor, level = _factor(part, names)
        if factor_key(factor) in {factor_key(name) for name in levels}:
            raise BadInput(f"{factor} is set twice", where="Change",
                           wanted="each factor once; another level is another change")  # fmt: skip
        read_level(factor, level or "0")  # a name is looked at where its level is taken away too
        levels[factor] = level
    return levels


def _factor(part: str, names: Sequence[str]) -> tuple[str, str]:
    factor, equals, level = part.partition("=")
    if equals and factor.strip():
        return factor.strip(), level.strip()
    named = _named(part, names)
    if named is None:
        raise BadInput(f"{part.strip()[:40]!r} sets nothing", where="Change", wanted=_WANTED)
    return named, part.strip()[len(named) :].strip()


def _named(part: str, names: Sequence[str]) -> str | None:
    """The factor that a text without equals sign begins with."""
    typed = part.strip().casefold()
    return next((name for name in names if typed.startswith(f"{name.casefold()} ")), None)
