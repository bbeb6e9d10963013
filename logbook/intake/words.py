"""The words that column headers use for the quantities the logbook knows.

A name is taken for a quantity only when nothing but known words is left in it: ``Torque
setpoint`` and ``Friction power`` stay channels of their own.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

# Kind in which a quantity is converted, and the kinds of unit that a header may give it.
KIND_OF: Mapping[str, str] = {
    "time": "time",
    "engine speed": "speed",
    "torque": "torque",
    "power": "power",
    "fuel flow": "mass_flow",
    "air flow": "mass_flow",
    "air volume flow": "volume_flow",
    "blow-by": "volume_flow",
    "manifold vacuum": "vacuum",
    "crankcase vacuum": "vacuum",
    "oil pressure": "pressure",
    "fuel pressure": "pressure",
    "oil temperature": "temperature",
    "coolant temperature": "temperature",
    "fuel temperature": "temperature",
    "inlet temperature": "temperature",
    "exhaust temperature": "temperature",
    "lambda": "ratio",
    "throttle": "percent",
    "timing": "angle",
}

_PHRASES: Mapping[str, str] = {
    "time": "time, elapsed, elapsed time, timestamp, time stamp, test time, log time, seconds",
    "engine speed": "speed, rpm, revs, revolutions, tach, tachometer, rotational speed",
    "torque": "torque, load torque",
    "power": "power, horsepower, wheel power, wheel horsepower",
    "fuel flow": "fuel flow, fuel mass flow, fuel flow rate, fuel rate, fuel mass flow rate",
    "air flow": "air flow, airflow, air mass flow, inlet air flow, mass air flow, maf, inlet flow",
    "air volume flow": "air flow, airflow, air volume flow, inlet air flow, volume air flow",
    "blow-by": "blow by, blowby, blow by flow, crankcase blow by, blow by volume flow",
    "manifold vacuum": "manifold vacuum, inlet vacuum, inlet manifold vacuum, plenum vacuum",
    "crankcase vacuum": "crankcase vacuum, crank case vacuum, pan vacuum, oil pan vacuum",
    "oil pressure": "oil pressure, p oil, öldruck",
    "fuel pressure": "fuel pressure, p fuel",
    "oil temperature": "oil temperature, t oil, öltemperatur, öltemp",
    "coolant temperature": "coolant temperature, t coolant, ect, clt, wassertemperatur, "
    "kühlmitteltemperatur",
    "fuel temperature": "fuel temperature, t fuel",
    "inlet temperature": "inlet air temperature, inlet temperature, air temperature, iat, t air, "
    "t inlet, carburetor air temperature, carburetor inlet temperature",
    "exhaust temperature": "exhaust temperature, exhaust gas temperature, egt, t exhaust",
    "lambda": "lambda",
    "throttle": "throttle, throttle position, tps",
    "timing": "timing, ignition timing, ignition advance, ignition angle, spark advance, "
    "spark timing, advance",
}

# Symbols and short words that say something only together with their unit.
_SYMBOLS: Mapping[tuple[str, str], str] = {
    ("n", "speed"): "engine speed",
    ("ne", "speed"): "engine speed",
    ("m", "torque"): "torque",
    ("md", "torque"): "torque",
    ("me", "torque"): "torque",
    ("t", "torque"): "torque",
    ("load", "torque"): "torque",
    ("p", "power"): "power",
    ("pe", "power"): "power",
    ("pb", "power"): "power",
    ("t", "time"): "time",
    ("fuel", "mass_flow"): "fuel flow",
    ("air", "mass_flow"): "air flow",
    ("air", "volume_flow"): "air volume flow",
}

_SYNONYMS: Mapping[str, str] = {
    "eng": "engine",
    "mot": "engine",
    "motor": "engine",
    "spd": "speed",
    "drehzahl": "speed",
    "motordrehzahl": "speed",
    "tq": "torque",
    "trq": "torque",
    "drehmoment": "torque",
    "pwr": "power",
    "leistung": "power",
    "motorleistung": "power",
    "zeit": "time",
    "temp": "temperature",
    "tmp": "temperature",
    "press": "pressure",
    "pres": "pressure",
    "vac": "vacuum",
    "intake": "inlet",
    "water": "coolant",
    "ign": "ignition",
    "adv": "advance",
    "λ": "lambda",
    "exh": "exhaust",
    "carb": "carburetor",
    "carburettor": "carburetor",
    "obs": "observed",
    "unkorrigiert": "uncorrected",
    "uncorr": "uncorrected",
    "avg": "average",
    "corr": "corrected",
    "cor": "corrected",
    "korr": "corrected",
    "korrigiert": "corrected",
}

_OBSERVED = frozenset({"observed", "uncorrected", "measured", "actual", "raw", "recorded"})
_CORRECTED = frozenset({"corrected", "sae", "std", "standard", "j", "din", "iso", "ece", "norm"})
_DENIED = frozenset({"un", "non", "not"})
_MAIN = frozenset({"engine", "crank", "crankshaft", "flywheel"})
_FILL = frozenset(
    {"brake", "shaft", "dyno", "dynamometer", "absorber", "cell", "sensor"}
    | {"average", "mean", "filtered", "smoothed", "channel", "ch", "signal", "value"}
    | {"net", "gross", "output"}
    | {"cyl", "cylinder", "bank", "left", "right", "a", "b", "no"}
    | {"main", "rail", "sump", "gallery", "in", "out"}
)

_CASE_STEP = re.compile(r"(?<=[a-zà-ÿ])(?=[A-Z])|(?<=[^\W\d_])(?=\d)")
_NOT_WORD = re.compile(r"[\W_]+")


@dataclass(frozen=True, slots=True)
class Meaning:
    """What the words of a header say.

    `quantities` it may be, the first being the usual one; `rank` 0 is the plainest statement,
    higher ones give way to it; `corrected` when the name says so.
    """

    quantities: tuple[str, ...]
    rank: int = 1
    corrected: bool = False


def tokens(name: str) -> tuple[str, ...]:
    """The words of a name in lower case, synonyms replaced: ``EngineTrq_obs`` has three."""
    spaced = _NOT_WORD.sub(" ", _CASE_STEP.sub(" ", name)).casefold()
    return tuple(_SYNONYMS.get(word, word) for word in spaced.split())


def _phrases() -> dict[frozenset[str], tuple[str, ...]]:
    found: dict[frozenset[str], tuple[str, ...]] = {}
    for quantity, phrases in _PHRASES.items():
        for phrase in phrases.split(", "):
            key = frozenset(phrase.split())
            found[key] = (*found.get(key, ()), quantity)
    return found


_KNOWN = _phrases()


@lru_cache(maxsize=4096)
def meaning(name: str, kind: str | None) -> Meaning:
    """What `name` says, given the kind of its unit (``None`` where it has no known one)."""
    words = frozenset(tokens(name))
    left = frozenset(
        word
        for word in words - _FILL - _MAIN - _OBSERVED - _CORRECTED - _DENIED
        if not word.isdigit()
    )
    quantities = _KNOWN.get(left, ())
    if not quantities and len(left) == 1 and kind is not None:
        symbol = _SYMBOLS.get((next(iter(left)), kind))
        quantities = (symbol,) if symbol else ()
    if not quantities:
        return Meaning(())
    corrected = bool(words & _CORRECTED) and not words & (_OBSERVED | _DENIED)
    rank = 2 if words & _FILL else 1
    if words & _MAIN or words & _OBSERVED:
        rank = 0
    return Meaning(quantities, rank, corrected)
