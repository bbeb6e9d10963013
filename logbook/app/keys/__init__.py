"""Every key of the app, once: the key row, the help, the palette and the bindings read this.

The places stand in files of their own, loaded when the first screen of theirs is: the list of
engines needs two of them.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from importlib import import_module

from textual.binding import BindingType

from logbook.app.keys.key import SHARED, Key

__all__ = ["SHARED", "Key", "bindings", "keys_of", "places", "shared_bindings"]

_FILES = ("engines", "session", "history", "engine_file", "dialogs")


def _files() -> Iterator[Mapping[str, tuple[Key, ...]]]:
    for name in _FILES:
        found: Mapping[str, tuple[Key, ...]] = import_module(f"{__name__}.{name}").PLACES
        yield found


def places() -> dict[str, tuple[Key, ...]]:
    """Every place with its own keys."""
    return {place: keys for file in _files() for place, keys in file.items()}


def _own(place: str) -> tuple[Key, ...]:
    return next(file[place] for file in _files() if place in file)


def keys_of(place: str) -> tuple[Key, ...]:
    """The keys of a place, its own first. Where something is typed, ? is typed too: the key of
    the help that always works is named there."""
    own = _own(place)
    if any(key.id.startswith(("form.", "history.")) for key in own):
        return (*own, *(key._replace(face="F1") if key.id == "help" else key for key in SHARED))
    return (*own, *SHARED)


def bindings(place: str) -> list[BindingType]:
    """The bindings of a place's screen."""
    return [key.binding() for key in _own(place)]


def shared_bindings() -> list[BindingType]:
    """The bindings of the app itself."""
    return [key.binding() for key in SHARED]
