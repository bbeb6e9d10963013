"""Builds: what is in an engine, by system; a build begins as a copy of the one before."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from logbook.cases.desk import Desk
from logbook.cases.engines import engine_of, name_of
from logbook.cases.item_values import item_attributes
from logbook.cases.labels import today
from logbook.cases.typed import nearest, read_date
from logbook.records.build_item import KEPT, REJECTED, SYSTEMS, BuildItem
from logbook.records.engine import Build, Engine
from logbook.records.ids import new_id
from logbook.records.setup import Level, factor_key
from logbook.refusals import BadInput, Conflict, NotFound
from logbook.store.reader import Reader


@dataclass(frozen=True, slots=True)
class ItemChange:
    """One item that differs between two builds; ``None`` where a side does not have it.

    `renewed`: by its figures the same, but another part, or one that was worked on.
    """

    old: BuildItem | None
    new: BuildItem | None
    renewed: bool = False

    @property
    def item(self) -> BuildItem:
        """The item as the later build has it, or else as the earlier one had it."""
        found = self.new or self.old
        assert found is not None
        return found


@dataclass(frozen=True, slots=True)
class BuildSheet:
    """A build with its items by system, and what is different from its parent."""

    engine: Engine
    build: Build
    parent: Build | None
    items: tuple[BuildItem, ...]
    difference: tuple[ItemChange, ...]

    def change_of(self, item: BuildItem) -> ItemChange | None:
        """What is different in an item; ``None`` where it is as in the parent."""
        return next((change for change in self.difference if change.new == item), None)


def add_build(
    desk: Desk,
    tag: str,
    label: str,
    *,
    built_on: str | None = None,
    notes: str = "",
    copied: str | None = None,
    of: str | None = None,
    empty: bool = False,
) -> Build:
    """A new build of an engine, as a copy of the build before.

    `copied` names another build to start from, `of` the engine that has it where it is a sister;
    the parent is the build it was copied from, or this engine's own before where that is another's.
    Items come over as kept, rejected ones stay behind. `empty` copies nothing.
    """
    label = name_of(label, "Build")
    with desk.book.changing(who=desk.who, what=f"Build {label} of {tag} entered") as change:
        day = read_date(built_on, field="Built on") if built_on else today(desk, change)
        engine = engine_of(change, tag)
        builds = builds_of(change, engine.id)
        _refuse_taken(engine, builds, label)
        earlier = [build for build in builds if (build.built_on or "") <= day]
        parent = earlier[-1] if earlier else None
        origin = parent
        if copied is not None or of is not None:
            origin = build_of(change, engine_of(change, of or tag), copied)
            parent = origin if origin.engine_id == engine.id else parent
        build = Build(
            id=new_id(),
            engine_id=engine.id,
            label=label,
            built_on=day,
            parent_id=parent.id if parent else None,
            notes=notes,
        )
        change.insert(build)
        if origin is not None and not empty:
            for item in items_of(change, origin.id):
                if item.done != REJECTED:
                    change.insert(replace(item, id=new_id(), build_id=build.id, done=KEPT))
    return build


def _refuse_taken(engine: Engine, builds: Iterable[Build], label: str) -> None:
    if any(build.label.casefold() == label.casefold() for build in builds):
        raise Conflict(f"{label!r} is already a build of {engine.tag}", where="Build",
                       wanted="another label")  # fmt: skip


def change_build(
    desk: Desk,
    tag: str,
    label: str,
    *,
    new_label: str | None = None,
    built_on: str | None = None,
    notes: str | None = None,
    why: str = "",
) -> Build:
    """Correct a build's label, date or note."""
    values: dict[str, Any] = {}
    if built_on is not None:
        values["built_on"] = read_date(built_on, field="Built on") if built_on.strip() else None
    if notes is not None:
        values["notes"] = notes
    with desk.book.changing(
        who=desk.who, what=f"Build {label} of {tag} changed", why=why
    ) as change:
        engine = engine_of(change, tag)
        build = build_of(change, engine, label)
        if new_label is not None:
            values["label"] = name_of(new_label, "Build")
            others = [other for other in builds_of(change, engine.id) if other.id != build.id]
            _refuse_taken(engine, others, values["label"])
        change.update(Build, build.id, **values)
        return change.get(Build, build.id)


def list_builds(desk: Desk, tag: str) -> list[Build]:
    """The builds of an engine, newest last."""
    with desk.book.reading() as read:
        return builds_of(read, engine_of(read, tag).id)


def builds_of(read: Reader, engine_id: str) -> list[Build]:
    """The builds by date, then by entry; newest last."""
    builds = read.where(Build, engine_id=engine_id)
    return sorted(builds, key=lambda build: (build.built_on or "", build.id))


def build_of(read: Reader, engine: Engine, label: str | None) -> Build:
    """The engine's build of this label (or id), the newest without one; `NotFound` names them."""
    builds = builds_of(read, engine.id)
    if label is None and builds:
        return builds[-1]
    wanted = (label or "").strip().casefold()
    for build in builds:
        if build.label.casefold() == wanted or build.id == label:
            return build
    raise NotFound(
        f"{engine.tag} has no build {(label or '')[:40]!r}",
        where="Build",
        wanted=nearest(label or "", [build.label for build in builds]),
    )


