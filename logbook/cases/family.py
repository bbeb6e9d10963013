"""What the engines of a family were run with, and where a change was made alone."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from itertools import pairwise

from logbook.records.engine import Engine
from logbook.records.setup import FactorChange, Identity, SetUp, factor_key, identity_of
from logbook.store.family import Run, runs_of
from logbook.store.reader import Reader

MOST_SESSIONS = 12
"""Of the sessions that show one change so many are used: the builds in question first, then the
newest."""

Rest = frozenset[tuple[str, tuple[str, str]]]
Places = dict[tuple[str, Rest], dict[Identity, dict[str, None]]]


@dataclass(slots=True)
class Family:
    """The runs of some engines and their sisters, newest session first, with their set-ups and
    these' fingerprints."""

    engines: Mapping[str, Engine]
    runs: tuple[Run, ...]
    setups: Mapping[str, SetUp]
    prints: Mapping[str, str]
    _builds: dict[str, str] = field(init=False)
    _by_factor: dict[str, Places] = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Sessions in the order of the runs, with their builds."""
        self._builds = {run.session_id: run.build_id for run in self.runs}

    @classmethod
    def of(cls, read: Reader, *engines: Engine) -> Family:
        """These engines with every other of their families; engines of no family stand alone."""
        names = {engine.family.strip().casefold() for engine in engines} - {""}
        own = {engine.id for engine in engines}
        found = {
            engine.id: engine
            for engine in read.where(Engine)
            if engine.id in own or engine.family.strip().casefold() in names
        }
        runs = tuple(runs_of(read, found))
        setups = read.setups({run.setup_id for run in runs})
        prints = {setup_id: setup.fingerprint for setup_id, setup in setups.items()}
        return cls(found, runs, setups, prints)

    def sessions_of(self, build_id: str) -> list[str]:
        """The sessions of a build that have pulls, newest first."""
        return [session for session, build in self._builds.items() if build == build_id]

    def showing(self, change: FactorChange, builds: Collection[str]) -> list[str]:
        """Sessions in which this factor alone was changed between these levels, those of `builds`
        first, newest first."""
        old, new = identity_of(change.old), identity_of(change.new)
        found = {
            session
            for levels in self._places(change.factor).values()
            if old in levels and new in levels
            for session in levels[old].keys() & levels[new].keys()
        }
        order = [session for session in self._builds if session in found]
        return sorted(order, key=lambda session: self._builds[session] not in builds)

    def days_apart(self, change: FactorChange, builds: Collection[str]) -> list[str]:
        """Sessions of one build that show the two levels on different days, of at most two builds
        and a few days a level."""
        sides = identity_of(change.old), identity_of(change.new)
        both = [
            (build, levels)
            for (build, _), levels in self._places(change.factor).items()
            if all(side in levels for side in sides)
        ]
        both.sort(key=lambda pair: pair[0] not in builds)
        a_level = MOST_SESSIONS // 4
        return [
            session
            for _, levels in both[:2]
            for side in sides
            for session in list(levels[side])[:a_level]
        ]

    def seen(self, change: FactorChange, builds: Collection[str]) -> bool | None:
        """Whether a change was made alone in one of `builds`; ``None``: nowhere at all."""
        found = self.showing(change, builds)
        if found:
            return self._builds[found[0]] in builds
        return False if self.days_apart(change, builds) else None

    def rebuilt(self, engine_id: str) -> tuple[str, str, str] | None:
        """Of an engine the newest two builds that were run in one set-up: (build before, build
        after, the set-up's fingerprint)."""
        builds: dict[str, dict[str, None]] = {}
        for run in self.runs:
            if run.engine_id == engine_id:
                builds.setdefault(run.build_id, {})[self.prints[run.setup_id]] = None
        newest = list(builds)
        for after, before in pairwise(newest):
            for fingerprint in builds[after]:
                if fingerprint in builds[before]:
                    return before, after, fingerprint
        return None

    def _places(self, factor: str) -> Places:
        """Build and everything of a set-up but one factor → that factor's level → sessions."""
        key = factor_key(factor)
        if key not in self._by_factor:
            split = {setup_id: _split(setup, key) for setup_id, setup in self.setups.items()}
            places: Places = {}
            for run in self.runs:
                rest, level = split[run.setup_id]
                levels = places.setdefault((run.build_id, rest), {})
                levels.setdefault(level, {})[run.session_id] = None
            self._by_factor[key] = places
        return self._by_factor[key]


def _split(setup: SetUp, key: str) -> tuple[Rest, Identity]:
    keyed = setup.keyed()
    own = keyed.get(key)
    rest = frozenset((name, level.identity) for name, (_, level) in keyed.items() if name != key)
    return rest, own[1].identity if own else None
