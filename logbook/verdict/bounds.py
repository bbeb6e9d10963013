"""The bounds that advice on timing never crosses, and what stops advice altogether.

Beyond the best timing lies knock, not power: advance is bounded by the engine's sheet and by 2°
beyond the highest timing at which somebody listened for knock and heard none. Late timing burns
valves and headers, so retard is bounded too. The logbook neither controls nor protects.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, floor

from logbook.records.pull import KNOCK_HEARD, KNOCK_NONE
from logbook.verdict import words
from logbook.verdict.conditions import Conditions, lapsed, lapsed_since

STEP_BEYOND_CLEAN_DEG = 2.0
RETARD_ASSUMED_DEG = 6.0


@dataclass(frozen=True, slots=True)
class TimedPull:
    """One pull as far as the bounds care: timing in degrees (``None`` where nobody set it down),
    ``"none"``, ``"heard"`` or ``"not checked"``, its conditions, and its alarms; of an earlier
    session also the day."""

    timing_deg: float | None
    knock: str
    conditions: Conditions
    alarms: tuple[str, ...] = ()
    day: str = ""


@dataclass(frozen=True, slots=True)
class Bounds:
    """The permitted timings, degrees, inclusive; both ``None`` where advice is stopped.

    `stop` is the sentence that stops all advice, ``""`` if nothing does. `says` are sentences to
    stand beside the advice: where each bound comes from, and what is asked for; `about_clean` is
    the one of them on the clean timing that the advance bound rests on. `ceiling_deg` is what stays
    forbidden whatever else is found clean: the engine's limit, or short of knock heard.
    """

    low_deg: float | None
    high_deg: float | None
    stop: str
    says: tuple[str, ...]
    ceiling_deg: float = float("inf")
    about_clean: str = ""

    def permits(self, timing_deg: float) -> bool:
        """Whether a pull at this timing may be advised."""
        if self.low_deg is None or self.high_deg is None:
            return False
        return self.low_deg <= timing_deg <= self.high_deg

    def opened_by(self, timing_deg: float) -> float | None:
        """The advance bound once `timing_deg` has been pulled and found clean."""
        if self.high_deg is None:
            return None
        return max(self.high_deg, min(timing_deg + STEP_BEYOND_CLEAN_DEG, self.ceiling_deg))

    def whole_degrees(self) -> tuple[float, ...]:
        """The whole degrees within the bounds."""
        if self.low_deg is None or self.high_deg is None:
            return ()
        return tuple(float(d) for d in range(ceil(self.low_deg), floor(self.high_deg) + 1))


def advice_barred(
    alarms: Sequence[str], *, pulls_taken: int | None = None, budget: int | None = None
) -> str:
    """Why no pull may be advised at all, as a sentence, ``""`` if it may.

    Parameters
    ----------
    alarms : of every pull of the session, excluded ones too.
    pulls_taken, budget : pulls of the session so far, and how many it was given.
    """
    if alarms:
        named = words.listed(sorted(set(alarms)))
        return f"Alarm ({named}): find the cause before another loaded pull."
    if budget is not None and pulls_taken is not None and pulls_taken >= budget:
        return f"The session's budget of {words.pulls(budget)} is used up."
    return ""


def bounds(
    pulls: Sequence[TimedPull],
    now: Conditions,
    *,
    present_deg: float,
    limit_deg: float | None,
    least_deg: float | None,
    pulls_taken: int | None = None,
    budget: int | None = None,
    earlier: Sequence[TimedPull] = (),
) -> Bounds:
    """The timings that may be advised next.

    Parameters
    ----------
    pulls : the session's pulls in order, those excluded or left out of the fit too.
    now : the conditions of the pull that is to come.
    present_deg : the timing the session started from.
    limit_deg, least_deg : the bounds of the engine's sheet, ``None`` where it has none.
    pulls_taken, budget : as for `advice_barred`.
    earlier : pulls of earlier sessions of the engine. A timing found clean then may be returned
        to where nothing has lapsed since (`lapsed_since`), never passed; knock heard then counts
        until build, fuel batch or the rest of the set-up is another, whatever the weather.
    """
    barred = advice_barred(
        [alarm for pull in pulls for alarm in pull.alarms], pulls_taken=pulls_taken, budget=budget
    )
    if barred:
        return Bounds(None, None, barred, ())
    if pulls and pulls[-1].knock == KNOCK_HEARD:
        at = pulls[-1].timing_deg
        where = f" at {at:g}°" if at is not None else ""
        return Bounds(
            None,
            None,
            f"Knock heard{where}: back off, find it gone at less advance before any advice.",
            (),
        )
    if any(pull.knock == KNOCK_HEARD and pull.timing_deg is None for pull in pulls):
        said = (
            "Knock was heard at a timing nobody wrote down: set it in that pull before any advice."
        )
        return Bounds(None, None, said, ())
    timed = [(pull.timing_deg, pull) for pull in pulls if pull.timing_deg is not None]
    if not timed:
        return Bounds(None, None, "No timing has been pulled yet.", ())
    heard = [(degrees, "") for degrees, pull in timed if pull.knock == KNOCK_HEARD]
    heard += [
        (pull.timing_deg, pull.day)
        for pull in earlier
        if pull.timing_deg is not None and _still_heard(pull, now)
    ]
    below_knock = min(heard)[0] - STEP_BEYOND_CLEAN_DEG if heard else float("inf")
    clean = [degrees for degrees, pull in timed if _holds(pull, now) and degrees <= below_knock]
    says: list[str] = []
    low = _retard(present_deg, least_deg, says)
    if clean:
        high = max(clean) + STEP_BEYOND_CLEAN_DEG
        step = f"{STEP_BEYOND_CLEAN_DEG:g}°"
        about_clean = f"No more than {step} beyond {max(clean):g}°, found clean."
    else:
        pulled = _pulled_before(timed, now)
        # Where knock was heard is no timing to go back to.
        high = max((degrees for degrees in pulled if degrees <= below_knock), default=max(pulled))
        low = max(low, min(degrees for degrees, _ in timed))
        about_clean = _ask_for_check(pulls, now)
    says.append(about_clean)
    returned_to = _clean_before(earlier, now, below_knock)
    if returned_to is not None and returned_to[0] > high:
        high, day = returned_to
        about_clean = (
            f"{high:g}° was found clean on {day}, and nothing that matters is worse: no"
            " further than that."
        )
        says.append(about_clean)
    if limit_deg is None:
        says.append("The engine's sheet has no timing limit.")
    elif limit_deg <= high:
        says.append(f"The engine's limit is {limit_deg:g}°.")
    if heard and (below_knock <= high or not clean):
        at, day = min(heard)
        on = f" on {day}" if day else ""
        says.append(f"Knock was heard at {at:g}°{on}: stay {STEP_BEYOND_CLEAN_DEG:g}° below.")
    ceiling = min(below_knock, limit_deg if limit_deg is not None else float("inf"))
    high = min(high, ceiling)
    if high < low:
        return Bounds(
            None,
            None,
            f"Nothing is left between the retard bound {low:g}° and the advance bound {high:g}°.",
            tuple(says),
        )
    return Bounds(low, high, "", tuple(says), ceiling, about_clean)


def _holds(pull: TimedPull, now: Conditions) -> bool:
    """A clean timing under conditions that still hold."""
    return pull.knock == KNOCK_NONE and not lapsed(pull.conditions, now)


def _pulled_before(timed: Sequence[tuple[float, TimedPull]], now: Conditions) -> list[float]:
    """The timings already pulled that say something about the pull to come: those with this set-up
    on this fuel, else on this fuel, else any. What a race fuel took is nothing to go to on
    another, checked or not."""
    fuel = [(degrees, p) for degrees, p in timed if p.conditions.fuel_batch == now.fuel_batch]
    same = [(d, p) for d, p in fuel if p.conditions.rest_of_setup == now.rest_of_setup]
    return [degrees for degrees, _ in same or fuel or timed]


def _still_heard(pull: TimedPull, now: Conditions) -> bool:
    """Knock heard in an earlier session that still warns: what is not known counts as the same."""
    then = pull.conditions
    same_batch = not (then.fuel_batch and now.fuel_batch) or then.fuel_batch == now.fuel_batch
    same_set_up = then.build == now.build and then.rest_of_setup == now.rest_of_setup
    return pull.knock == KNOCK_HEARD and same_set_up and same_batch


def _clean_before(
    earlier: Sequence[TimedPull], now: Conditions, below_knock: float
) -> tuple[float, str] | None:
    """The highest timing found clean in an earlier session that holds today, and the day."""
    found = [
        (pull.timing_deg, pull.day)
        for pull in earlier
        if pull.knock == KNOCK_NONE
        and not pull.alarms
        and pull.timing_deg is not None
        and pull.timing_deg <= below_knock
        and not lapsed_since(pull.conditions, now)
    ]
    return max(found) if found else None


def _ask_for_check(pulls: Sequence[TimedPull], now: Conditions) -> str:
    """Nothing is clean under these conditions: say so, say what lapsed, ask for the check."""
    why = sorted({lapsed(p.conditions, now) for p in pulls if p.knock == KNOCK_NONE} - {""})
    lapse = f" under these conditions (since then: {'; '.join(why)})" if why else ""
    return (
        f"Nobody has checked for knock{lapse}: advice stays within timings already pulled. Check"
        " for knock and write it down."
    )


def _retard(present_deg: float, least_deg: float | None, says: list[str]) -> float:
    """The least advance permitted."""
    if least_deg is not None:
        says.append(f"The engine's sheet allows no less than {least_deg:g}°.")
        return least_deg
    says.append(
        f"No least timing on the engine's sheet: {RETARD_ASSUMED_DEG:g}° below"
        f" {present_deg:g}° is assumed."
    )
    return present_deg - RETARD_ASSUMED_DEG