def build_sheet(desk: Desk, tag: str, label: str | None = None) -> BuildSheet:
    """A build (the newest without a label) with its items and their difference from its parent."""
    with desk.book.reading() as read:
        engine = engine_of(read, tag)
        build = build_of(read, engine, label)
        parent = read.get(Build, build.parent_id) if build.parent_id else None
        items = items_of(read, build.id)
        before = items_of(read, parent.id) if parent else []
    return BuildSheet(
        engine=engine,
        build=build,
        parent=parent,
        items=tuple(items),
        difference=difference(before, items) if parent else (),
    )


def compare_builds(
    desk: Desk, one: tuple[str, str | None], other: tuple[str, str | None]
) -> tuple[ItemChange, ...]:
    """What differs from one build to another; each is (engine's tag, label), the newest without
    a label. They may be those of sister engines."""
    with desk.book.reading() as read:
        before, after = (
            items_of(read, build_of(read, engine_of(read, tag), label).id)
            for tag, label in (one, other)
        )
    return difference(before, after)


def items_of(read: Reader, build_id: str) -> list[BuildItem]:
    """The items of a build by system, the shop's own systems last; within one as entered."""
    places = {factor_key(system): place for place, system in enumerate(SYSTEMS)}

    def place(item: BuildItem) -> tuple[int, str]:
        key = factor_key(item.system)
        return places.get(key, len(places)), key

    return sorted(read.where(BuildItem, build_id=build_id), key=place)


def set_item(
    desk: Desk,
    tag: str,
    label: str | None,
    system: str,
    name: str,
    given: Mapping[str, str],
    *,
    why: str = "",
) -> BuildItem:
    """Enter an item of a build, or set what is given of one that is there.

    `given` has keys of `item_values.KEYS`; an empty text empties. Raises `BadInput`.
    """
    name = name_of(name, "Item")
    with desk.book.changing(who=desk.who, what="", why=why) as change:
        engine = engine_of(change, tag)
        build = build_of(change, engine, label)
        items = items_of(change, build.id)
        system = _system(system, items)
        known = _item(items, system, name)
        values = item_attributes(given, known.typed if known else {}, engine.cylinders)
        if known is None:
            item = BuildItem(id=new_id(), build_id=build.id, system=system, name=name, **values)
            change.insert(item)
        else:
            change.update(BuildItem, known.id, **values)
            item = change.get(BuildItem, known.id)
        change.what = f"{build.label} of {engine.tag}: {item.name} {item.text}".rstrip()
    return item


def drop_item(desk: Desk, tag: str, label: str | None, system: str, name: str) -> BuildItem:
    """Take an item out of a build's sheet. Raises `NotFound`."""
    with desk.book.changing(who=desk.who, what="") as change:
        engine = engine_of(change, tag)
        build = build_of(change, engine, label)
        items = items_of(change, build.id)
        item = _item(items, _system(system, items), name)
        if item is None:
            raise NotFound(f"{build.label} of {engine.tag} has no item {name[:40]!r}", where="Item",
                           wanted=nearest(name, [item.name for item in items]))  # fmt: skip
        change.withdraw(BuildItem, item.id)
        change.what = f"{build.label} of {engine.tag}: {item.name} taken out"
    return item


def _item(items: Iterable[BuildItem], system: str, name: str) -> BuildItem | None:
    wanted = (factor_key(system), factor_key(name))
    found = [item for item in items if _key(item) == wanted]
    return found[-1] if found else None


def _system(text: str, items: Iterable[BuildItem]) -> str:
    """The system that is meant: one known by its name or its beginning, else the shop's own."""
    wanted = factor_key(text)
    if not wanted:
        raise BadInput("an item belongs to a system", where="System",
                       wanted="one of " + ", ".join(SYSTEMS) + ", or one of your own")  # fmt: skip
    known = dict.fromkeys((*SYSTEMS, *(item.system for item in items)))
    equal = [system for system in known if factor_key(system) == wanted]
    begun = [system for system in known if factor_key(system).startswith(wanted)]
    if equal or len(begun) == 1:
        return (equal or begun)[0]
    return name_of(text, "System")


def _key(item: BuildItem) -> tuple[str, str]:
    return factor_key(item.system), factor_key(item.name)


def difference(before: Iterable[BuildItem], after: Iterable[BuildItem]) -> tuple[ItemChange, ...]:
    """What differs from one build's items to another's, in the order of the later one; what was
    left out comes last. A part that is new, reclaimed or rejected differs by that alone."""
    old = {_key(item): item for item in before}
    new = {_key(item): item for item in after}
    changes = []
    for key, item in new.items():
        known = old.get(key)
        if known is None or _figures(known) != _figures(item):
            changes.append(ItemChange(known, item))
        elif item.done not in ("", KEPT):
            changes.append(ItemChange(known, item, renewed=True))
    changes += [ItemChange(item, None) for key, item in old.items() if key not in new]
    return tuple(changes)


def _figures(item: BuildItem) -> tuple[object, ...]:
    """What makes an item the same as another, however it was written."""

    def digits(value: float | None) -> str:
        return "" if value is None else f"{value:.9g}"

    return (
        Level(item.text, item.number, item.unit).identity,
        tuple(digits(value) for value in item.per_cylinder),
        digits(item.low),
        digits(item.high),
    )
