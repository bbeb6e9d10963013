"""What the use-cases hand to the doors: frozen results in SI, ready to be shown.

Nothing here computes; the screens, the command line and the reports only read these.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from logbook.records.air import AirReading
from logbook.records.caution import Caution
from logbook.records.cell import Cell
from logbook.records.engine import Build, Engine, Fuel
from logbook.records.pull import Pull
from logbook.records.score import Figures, Score
from logbook.records.session import Session
from logbook.records.setup import FactorChange, SetUp

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

    from logbook.engineering.air import AirState

    Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class AirView:
    """A reading with what follows from it. `age_minutes` is at the pull (or now, for the
    session's latest); `factor` is ``None`` where the standard refuses or air is missing."""

    reading: AirReading
    state: AirState
    age_minutes: float
    stale: bool
    factor: float | None
    factor_in_range: bool


@dataclass(frozen=True, slots=True)
class Noise:
    """The repeatability the judgement used: percent of the baseline's score (standard
    deviation), its degrees of freedom and its source: ``"this session"``, ``"cell history"``
    or ``"assumed"``."""

    percent: float
    degrees_of_freedom: float
    source: str


@dataclass(frozen=True, slots=True)
class Wander:
    """What the judgement believes to move a score beside the noise of single pulls: standard
    deviations, percent, of the drift per pull and of setting the same thing up again; source
    ``"cell history"`` or ``"assumed"``."""

    drift_percent: float
    resetting_percent: float
    source: str


@dataclass(frozen=True, slots=True)
class Drift:
    """The day's drift in percent a pull, with its standard error, and what is usual."""

    percent_per_pull: float
    standard_error: float
    usual: Wander


@dataclass(frozen=True, slots=True)
class Worth:
    """A judged difference. `quantity` says what was judged: ``"band power"`` or
    ``"peak power"``; kW, percent of the baseline, the 95 % interval, the verdict word,
    how many more pulls would settle it (``None``: settled, or more pulls cannot) and how many of
    them (`settle_by`) of this set-up and of what it is measured from, a sentence why, and the
    drift and re-setting error judged with (``None`` between sessions)."""

    quantity: str
    difference_kw: float
    percent: float
    interval_kw: tuple[float, float]
    verdict: str
    noise: Noise
    pulls: tuple[int, ...]
    baseline_pulls: tuple[int, ...]
    more_pulls: int | None
    reason: str
    wander: Wander | None = None
    settle_by: tuple[int, int] = (0, 0)


@dataclass(frozen=True, slots=True)
class PullRow:
    """One line of the session's list. `own_difference_kw` is this pull alone against the
    baseline's mean, undrifted; `worth` is the verdict on its set-up (``None`` for baseline,
    excluded, or nothing to judge by). `changed` is against the pull before."""

    pull: Pull
    setup: SetUp
    score: Score | None
    changed: tuple[FactorChange, ...]
    is_baseline: bool
    own_difference_kw: float | None
    worth: Worth | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class ReadyItem:
    """One temperature of the ready window: ``"oil"``/``"coolant"``, °C, and whether inside
    (``None``: no window on the engine's sheet or no reading)."""

    name: str
    value_c: float | None
    low_c: float | None
    high_c: float | None
    inside: bool | None


@dataclass(frozen=True, slots=True)
class SessionView:
    """Everything the Session screen's header, list and status lines need. Rows newest first."""

    session: Session
    engine: Engine
    build: Build
    cell: Cell
    standard_name: str
    rows: tuple[PullRow, ...]
    baseline_label: str
    noise: Noise | None
    drift: Drift | None
    air: AirView | None
    ready: tuple[ReadyItem, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, eq=False)
class CurveView:
    """A corrected (or, where it cannot be corrected, observed) curve on its speed bins.
    Arrays of equal shape (bins,): rpm, N·m, kW. NaN where a channel has nothing."""

    label: str
    speed_rpm: Array
    torque_nm: Array
    power_kw: Array


@dataclass(frozen=True, slots=True, eq=False)
class DifferenceView:
    """`power_kw` = pull − reference on `speed_rpm`; `low_kw`/`high_kw` the pointwise 95 % band.
    `note` says where the band comes from."""

    speed_rpm: Array
    power_kw: Array
    low_kw: Array
    high_kw: Array
    note: str


@dataclass(frozen=True, slots=True, eq=False)
class AnswerView:
    """The answer for one chosen pull. `from_baseline`/`from_previous` are ``None`` where there
    is nothing to measure from, and `why_none` says why. `readings` are the values shown beside
    the answer: (label, quantity kind, SI value): manifold vacuum, crankcase vacuum, blow-by …"""

    row: PullRow
    air: AirView | None
    from_baseline: Worth | None
    from_previous: Worth | None
    why_none: str
    curve: CurveView | None
    reference: CurveView | None
    difference: DifferenceView | None
    readings: tuple[tuple[str, str, float], ...]


@dataclass(frozen=True, slots=True)
class Differing:
    """One line of everything that differs between two pulls; text ready to show, ``""`` where
    a side has nothing."""

    what: str
    left: str
    right: str


@dataclass(frozen=True, slots=True)
class BareDifference:
    """A difference that nothing is known of but its size: `quantity` (``"band power"`` or
    ``"peak power"``, the same on both sides), kW, and percent of the left pull."""

    quantity: str
    difference_kw: float
    percent: float


@dataclass(frozen=True, slots=True, eq=False)
class CompareView:
    """Two pulls laid over each other, both corrected to one standard (`standard_name`).
    `left`/`right` as (label, figures); `worth` is right − left where it can be judged, `bare`
    their plain difference on the steadiest figure that both have."""

    left: PullRow
    right: PullRow
    left_label: str
    right_label: str
    standard_name: str
    left_figures: Figures
    right_figures: Figures
    left_curve: CurveView | None
    right_curve: CurveView | None
    difference: DifferenceView | None
    worth: Worth | None
    bare: BareDifference | None
    why_no_worth: str
    differing: tuple[Differing, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class PullPreview:
    """A chosen trace file before it is accepted: what was read, and what must be asked.
    `known_torque_state` is ``None`` when nobody has yet said for this kind of file whether its
    torque is observed or already corrected. `part` of `parts` is shown, the first that is no
    pull yet; `more` others are none either. Samples are counted from 1 in the file; `moved` are
    those that somebody has given in place of what was found."""

    path: str
    name: str
    kind: str
    samples_taken: str
    speed_from_rpm: float
    speed_to_rpm: float
    figures: Figures
    channels: tuple[str, ...]
    known_torque_state: str | None
    cautions: tuple[Caution, ...]
    part: int = 1
    parts: int = 1
    more: int = 0
    moved: str | None = None


@dataclass(frozen=True, slots=True)
class Logged:
    """A pull that has just been stored, judged with its session; `undo_group` takes it back."""

    pull_id: str
    session_id: str
    number: int
    undo_group: str
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class Closed:
    """A session that was closed; `backup` is the automatic copy of the book, ``None`` where
    none is wanted or (then a caution says why) none could be made."""

    session: Session
    backup: Path | None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True)
class PullStory:
    """One pull with all its context, as `pull show` prints it; `why_none` where it has no worth."""

    row: PullRow
    session: Session
    engine: Engine
    build: Build
    cell: Cell
    fuel: Fuel | None
    air: AirView | None
    worth: Worth | None
    source_name: str | None
    samples: tuple[int, int] | None = None
    why_none: str = ""
