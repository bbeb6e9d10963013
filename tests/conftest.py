"""What every test runs under."""

from __future__ import annotations

from hypothesis import settings

# The first example of a property may load a library; how long that takes is no result.
settings.register_profile("logbook", deadline=None)
settings.load_profile("logbook")
