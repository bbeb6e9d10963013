"""The systems of units that figures are shown in.

A module of its own, so that the command line's help knows them without loading the settings.
"""

from __future__ import annotations

UNIT_SYSTEMS = ("us", "metric")
