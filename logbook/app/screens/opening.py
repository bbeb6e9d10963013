"""Opening a session: what for, who, where, to which standard; and the safety list."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.form import Form
from logbook.app.widgets.choice_field import ChoiceEntry, TickEntry
from logbook.app.widgets.entries import Entries, SectionLine
from logbook.app.widgets.field import Entry, TextEntry
from logbook.app.widgets.ink import wrap
from logbook.app.widgets.lines import Lines, Text
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.app.widgets.ink import Line
    from logbook.cases.desk import Desk
    from logbook.records.cell import Cell
    from logbook.records.engine import Build, Engine
    from logbook.records.session import Session

    Start = tuple[Engine, list[Build], list[Cell], Session | None, str, str]

_SAFETY = "safety:"


class Preface(Lines):
    """What the logbook does not do, above the list."""

    def __init__(self, text: str) -> None:
        super().__init__(id="preface")
        self._said = text

    def lines(self, width: int, height: int) -> Sequence[Line]:
        """The sentence, whole."""
        return wrap(self._said, width, "caution")


class OpeningForm(Form[str]):
    """Answers with the id of the session opened."""

    place = "opening"
    BINDINGS = bindings("opening")

    def __init__(self, tag: str) -> None:
        super().__init__(f"opening-{tag}")
        self._tag = tag
        self._cells: list[Cell] = []

    def begin(self) -> None:
        """What there is to choose from has to be read first."""
        tag = self._tag

        def job(desk: Desk) -> Start:
            from logbook.cases.builds import list_builds
            from logbook.cases.engines import engine_by_tag, list_cells
            from logbook.cases.sessions import SAFETY_PREFACE, find_session, list_sessions

            before = list_sessions(desk, tag, limit=1)
            last = find_session(desk, before[0].id) if before else None
            return (
                engine_by_tag(desk, tag), list_builds(desk, tag), list_cells(desk), last,
                SAFETY_PREFACE, desk.who,
            )  # fmt: skip

        self.ask("start", job, Got)

    def got(self, lane: str, result: object) -> None:
        """The form can be laid out."""
        if lane == "start":
            self._lay_out(cast("Start", result))
        else:
            super().got(lane, result)

    def _lay_out(self, start: Start) -> None:
        from logbook.cases.sessions import SAFETY_LIST
        from logbook.engineering.correction import STANDARDS

        engine, builds, self._cells, last, preface, who = start
        at = next((cell for cell in self._cells if last and cell.id == last.cell_id), None)
        cell = at or next(iter(self._cells), None)
        standard = last.standard if last else cell.standard if cell else "sae-j1349"
        name = f"{engine.tag} {engine.name}".strip()
        self.query_one("#head", Text).put(
            (("Open a session  ", "strong"), (name, "accent"),
             (f"  last {showing.day(last.opened_at, self.book.zone)}" if last else "", "quiet")),
        )  # fmt: skip
        low, high = engine.band_low_rpm, engine.band_high_rpm
        band = f"{low:.0f}-{high:.0f}" if low is not None and high is not None else ""
        labels = [build.label for build in builds][-6:]
        entries: list[Entry | SectionLine | Preface] = [
            TextEntry("purpose", "Purpose", wide=True),
            TextEntry("operator", "Operator", (last.operator if last else "") or who),
            ChoiceEntry("build", "Build", labels, labels[-1] if labels else ""),
            TextEntry("band", "Band", band, unit="rpm", hint="the speeds that count"),
            ChoiceEntry("standard", "Standard", tuple(STANDARDS), standard,
                        words=[one.name for one in STANDARDS.values()]),
        ]  # fmt: skip
        if len(self._cells) > 1:
            names = [cell.name for cell in self._cells]
            entries.append(ChoiceEntry("cell", "Cell", names, cell.name if cell else ""))
        entries += [
            TextEntry(
                "accessories", "Accessories driven", last.accessories if last else "", wide=True
            ),
            TextEntry("exhaust", "Exhaust system", last.exhaust if last else "", wide=True),
            TextEntry("oil", "Oil", last.oil if last else "", wide=True),
            SectionLine("Before the first loaded pull: Space checks"),
            Preface(preface),
            *(TickEntry(f"{_SAFETY}{key}", sentence) for key, sentence in SAFETY_LIST),
        ]
        self.query_one("#entries", Entries).mount_all(entries)
        super().begin()

    def entries(self) -> ComposeResult:
        """They come with the answer to `begin`."""
        yield from ()

    def key_words(self, key: Key) -> str | None:
        """Enter goes on; on the last line it opens."""
        return key.words

    def check(self) -> None:
        """The band reads as two speeds."""
        band = self.entry("band")
        if band is None:
            return
        text = band.value

        def job(desk: Desk) -> dict[str, str]:
            from logbook.cases.fields import read_band
            from logbook.refusals import Refusal

            try:
                if text.strip():
                    read_band(text)
            except Refusal as refusal:
                return {"band": refusal.sentence}
            return {}

        self.ask("check", job, Got)

    def save_job(self) -> Callable[[Desk], str]:
        """Open it."""
        given = {entry.key: entry.value.strip() for entry in self.all_entries()}
        ticked = tuple(
            key.removeprefix(_SAFETY)
            for key, text in given.items()
            if key.startswith(_SAFETY) and text
        )
        tag = self._tag

        def job(desk: Desk) -> str:
            from logbook.cases.sessions import open_session

            session = open_session(
                desk,
                tag,
                build=given["build"] or None,
                cell=given.get("cell") or None,
                standard=given["standard"] or None,
                band=given["band"] or None,
                safety_checked=ticked,
                purpose=given["purpose"],
                operator=given["operator"],
                accessories=given["accessories"],
                exhaust=given["exhaust"],
                oil=given["oil"],
            )
            return session.id

        return job
