"""Closing a session: is the baseline returned, what the verdicts become, what stays open."""

from __future__ import annotations

from dataclasses import dataclass, replace

from logbook.cases.bench import Bench
from logbook.cases.desk import Desk
from logbook.cases.grouping import barred, groups_of
from logbook.cases.landing import waiting
from logbook.cases.laying_out import lay_out
from logbook.cases.permitted import barred_set_ups
from logbook.cases.plan import plan_progress
from logbook.cases.rejudged import THE_BASELINE, Stand, standing_of
from logbook.records.session import CLOSED
from logbook.verdict.words import FINAL


@dataclass(frozen=True, slots=True)
class Ending:
    """One set-up at the close: its running verdict, and how it stands in the closed session.
    `returned`: the baseline was pulled before it and again after it."""

    running: str
    stand: Stand
    returned: bool

    @property
    def settled(self) -> bool:
        """Whether its verdict is final and says something."""
        return self.stand.word in FINAL


@dataclass(frozen=True, slots=True)
class Closing:
    """What closing makes of a session. `endings` are its changes in the order of their pulls;
    `returned` whether the baseline was pulled again after every one of them (``None`` where
    there is no baseline here or no change). `plan_left` counts pulls of the plan that were not
    made, `waiting` the files that have landed and were not logged; `barred` is why no further
    pull may be advised, or ``""``."""

    endings: tuple[Ending, ...]
    returned: bool | None
    plan_left: int
    waiting: int
    barred: str

    @property
    def not_returned(self) -> tuple[int, ...]:
        """The pulls after which the baseline was not pulled again."""
        return tuple(sorted(n for end in self.endings if not end.returned for n in end.stand.pulls))

    @property
    def open(self) -> tuple[Ending, ...]:
        """The changes that stay without a final verdict."""
        return tuple(end for end in self.endings if not end.settled)


def closing(desk: Desk, session_id: str) -> Closing:
    """What closing this session would make of it, by the judgement's own rule; of a closed
    session, what it did."""
    bench = lay_out(desk, session_id)
    now, closed = standing_of(desk, bench), standing_of(desk, _closed(bench))
    returned = _returned(bench)
    endings = tuple(
        Ending(now.set_ups[key].word, stand, returned.get(key, False))
        for key, stand in sorted(closed.set_ups.items(), key=lambda item: item[1].pulls)
        if stand.word != THE_BASELINE
    )
    progress = plan_progress(desk, session_id)
    here = bench.elsewhere is None and bool(bench.baseline_pulls) and bool(endings)
    return Closing(
        endings=endings,
        returned=all(end.returned for end in endings) if here else None,
        plan_left=len(progress.lines) - progress.done if progress else 0,
        waiting=len(waiting(desk)),
        barred=barred(bench.session, bench.pulls),
    )


def _closed(bench: Bench) -> Bench:
    """The session as if it were closed."""
    session = replace(bench.session, status=CLOSED)
    line = replace(bench.line, session=session)
    groups = groups_of(line, bench.baseline, bench.learned, barred_set_ups(bench))
    return replace(bench, session=session, line=line, groups=groups)


def _returned(bench: Bench) -> dict[tuple[str, str], bool]:
    """Whether each set-up, by what is judged and its fingerprint, is bracketed by the baseline."""
    if bench.elsewhere is not None:
        return {}
    return {
        (group.quantity, bench.line.prints[pull.id]): group.judgement.order.returned_after(
            group.labels[pull.id], 0
        )
        for group in bench.groups
        for pull in group.pulls
    }
