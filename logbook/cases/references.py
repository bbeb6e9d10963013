"""What people name when they compare: a pull, a session, a build or an engine."""

from __future__ import annotations

import re
from dataclasses import dataclass

from logbook.cases.builds import build_of
from logbook.cases.engines import engine_of
from logbook.cases.labels import label_of, session_label
from logbook.cases.pulls import pull_of
from logbook.cases.sessions import session_of
from logbook.records.engine import Build, Engine
from logbook.records.pull import Pull
from logbook.records.session import Session
from logbook.refusals import NotFound
from logbook.store import lookups
from logbook.store.reader import Reader

PULL, SESSION, BUILD, ENGINE = "pull", "session", "build", "engine"
FORMS = (
    "an engine's tag, ENGINE/BUILD such as “RB-2/build 3”, ENGINE/2026-03-14 or ENGINE/last for a"
    " session, ENGINE/2026-03-14/7 for a pull, or an id"
)
_DAY = re.compile(r"\d{4}-\d\d-\d\d|last")


@dataclass(frozen=True, slots=True)
class Reference:
    """What was named. `engine` and `build` are those it belongs to; `session` only where one
    session is meant, `pull` only where one pull is. An engine stands for its newest build that
    was pulled."""

    kind: str
    label: str
    engine: Engine
    build: Build
    session: Session | None = None
    pull: Pull | None = None


def resolve(read: Reader, text: str) -> Reference:
    """What `text` names. Raises `NotFound` with the forms there are."""
    ref = text.strip()
    head, slash, tail = ref.rpartition("/")
    if "/" in head:
        return _pull(read, pull_of(read, ref))
    if slash and _DAY.fullmatch(tail):
        return _session(read, session_of(read, ref))
    if slash:
        engine = engine_of(read, head)
        return _build(engine, build_of(read, engine, tail))
    if ref == "last":
        return _session(read, session_of(read, ref))
    wanted = ref.casefold()
    for engine in read.where(Engine):
        if engine.tag.casefold() == wanted or engine.id == ref:
            return _engine(read, engine)
    return _by_id(read, ref)


def _by_id(read: Reader, ref: str) -> Reference:
    """By an id, or the first eight or more characters of it when only one record fits."""
    found: list[Reference] = []
    if len(ref) >= 8:
        found += [_pull(read, pull) for pull in lookups.starting(read, Pull, ref)]
        found += [_session(read, session) for session in lookups.starting(read, Session, ref)]
        for build in lookups.starting(read, Build, ref):
            found.append(_build(read.get(Engine, build.engine_id), build))
        found += [_engine(read, engine) for engine in lookups.starting(read, Engine, ref)]
    if len(found) != 1:
        said = "fits several records" if found else "names nothing in this book"
        raise NotFound(f"{ref[:60]!r} {said}", where="Compare", wanted=FORMS)
    return found[0]


def _pull(read: Reader, pull: Pull) -> Reference:
    session = read.get(Session, pull.session_id)
    engine, build = read.get(Engine, session.engine_id), read.get(Build, session.build_id)
    return Reference(PULL, label_of(read, pull), engine, build, session, pull)


def _session(read: Reader, session: Session) -> Reference:
    engine, build = read.get(Engine, session.engine_id), read.get(Build, session.build_id)
    return Reference(SESSION, session_label(read, session), engine, build, session)


def _build(engine: Engine, build: Build) -> Reference:
    return Reference(BUILD, f"{engine.tag}/{build.label}", engine, build)


def _engine(read: Reader, engine: Engine) -> Reference:
    """An engine as it was last pulled."""
    last = read.where(Session, engine_id=engine.id, order="opened_at", descending=True, limit=1)
    build = read.get(Build, last[0].build_id) if last else build_of(read, engine, None)
    return Reference(ENGINE, f"{engine.tag}/{build.label}", engine, build)
