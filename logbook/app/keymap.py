"""A person's own keys, from the ``[keys]`` table of the config file.

    [keys]
    "session.timing" = "T"
    "undo" = "ctrl+z"

An entry that cannot be used is left out and said; the key that it was to replace still works.
"""

from __future__ import annotations

from collections.abc import Mapping
from difflib import get_close_matches

from textual.keys import Keys, format_key, key_to_character

from logbook.app.keys import SHARED, Key, keys_of, places

_NAMED = frozenset(key.value for key in Keys)
_MODIFIERS = ("ctrl+", "alt+", "shift+")
_FACES = {"escape": "Esc", "enter": "Enter", "space": "Space", "tab": "Tab", "delete": "Del",
          "pageup": "PgUp", "pagedown": "PgDn", "minus": "−"}  # fmt: skip
# Where a single character is typed into a field, it cannot be a key.
_TYPED_INTO = ("form.", "history.")


class Keymap:
    """The keys as they are now. `cautions` are sentences about what was left out; `bindings`
    is the map of binding ids to keys that the app is given."""

    def __init__(self, own: Mapping[str, str] | None = None) -> None:
        self.bindings: dict[str, str] = {}
        self.cautions: tuple[str, ...] = ()
        if own:
            self.cautions = tuple(self._take(own))

    def _take(self, own: Mapping[str, str]) -> list[str]:
        known = {key.id for place in places() for key in keys_of(place)}
        cautions: list[str] = []
        for name, keys in own.items():
            if name not in known:
                near = get_close_matches(name, known, n=1, cutoff=0.5)
                hint = f"did you mean {near[0]}?" if near else "`logbook keys` lists them."
                cautions.append(f"Own keys: {name!r} is no action and is left out; {hint}")
            elif why := _unusable(name, keys):
                cautions.append(f"Own keys: {keys!r} for {name} is left out: {why}")
            else:
                self.bindings[name] = ",".join(key.strip() for key in keys.split(","))
        while clash := self._clash():
            place, first, second = clash
            mine = [key for key in (first, second) if key.id in self.bindings]
            left = mine[-1]
            other = second if left is first else first
            cautions.append(
                f"Own keys: {self.bindings.pop(left.id)!r} for {left.id} is left out: on"
                f" {place!r} that is {other.id}."
            )
        return cautions

    def of(self, place: str) -> tuple[Key, ...]:
        """The keys of a place as they are now, its own first."""
        keys = keys_of(place)
        return tuple(self.mine(key) for key in keys) if self.bindings else keys

    def mine(self, key: Key) -> Key:
        """A key as it is now."""
        keys = self.bindings.get(key.id)
        return key if keys is None else key._replace(keys=keys, face=face(keys.split(",")[0]))

    def _clash(self) -> tuple[str, Key, Key] | None:
        for place in places():
            taken: dict[str, Key] = {}
            for key in self.of(place):
                for one in map(_canonical, key.keys.split(",")):
                    if one in taken and {key.id, taken[one].id} & self.bindings.keys():
                        return place, taken[one], key
                    taken[one] = key
        return None


def face(key: str) -> str:
    """How a key is written for people: ``Ctrl+T``, ``F5``, ``?``."""
    modifier, plus, last = key.rpartition("+")
    if plus and last:
        return f"{modifier.capitalize()}+{face(last).upper()}"
    shown = _FACES.get(key) or format_key(key)
    return shown.upper() if len(key) > 1 and key[0] == "f" and key[1:].isdigit() else shown


def _canonical(key: str) -> str:
    """One spelling of a key: ``question_mark`` is ``?``."""
    return key_to_character(key) or key


def _unusable(name: str, keys: str) -> str:
    for key in (part.strip() for part in keys.split(",")):
        last = key
        while last.startswith(_MODIFIERS):
            last = last.partition("+")[2]
        if len(last) != 1 and last not in _NAMED and key_to_character(last) is None:
            return "there is no such key; write it as T, f5, ctrl+t, plus or escape."
        if len(_canonical(key)) == 1 and name.startswith(_TYPED_INTO):
            return "a single character is typed into the field there; take f5 or ctrl+t."
    return ""


def listed(own: Keymap) -> list[tuple[str, Key]]:
    """Every place with its keys, for ``logbook keys``; those of all places stand first."""
    everywhere = {key.id for key in SHARED}
    shared = [("everywhere", own.mine(key)) for key in SHARED]
    return shared + [
        (place, own.mine(key))
        for place in places()
        for key in keys_of(place)
        if key.id not in everywhere
    ]
