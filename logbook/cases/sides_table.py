"""Two sides beside each other: what was pulled, everything that differs, what nobody controlled."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import fields

from logbook.cases.air_of_pulls import airs_of
from logbook.cases.builds import difference, items_of
from logbook.cases.days import Day
from logbook.cases.family import MOST_SESSIONS
from logbook.cases.labels import pulls_words
from logbook.cases.results import Differing
from logbook.cases.scales import calibration_behind
from logbook.cases.sides import MOST_DAYS, Side, Sides
from logbook.cases.sides_laid import Laid
from logbook.cases.sides_results import SidesView, SideView
from logbook.cases.sides_worth import attribution_view, parts_of, total_worth
from logbook.plain import capital
from logbook.quantities import show
from logbook.records.build_item import BuildItem
from logbook.records.calibration import Calibration
from logbook.records.caution import Caution
from logbook.records.engine import Fuel
from logbook.records.score import Figures
from logbook.records.setup import FUEL, factor_key
from logbook.records.times import day_in
from logbook.store.reader import Reader

MOST_NAMED = 4
"""Distinct values of one side that a line names before it only counts them."""


def sides_view(read: Reader, laid: Laid, units: str) -> SidesView:
    """Everything that the doors show."""
    from logbook.engineering.correction import standard

    sides = laid.sides
    assert sides.terms.standard is not None  # sides are always on one standard
    return SidesView(
        left=_side_view(read, sides.left),
        right=_side_view(read, sides.right),
        standard_name=standard(sides.terms.standard).name,
        band_rpm=sides.terms.band,
        worth=total_worth(laid),
        attribution=attribution_view(read, laid),
        differing=tuple(_differing(read, sides, units)),
        uncontrolled=tuple(_uncontrolled(read, sides)),
        cautions=tuple(_cautions(laid)),
    )


def _side_view(read: Reader, side: Side) -> SideView:
    weights = {session: [label] for session, label in side.chosen.items()}
    return SideView(
        kind=side.named.kind,
        label=side.named.label,
        engine=side.named.engine.tag,
        build=side.named.build.label,
        set_up=", ".join(f"{name} {level.text}" for name, level in side.set_up.levels.items()),
        set_ups=side.set_ups,
        parts=parts_of(read, side.days, weights),
        figures=_mean([day.figures[pull.id] for day, pull in side.pulls()]),
    )


def _mean(figures: Sequence[Figures]) -> Figures:
    """The mean of every figure that all of them have."""

    def of(name: str) -> float | None:
        values = [value for one in figures if (value := getattr(one, name)) is not None]
        return sum(values) / len(values) if len(values) == len(figures) else None

    return Figures(**{slot.name: of(slot.name) for slot in fields(Figures)})


def _differing(read: Reader, sides: Sides, units: str) -> Iterable[Differing]:
    """Parts, set-up, fuel batch, cell, calibration, standard, temperatures, accessories, oil."""
    left, right = sides.left, sides.right
    yield from _unequal("Engine", left.named.engine.tag, right.named.engine.tag)
    yield from _unequal("Build", left.named.build.label, right.named.build.label)
    yield from _items(read, sides)
    for change in sides.changes:
        old, new = (level.text if level else "" for level in (change.old, change.new))
        yield Differing(capital(change.factor), old, new)
    for what, of in (
        ("Fuel batch", lambda side: _fuel_batches(read, side)),
        ("Cell", lambda side: _of_days(side, lambda day: day.cell.name)),
        ("Absorber", lambda side: _of_days(side, lambda day: day.cell.absorber)),
        ("Load cell calibrated", lambda side: _calibrations(read, side)),
        ("Logged under", lambda side: _of_days(side, lambda day: day.session.standard)),
        ("Oil", lambda side: _of_days(side, lambda day: day.session.oil)),
        ("Exhaust", lambda side: _of_days(side, lambda day: day.session.exhaust)),
        ("Accessories", lambda side: _of_days(side, lambda day: day.session.accessories)),
        ("Operator", lambda side: _of_days(side, lambda day: day.session.operator)),
        ("Power from", lambda side: _of_days(side, lambda day: day.session.power_source)),
        ("Kind", lambda side: (pull.kind for _, pull in side.pulls())),
    ):  # fmt: skip
        yield from _unequal(what, *(_named(of(side)) for side in (left, right)))
    yield from _measured(read, sides, units)


def _unequal(what: str, left: str, right: str) -> Iterable[Differing]:
    if left != right:
        yield Differing(what, left, right)


def _named(values: Iterable[str]) -> str:
    """The distinct values in a line, in order."""
    distinct = list(dict.fromkeys(value for value in values if value))
    if len(distinct) > MOST_NAMED:
        return f"{len(distinct)} different ones"
    return " / ".join(distinct)


def _of_days(side: Side, of: Callable[..., str]) -> list[str]:
    return [of(side.days[session]) for session in side.chosen]


def _fuel_batches(read: Reader, side: Side) -> list[str]:
    ids = dict.fromkeys(pull.fuel_id for _, pull in side.pulls() if pull.fuel_id)
    return [read.get(Fuel, fuel_id).batch for fuel_id in ids]


def _calibrations(read: Reader, side: Side) -> list[str]:
    """The load cell's calibrations that the pulls rest on, by their day."""
    zones = {one: day.cell.time_zone for day, one in _behind(read, side) if one}
    return [day_in(read.get(Calibration, i).calibrated_at, zone) for i, zone in zones.items()]


