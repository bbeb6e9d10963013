"""The dyno-cell logbook: pulls, corrected power, honest verdicts, searchable history."""

__version__ = "0.1.0"
