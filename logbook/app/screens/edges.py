"""Which samples of a trace are the pull: seen, and moved edge by edge."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook import quantities
from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.screens.short_form import ShortForm
from logbook.app.widgets import edges as drawn
from logbook.app.widgets.field import TextEntry
from logbook.app.widgets.ink import BLANK, Line, one, rows_of
from logbook.app.widgets.lines import Lines, Text
from logbook.cases.edges import EdgesView, edges_of, edges_of_file, figures_with

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.score import Figures

USUAL = ("throttle was lifted at the end", "the rise began later", "wheel spin at the start")
_NAMES = {"first": "first sample", "last": "last sample"}


class TracePane(Lines):
    """The pictures, for the room there is."""

    DEFAULT_CSS = """
    TracePane { height: 1fr; padding: 0 1; }
    """

    def __init__(self) -> None:
        super().__init__(id="trace")
        self._what: tuple[EdgesView, tuple[int, int], str, str] | None = None

    def put(self, view: EdgesView, taken: tuple[int, int], look: str, system: str) -> None:
        """Draw this."""
        self._what = (view, taken, look, system)
        self.redraw()

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The pictures."""
        if self._what is None:
            return [one("Reading the trace …", "quiet")]
        view, taken, look, system = self._what
        return drawn.pictures(view, taken, look, width, height, system)


