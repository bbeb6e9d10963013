"""A session's standard, band, and what is worth having."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from textual.app import ComposeResult

from logbook.app.judged_anew import done_and_told
from logbook.app.keys import bindings
from logbook.app.messages import Got
from logbook.app.screens.form import Form
from logbook.app.widgets.choice_field import ChoiceEntry
from logbook.app.widgets.field import TextEntry
from logbook.records.session import POWER_SOURCES

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.cases.results import SessionView

_JUDGES = frozenset({"standard", "band", "power", "worth"})
_WORDS = ("purpose", "operator", "accessories", "exhaust", "oil", "notes")


class StandardForm(Form[None]):
    """Changes the session; every figure follows at once."""

    place = "standard"
    BINDINGS = bindings("standard")
    title_words = "This session: standard, band, words"

    def __init__(self, view: SessionView) -> None:
        super().__init__(f"session-{view.session.id}")
        self._view = view

    def entries(self) -> ComposeResult:
        """What the figures hang on first."""
        from logbook.engineering.correction import STANDARDS

        session = self._view.session
        low, high = session.band_low_rpm, session.band_high_rpm
        band = f"{low:.0f}-{high:.0f}" if low is not None and high is not None else ""
        yield ChoiceEntry("standard", "Standard", tuple(STANDARDS), session.standard,
                          words=[one.name for one in STANDARDS.values()])  # fmt: skip
        yield TextEntry("band", "Band", band, unit="rpm", hint="the speeds that count")
        yield TextEntry("worth", "Worth having", f"{session.worth_having_percent:g}", unit="%",
                        hint="the smallest change that matters")  # fmt: skip
        budget = "" if session.pull_budget is None else str(session.pull_budget)
        yield TextEntry("budget", "Pull budget", budget, unit="pulls",
                        hint="no advice beyond it; empty: none")  # fmt: skip
        yield ChoiceEntry("power", "Power from", POWER_SOURCES, session.power_source,
                          words=("the file's power", "torque × speed"))  # fmt: skip
        for key in _WORDS:
            yield TextEntry(key, key.capitalize(), getattr(session, key), wide=True)

    def check(self) -> None:
        """Band and percent can be read."""
        touched = self.touched()

        def job(desk: Desk) -> dict[str, str]:
            return _wrong(touched)

        self.ask("check", job, Got)

    def save_job(self) -> Callable[[Desk], str] | None:
        """Change the session."""
        touched, session_id = self.touched(), self._view.session.id
        units = self.book.units
        if not touched:
            self.dismiss(None)
            return None

        def job(desk: Desk) -> str:
            from logbook.cases.sessions import change_session

            words: dict[str, Any] = {key: touched[key].strip() for key in _WORDS if key in touched}

            def act() -> object:
                return change_session(
                    desk, session_id,
                    standard=touched.get("standard"), band=touched.get("band"),
                    power_source=touched.get("power"),
                    worth_having=float(touched["worth"]) if "worth" in touched else None,
                    pull_budget=int(touched["budget"] or 0) if "budget" in touched else None,
                    **words,
                )  # fmt: skip

            said = "Session changed. u takes it back."
            if not _JUDGES & set(touched):
                act()
                return said
            return done_and_told(desk, session_id, units, said, act)

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(str(result))


def _wrong(touched: dict[str, str]) -> dict[str, str]:
    from logbook.cases.fields import read_band
    from logbook.refusals import Refusal

    errors = {}
    if "band" in touched:
        try:
            read_band(touched["band"])
        except Refusal as refusal:
            errors["band"] = refusal.sentence
    if "worth" in touched:
        try:
            if not 0.01 <= float(touched["worth"]) <= 20:
                errors["worth"] = "outside 0.01–20 %"
        except ValueError:
            errors["worth"] = "not a number; wanted such as 0.5"
    if "budget" in touched and touched["budget"].strip():
        text = touched["budget"].strip()
        if not (text.isdecimal() and len(text) < 4 and 1 <= int(text) <= 500):
            errors["budget"] = "not 1–500 pulls"
    return errors
