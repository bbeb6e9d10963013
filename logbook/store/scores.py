"""Scores as rows: the figures that lists show, always recomputable."""

from __future__ import annotations

from dataclasses import fields
from operator import attrgetter
from typing import Any

from logbook.records.score import Figures, Score
from logbook.store.tables import SqlValue, encode

_FIGURES = tuple(field.name for field in fields(Figures))
_figures_of = attrgetter(*_FIGURES)
_COLUMNS = (
    "pull_id",
    "version",
    "standard",
    "factor",
    *(f"observed_{name}" for name in _FIGURES),
    *(f"corrected_{name}" for name in _FIGURES),
)
SCORE_COLUMNS = ", ".join(_COLUMNS)
PUT_SCORE = (
    f"INSERT INTO scores ({SCORE_COLUMNS}) VALUES ({', '.join('?' * len(_COLUMNS))})"
    f" ON CONFLICT (pull_id) DO UPDATE SET "
    + ", ".join(f"{name} = excluded.{name}" for name in _COLUMNS[1:])
)


def score_of(row: tuple[Any, ...]) -> Score:
    """The score of a row that holds `SCORE_COLUMNS`."""
    split = 4 + len(_FIGURES)
    return Score(row[0], row[1], row[2], row[3], Figures(*row[4:split]), Figures(*row[split:]))


def row_of(score: Score) -> tuple[SqlValue, ...]:
    """The row of a score, in the order of `SCORE_COLUMNS`."""
    values = (
        score.pull_id,
        score.version,
        score.standard,
        score.factor,
        *_figures_of(score.observed),
        *_figures_of(score.corrected),
    )
    return tuple(encode(value, field=name) for name, value in zip(_COLUMNS, values, strict=True))