class EdgesScreen(BookScreen[str]):
    """Answers with the samples to take of a file that waits; a finished pull is changed here.

    Parameters
    ----------
    read : the use-case that gives the view.
    pull_id : the finished pull; ``None`` for a file that waits.
    """

    AUTO_FOCUS = ""
    place = "edges"
    BINDINGS = bindings("edges")
    DEFAULT_CSS = """
    EdgesScreen #figures { padding: 0 1; }
    """

    def __init__(self, read: Callable[[Desk], EdgesView], pull_id: str | None) -> None:
        super().__init__()
        self._read, self._pull_id = read, pull_id
        self._view: EdgesView | None = None
        self._taken = (0, 0)
        self._edge, self._look = "first", drawn.WHOLE
        self._was: Figures | None = None

    @classmethod
    def of_pull(cls, pull_id: str) -> EdgesScreen:
        """A finished pull's."""
        return cls(lambda desk: edges_of(desk, pull_id), pull_id)

    @classmethod
    def of_file(
        cls, session_id: str, path: Path, landing_id: str | None, samples: str | None
    ) -> EdgesScreen:
        """A file's that waits, with the samples given before, if any."""
        return cls(lambda desk: edges_of_file(desk, session_id, path, landing_id, samples), None)

    def content(self) -> ComposeResult:
        """What is taken, the pictures, the figures."""
        yield Text(((" ", ""),), id="head")
        yield TracePane()
        yield Text(id="figures")

    def reload(self) -> None:
        """Read the trace, once: what somebody is moving stays."""
        if self._view is not None:
            self._drawn()  # the units may be others
            return
        read = self._read

        def job(desk: Desk) -> tuple[EdgesView, Figures]:
            view = read(desk)
            return view, figures_with(view, (view.first, view.last))[0]

        self.ask("edges", job, Got, "reading the trace")

    def refused(self, lane: str, refusal: object) -> None:
        """A pull without a trace has no edges."""
        if lane == "edges":
            self.dismiss(None)
            self.book.say(getattr(refusal, "sentence", str(refusal)), "error")
        else:
            super().refused(lane, refusal)  # type: ignore[arg-type]

    def got(self, lane: str, result: object) -> None:
        """The trace, or what the figures would be."""
        if lane == "edges":
            self._view, self._was = cast("tuple[EdgesView, Figures]", result)
            view = self._view
            self._taken = (view.first, view.last)
            self._drawn()
        else:
            taken, figures, corrected = cast("tuple[tuple[int, int], Figures, bool]", result)
            if taken == self._taken:
                self._show_figures(figures, corrected)

    def _drawn(self) -> None:
        view, taken = self._view, self._taken
        assert view is not None
        self.query_one("#head", Text).put(*self._head_lines(view, max(20, self.size.width - 2)))
        self.query_one(TracePane).put(view, taken, self._look, self.book.units)
        self.refresh_keys()

        def job(desk: Desk) -> tuple[tuple[int, int], Figures, bool]:
            return (taken, *figures_with(view, taken))

        self.ask("figures", job, Got, "computing the figures")

    def _head_lines(self, view: EdgesView, width: int) -> list[Line]:
        first, last = self._taken
        of = f"pull {view.number}" if view.number else "the next pull"
        head: Line = ((f"Samples of {of}", "strong"), (f"  {view.name}", "quiet"))
        parts: list[Line] = []
        for edge, at, was in (("first", first, view.first), ("last", last, view.last)):
            role = "strong" if edge == self._edge else ""
            arrow = "▶ " if edge == self._edge else ""
            mark = f" was {was + view.begin + 1}" if at != was else ""
            parts.append(((f"{arrow}{_NAMES[edge]} {at + view.begin + 1}", role),
                          (mark, "changed")))  # fmt: skip
        time, speed = view.of("time"), view.of("engine speed")
        if time is not None:
            parts.append(one(f"{time[last] - time[first]:.2f} s", "quiet"))
        if speed is not None:
            parts.append(one(f"{speed[first]:.0f} to {speed[last]:.0f} rpm"))
        return [head, *rows_of(parts, width)]

    def _show_figures(self, figures: Figures, corrected: bool) -> None:
        was, units = self._was, self.book.units
        assert was is not None
        kind = "Corrected" if corrected else "Observed"
        parts = [one(kind, "quiet")]
        for label, quantity, now, before, at in (
            ("peak", "power", figures.peak_power_kw, was.peak_power_kw, figures.peak_power_rpm),
            ("peak", "torque", figures.peak_torque_nm, was.peak_torque_nm, figures.peak_torque_rpm),
            ("band average", "power", figures.band_power_kw, was.band_power_kw, None),
            ("band average", "torque", figures.band_torque_nm, was.band_torque_nm, None),
        ):
            if now is None and before is None:
                continue
            shown, old = (
                "none" if value is None else quantities.show(value, quantity, units)
                for value in (now, before)
            )
            place = f" at {at:.0f}" if at is not None else ""
            said = f"{label} {shown}{place}" if now is not None else f"no {label}"
            parts.append(((said, "strong"), (f" was {old}" if old != shown else "", "changed")))
        lines = rows_of(parts, max(20, self.size.width - 2))
        self.query_one("#figures", Text).put(*lines, *([BLANK] if len(lines) < 2 else []))

    def key_words(self, key: Key) -> str | None:
        """Nothing is taken before it is moved."""
        view = self._view
        moved = view is not None and self._taken != (view.first, view.last)
        if key.id in {"edges.take", "edges.reset"} and not moved:
            return None
        if key.id == "edges.look":
            return {drawn.WHOLE: "closer"}.get(self._look, "whole trace")
        return key.words

    def on_resize(self) -> None:
        """The words depend on the room."""
        if self._view is not None:
            self._drawn()

    def action_other(self) -> None:
        """The keys move the other edge."""
        self._edge = "last" if self._edge == "first" else "first"
        if self._look != drawn.WHOLE:
            self._look = self._edge
        if self._view is not None:
            self._drawn()

    def action_step(self, by: int) -> None:
        """Move the edge, as far as can be."""
        if self._view is not None:
            self._taken = self._view.moved(self._edge, by, self._taken)
            self._drawn()

    def action_look(self) -> None:
        """The whole trace, or the samples around the edge that the keys move."""
        self._look = self._edge if self._look == drawn.WHOLE else drawn.WHOLE
        if self._view is not None:
            self._drawn()

    def action_reset(self) -> None:
        """Both edges as they were."""
        if self._view is not None:
            self._taken = (self._view.first, self._view.last)
            self._drawn()

    def action_take(self) -> None:
        """Take these samples; a finished pull asks why."""
        view = self._view
        if view is None or self._taken == (view.first, view.last):
            return
        samples = view.said(self._taken)
        if self._pull_id is None:
            self.dismiss(samples)
            return

        def moved(said: str | None) -> None:
            if said is not None:
                self.dismiss(None)
                self.book.say(said)

        self.app.push_screen(WhyForm(self._pull_id, view.number, samples), moved)


class WhyForm(ShortForm[str]):
    """Why the edges of a finished pull are moved. Answers with what was done."""

    place = "edges why"
    BINDINGS = bindings("edges why")

    def __init__(self, pull_id: str, number: int, samples: str) -> None:
        shown = samples.replace("-", "–")
        super().__init__(f"edges-{pull_id}", f"Take samples {shown} as pull {number}: why?")
        self._pull_id, self._number, self._samples = pull_id, number, samples

    def entries(self) -> ComposeResult:
        """The reason."""
        yield TextEntry("why", "Why", wide=True, suggestions=USUAL)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Move them; the old ones stay in the audit trail."""
        why = self.touched().get("why", "").strip()
        if not why:
            self.notice("A finished pull is changed only for a reason.", "error")
            return None
        pull_id, number, samples = self._pull_id, self._number, self._samples

        def job(desk: Desk) -> str:
            from logbook.cases.pulls import change_pull

            change_pull(desk, pull_id, {}, samples=samples, why=why)
            return f"Pull {number} is now samples {samples.replace('-', '–')}. u takes it back."

        return job
