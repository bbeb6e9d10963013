"""What a comparison of builds, sessions or sister engines hands to the doors. Nothing computes."""

from __future__ import annotations

from dataclasses import dataclass

from logbook.cases.results import CurveView, DifferenceView, Differing, Noise, Worth
from logbook.records.caution import Caution
from logbook.records.score import Figures


@dataclass(frozen=True, slots=True)
class Part:
    """One session's pulls in a side: the session's label, its id, and the pulls' numbers."""

    session_id: str
    label: str
    pulls: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class SideView:
    """One side: what was named, the engine and build it belongs to, the set-up compared (as
    words), the pulls counted in it, and the means of their corrected figures. `set_ups` is how
    many set-ups the side was run with."""

    kind: str
    label: str
    engine: str
    build: str
    set_up: str
    set_ups: int
    parts: tuple[Part, ...]
    figures: Figures

    @property
    def pulls(self) -> int:
        """How many pulls stand behind the figures."""
        return sum(len(part.pulls) for part in self.parts)


@dataclass(frozen=True, slots=True)
class Share:
    """A part of a total: kW at the middle of the two powers, so that shares add up to the total,
    and percent of what was changed, which compound."""

    difference_kw: float
    interval_kw: tuple[float, float]
    percent: float
    interval_percent: tuple[float, float]
    degrees_of_freedom: float


@dataclass(frozen=True, slots=True)
class EvidenceView:
    """One line of evidence: where a change was made alone and what it was worth there, percent.
    `weight` is its share in the worth taken, ``None`` where it is only shown; `own`: of the
    engine in question; `days_apart`: before and after were pulled in different sessions."""

    engine: str
    build: str
    sessions: tuple[Part, ...]
    percent: float
    interval_percent: tuple[float, float]
    weight: float | None
    own: bool
    days_apart: bool


@dataclass(frozen=True, slots=True)
class MemberView:
    """One change of the bundle; `worth` is ``None`` where nothing is known of it alone.
    `sessions_found` counts those that show it alone, used or not."""

    factor: str
    old: str
    new: str
    worth: Share | None
    evidence: tuple[EvidenceView, ...]
    sessions_found: int


@dataclass(frozen=True, slots=True)
class Assumed:
    """What was assumed of a change without evidence, percent; ``None``: no limit."""

    factor: str
    least_percent: float | None
    most_percent: float | None


@dataclass(frozen=True, slots=True)
class AttributionView:
    """What the rebuild (or the other engine) was worth apart from the rest.

    `subject` are the words for it. `rest` is its worth, together with every change in `untold`.
    `at_least_kw`/`at_most_kw` bound it by itself, with percents beside; ``None`` where nothing
    does. `sisters` is what sisters' rebuilds were worth, shown and not used.
    """

    subject: str
    rest: Share
    verdict: str
    told: bool
    at_least_kw: float | None
    at_most_kw: float | None
    at_least_percent: float | None
    at_most_percent: float | None
    assumed: tuple[Assumed, ...]
    members: tuple[MemberView, ...]
    carrying: Noise
    sisters: tuple[EvidenceView, ...]

    @property
    def untold(self) -> tuple[str, ...]:
        """The factors that nothing is known of alone."""
        return tuple(member.factor for member in self.members if member.worth is None)


@dataclass(frozen=True, slots=True, eq=False)
class SidesView:
    """Two builds, sessions or engines over each other, right − left, under one standard.

    `worth` is the difference of the means with its band; `attribution` is ``None`` where both
    sides are of one build. `band_rpm` is the band of the averages. Curves come from
    `sides_curves.side_curves`.
    """

    left: SideView
    right: SideView
    standard_name: str
    band_rpm: tuple[float, float] | None
    worth: Worth
    attribution: AttributionView | None
    differing: tuple[Differing, ...]
    uncontrolled: tuple[str, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, eq=False)
class SideCurves:
    """The mean curves of both sides and the difference right − left with its band; ``None``
    where a side has none."""

    left: CurveView | None
    right: CurveView | None
    difference: DifferenceView | None
