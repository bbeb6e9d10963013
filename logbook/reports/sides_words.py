"""What a rebuild was worth by itself, in words: the same on the screen, in the terminal and on
paper."""

from __future__ import annotations

from typing import TYPE_CHECKING

from logbook import quantities
from logbook.plain import capital
from logbook.reports import showing
from logbook.verdict.words import listed

if TYPE_CHECKING:
    from logbook.cases.sides_results import (
        Assumed,
        AttributionView,
        EvidenceView,
        MemberView,
        Part,
        Share,
        SidesView,
    )

COMPOUND = "Power adds up to the total; percentages are of what was changed, and compound."


def subject(view: AttributionView) -> str:
    """``The rebuild``, or ``The rebuild and fuel together`` where they cannot be told apart."""
    name = capital(view.subject)
    return name if view.told else f"{name} and {listed(view.untold)} together"


def span(edges_kw: tuple[float, float], system: str) -> str:
    """``from +1.2 to +8.5 hp``."""
    low, high = (showing.signed(edge, system) for edge in edges_kw)
    return f"from {low} to {high} {quantities.display_unit('power', system)}"


def answer(view: AttributionView, system: str) -> str:
    """``The rebuild: +4.8 hp, from +1.2 to +8.5 hp``."""
    worth = showing.signed(view.rest.difference_kw, system, unit=True)
    return f"{subject(view)}: {worth}, {span(view.rest.interval_kw, system)}"


def claims(view: AttributionView, system: str) -> list[str]:
    """At least and at most, and on what assumption."""
    least, most = (
        None if edge is None else showing.signed(edge, system, unit=True)
        for edge in (view.at_least_kw, view.at_most_kw)
    )
    if view.told:
        return [f"{capital(view.subject)} can claim at least {least}, at most {most} (95 %)."]
    said = [
        f"{capital(view.subject)} cannot be told apart from {listed(view.untold)}:"
        " never changed alone, on this engine or a sister."
    ]
    given = f"If {listed([_assumption(one) for one in view.assumed])}, {view.subject} is worth"
    bounds = [f"at {word} {edge}" for word, edge in (("least", least), ("most", most)) if edge]
    if bounds:
        said.append(f"{given} {listed(bounds)} (95 %).")
    if least is None:
        open_end = [one.factor for one in view.assumed if one.most_percent is None]
        said.append(f"Nothing bounds it from below until a most is assumed for {listed(open_end)}.")
    return said


def _assumption(one: Assumed) -> str:
    least, most = one.least_percent, one.most_percent
    if most is None:
        return f"{one.factor} by itself lost nothing"
    low, high = (showing.percent(edge or 0.0).removesuffix(" %") for edge in (least, most))
    return f"{one.factor} by itself brought {low} to {high} %"


def change(member: MemberView) -> str:
    """``fuel: Pump 93 → Race O2``."""
    old, new = member.old or showing.NOTHING, member.new or showing.NOTHING
    return f"{member.factor}: {old} → {new}"


def percents(edges: tuple[float, float]) -> str:
    """``+1.6 to +2.5 %``."""
    low, high = (showing.percent(edge, 2) for edge in edges)
    return f"{low.removesuffix(' %')} to {high}"


def share_cells(share: Share | None, system: str) -> tuple[str, str, str, str]:
    """A share in a table: worth, interval, percent, interval in percent."""
    if share is None:
        return ("not known alone", "", "", "")
    low, high = (showing.signed(edge, system) for edge in share.interval_kw)
    return (
        showing.signed(share.difference_kw, system),
        f"{low} to {high}",
        showing.percent(share.percent, 2).removesuffix(" %"),
        percents(share.interval_percent).removesuffix(" %"),
    )


def where(line: EvidenceView) -> str:
    """``HC-4B/2024-05-04 pulls 2–9, build 1``."""
    return f"{'; '.join(map(pulled, line.sessions))}, {line.build}"


def pulled(part: Part) -> str:
    """``HC-4B/2024-05-04 pulls 2–9``."""
    noun = "pull" if len(part.pulls) == 1 else "pulls"
    return f"{part.label} {noun} {showing.numbers(part.pulls)}"


def counts(line: EvidenceView) -> str:
    """How a line of evidence counts: ``weight 85 %, this engine``."""
    if line.weight is None:
        return "shown, not counted"
    whose = "this engine" if line.own else "another engine or set-up"
    apart = ", on different days" if line.days_apart else ""
    return f"weight {100 * line.weight:.0f} %, {whose}{apart}"


def basis(view: SidesView) -> list[str]:
    """What the band rests on."""
    said = [view.worth.reason]
    if view.uncontrolled:
        said.append(f"Not controlled, so part of the difference: {listed(view.uncontrolled)}.")
    found = view.attribution
    if found is not None and found.members:
        said.append(
            "What a change is worth is taken to differ from engine to engine within a standard"
            f" deviation of {found.carrying.percent:.2f} % ({found.carrying.source})."
        )
        said.append(COMPOUND)
    return said
