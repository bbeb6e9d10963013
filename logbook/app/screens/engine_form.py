"""Entering an engine, or correcting its sheet."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.keys import bindings
from logbook.app.screens.record_form import RecordForm, filled
from logbook.app.widgets.entries import SectionLine
from logbook.app.widgets.field import TextEntry
from logbook.cases.field_lists import ENGINE_FIELDS, by_key

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.engine import Engine

TAG, BAND = "tag", "band"
_SECTIONS = (
    ("What it is", ("name", "owner", "family", "layout", "cylinders", "bore", "stroke",
                    "displacement", "strokes", "ignition", "aspiration", "compression-ratio")),
    ("Limits on its sheet", ("limit-timing", "least-timing", "limit-speed", "limit-coolant",
                             "limit-oil", "limit-exhaust", "least-oil-pressure",
                             "limit-crankcase-vacuum")),
    ("Ready for a pull", ("ready-oil-low", "ready-oil-high", "ready-coolant-low",
                          "ready-coolant-high")),
    ("More", ("inertia", "break-in", "note")),
)  # fmt: skip


class EngineForm(RecordForm[str]):
    """Answers with the engine's tag."""

    place = "engine"
    BINDINGS = bindings("engine")
    record_fields = ENGINE_FIELDS

    def __init__(self, engine: Engine | None = None) -> None:
        super().__init__(f"engine-{engine.id if engine else 'new'}")
        self._engine = engine
        self.title_words = f"Sheet of {engine.tag}" if engine else "Enter an engine"

    def entries(self) -> ComposeResult:
        """By section; only the tag is needed."""
        engine, fields = self._engine, by_key(ENGINE_FIELDS)
        if engine is None:
            yield TextEntry(TAG, "Tag", hint="short, such as RB-2; all else can wait")
        low, high = (engine.band_low_rpm, engine.band_high_rpm) if engine else (None, None)
        band = f"{low:.0f}-{high:.0f}" if low is not None and high is not None else ""
        for title, keys in _SECTIONS:
            yield SectionLine(title)
            yield from filled([fields[key] for key in keys], engine, self.book.units)
            if title == "What it is":
                yield TextEntry(BAND, "Band", band, unit="rpm",
                                hint="the speeds that count, such as 4500-6500")  # fmt: skip

    def save_job(self) -> Callable[[Desk], str] | None:
        """Enter or correct it."""
        touched = self.touched()
        tag, band = touched.pop(TAG, "").strip(), touched.pop(BAND, "").strip() or None
        engine, units = self._engine, self.book.units
        if engine is None and not tag:
            self.notice("An engine needs a tag, such as RB-2.", "error")
            self.focus_first()
            return None

        def job(desk: Desk) -> str:
            from logbook.cases.engines import add_engine, change_engine

            if engine is None:
                return add_engine(desk, tag, touched, band=band, units=units).tag
            return change_engine(desk, engine.tag, touched, band=band, units=units).tag

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(str(result))
        said = "entered" if self._engine is None else "corrected"
        self.book.say(f"{result} {said}. u takes it back.")