def _behind(read: Reader, side: Side) -> list[tuple[Day, str]]:
    return [(day, calibration_behind(read, day.cell.id, pull)) for day, pull in side.pulls()]


def _items(read: Reader, sides: Sides) -> Iterable[Differing]:
    """The parts that differ from build to build; what was done to them tells something only from
    one build of an engine to another."""
    left, right = sides.left.named, sides.right.named
    if left.build.id == right.build.id:
        return
    same = left.engine.id == right.engine.id
    for change in difference(*(items_of(read, one.build.id) for one in (left, right))):
        if same or not change.renewed:
            name = f"{capital(change.item.system)}: {change.item.name}"
            yield Differing(name, _item(change.old), _item(change.new))


def _item(item: BuildItem | None) -> str:
    """Value, per-cylinder values as typed, and what was done."""
    if item is None:
        return ""
    values = "; ".join(part for part in (item.text, item.typed.get("per_cylinder", "")) if part)
    return " ".join(part for part in (values, item.done) if part)


def _measured(read: Reader, sides: Sides, units: str) -> Iterable[Differing]:
    """Air and temperatures as means where they differ as shown."""
    shown = []
    for side in (sides.left, sides.right):
        pulls = [pull for _, pull in side.pulls()]
        airs = airs_of(read, pulls).values()
        shown.append({
            "Oil temperature": _average((p.oil_c for p in pulls), "temperature", units),
            "Coolant": _average((p.coolant_c for p in pulls), "temperature", units),
            "Air pressure": _average((a.pressure_kpa for a in airs), "pressure", units),
            "Air temperature": _average((a.temperature_c for a in airs), "temperature", units),
        })  # fmt: skip
    for what, left in shown[0].items():
        yield from _unequal(f"{what}, mean", left, shown[1][what])


def _average(values: Iterable[float | None], kind: str, units: str) -> str:
    known = [value for value in values if value is not None]
    return show(sum(known) / len(known), kind, units) if known else ""


def _uncontrolled(read: Reader, sides: Sides) -> Iterable[str]:
    """What differs beside builds and set-ups, and is in the difference too."""
    left, right = sides.left, sides.right
    for what, of in (
        ("cell", lambda day: day.cell.name),
        ("absorber", lambda day: day.cell.absorber),
        ("oil", lambda day: day.session.oil),
        ("exhaust", lambda day: day.session.exhaust),
        ("accessories", lambda day: day.session.accessories),
    ):
        one, other = (set(_of_days(side, of)) for side in (left, right))
        if one != other:
            yield what if what == "accessories" else f"another {what}"
    if {one for _, one in _behind(read, left)} != {one for _, one in _behind(read, right)}:
        yield "another calibration of the load cell"
    if FUEL not in {factor_key(change.factor) for change in sides.changes} and _named(
        _fuel_batches(read, left)
    ) != _named(_fuel_batches(read, right)):
        yield "another fuel batch"


def _cautions(laid: Laid) -> Iterable[Caution]:
    sides = laid.sides
    for side in (sides.left, sides.right):
        standards = {side.days[session].session.standard for session in side.chosen}
        if standards != {sides.terms.standard}:
            yield Caution("another-standard", f"{side.named.label}: pulls that were logged under"
                          " another standard are corrected anew here")  # fmt: skip
        if any(side.days[session].band != sides.terms.band for session in side.chosen):
            yield Caution("another-band", f"{side.named.label}: averages are over the band of"
                          f" {sides.left.named.label}, not that of each session")  # fmt: skip
        if side.left_out:
            yield Caution("older-sessions", f"{side.named.label}: the newest {MOST_DAYS} sessions"
                          f" are compared, {side.left_out} older ones are not")  # fmt: skip
    for change, count in zip(sides.changes, laid.found, strict=True):
        if count > MOST_SESSIONS:
            yield Caution("more-evidence", f"{capital(change.factor)}: {MOST_SESSIONS} of the"
                          f" {count} sessions that show it alone are used")  # fmt: skip
    for day in laid.days.values():
        if day.other_scale:
            label = f"{day.engine.tag}/{day_in(day.session.opened_at, day.cell.time_zone)}"
            yield Caution("another-calibration", f"{label}: {pulls_words(list(day.other_scale))}"
                          " taken through another calibration of the load cell than the rest:"
                          " left out")  # fmt: skip
    if laid.other_band:
        yield Caution("evidence-on-another-band", f"{laid.other_band} sessions that show a change"
                      " alone were judged on another band and are left out")  # fmt: skip
