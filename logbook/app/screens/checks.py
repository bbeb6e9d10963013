"""A build's measures against their tolerances; beneath the list the one chosen, in full."""

from __future__ import annotations

from typing import TYPE_CHECKING, cast

from textual.app import ComposeResult

from logbook.app.keys import Key, bindings
from logbook.app.messages import Got
from logbook.app.screens.base import BookScreen
from logbook.app.widgets.ink import Line, at_most, one, rows_of, wrap
from logbook.app.widgets.lines import Text
from logbook.app.widgets.rows import Column, Row, Rows
from logbook.plain import capital
from logbook.reports import showing

if TYPE_CHECKING:
    from logbook.cases.build_checks import BuildChecks
    from logbook.cases.desk import Desk
    from logbook.cases.measures import Check

ROLES = {"in": "gain", "reclaim": "caution", "out": "loss", "no limit": "quiet"}
_SHARE_OF_HEIGHT = 60  # as the style sheet has it
EMPTY = "Nothing on this build's sheet can be checked yet: ? says which items are."


class ChecksScreen(BookScreen[None]):
    """The checks of one build; ← and → go to the builds before and after."""

    place = "checks"
    BINDINGS = bindings("checks")
    DEFAULT_CSS = """
    ChecksScreen #chosen { padding: 0 1; border-top: solid $foreground; max-height: 60%; }
    """

    def __init__(self, tag: str, label: str | None = None) -> None:
        super().__init__()
        self._tag, self._label = tag, label
        self._found: BuildChecks | None = None
        self._labels: list[str] = []

    @property
    def search_start(self) -> str:
        """A search begins within this engine."""
        return f'engine:"{self._tag}" '

    def content(self) -> ComposeResult:
        """Heading, the measures, the one chosen."""
        yield Text(((f"Checks of {self._tag}", "strong"),), id="head")
        yield Rows(
            (
                Column("Verdict", 10),
                Column("Measure", 0),
                Column("Measured", 15, "right"),
                Column("Tolerance", 14, "right"),
                Column("Cylinders not in", 22, least=100),
            ),
            empty="Reading the sheet …",
        )
        yield Text(id="chosen")

    def reload(self) -> None:
        """Compute the checks."""
        tag, label = self._tag, self._label

        def job(desk: Desk) -> tuple[BuildChecks, list[str]]:
            from logbook.cases.build_checks import build_checks
            from logbook.cases.builds import list_builds

            return build_checks(desk, tag, label), [b.label for b in list_builds(desk, tag)]

        self.ask("checks", job, Got, "checking the measures")

    def got(self, lane: str, result: object) -> None:
        """Show them."""
        from logbook.reports.check_report import verdict_text

        self._found, self._labels = cast("tuple[BuildChecks, list[str]]", result)
        found = self._found
        self._label = found.build.label
        rows = self.query_one(Rows)
        rows.empty = EMPTY
        self.query_one("#head", Text).put(
            ((f"Checks of {found.engine.tag}  {found.build.label}", "strong"),
             (f"  {showing.date_words(found.build.built_on)}  ", "quiet"),
             (verdict_text(found.verdict), ROLES[found.verdict]))
        )  # fmt: skip
        rows.put([self._row(place, check) for place, check in enumerate(found.checks)])
        self._show_chosen()
        self.refresh_keys()

    def _row(self, place: int, check: Check) -> Row:
        from logbook.reports.check_report import label_of, limits_text, span_text, verdict_text

        units = self.book.units
        return Row(
            str(place),
            (
                one(verdict_text(check.verdict), ROLES[check.verdict]),
                one(label_of(check, units), "strong"),
                one(span_text(check, units)),
                one(limits_text(check.tolerance, check.kind, units), "quiet"),
                one(", ".join(
                    str(v.cylinder) for v in check.values
                    if v.cylinder and v.verdict in ("reclaim", "out")
                ), ROLES[check.verdict]),
            ),
        )  # fmt: skip

    def on_rows_moved(self, message: Rows.Moved) -> None:
        """Another measure is chosen."""
        self._show_chosen()

    def _show_chosen(self) -> None:
        found, row = self._found, self.query_one(Rows).current
        if found is None:
            return
        width = max(20, self.size.width - 2)
        lines = check_lines(found.checks[int(row.key)], width, self.book.units) if row else []
        for sentence in found.left_out:
            lines += wrap(f"⚠ Left out. {sentence}", width, "caution", indent="  ")
        for caution in found.cautions:
            lines += wrap(f"⚠ {caution.text}", width, "caution", indent="  ")
        room = max(4, self.size.height * _SHARE_OF_HEIGHT // 100 - 1)
        self.query_one("#chosen", Text).put(*at_most(lines, room))

    def key_words(self, key: Key) -> str | None:
        """No build before the first, none after the last."""
        if key.id in ("checks.earlier", "checks.later") and self._beside(key.id) is None:
            return None
        return key.words

    def _beside(self, key_id: str) -> str | None:
        if self._label not in self._labels:
            return None
        place = self._labels.index(self._label) + (1 if key_id == "checks.later" else -1)
        return self._labels[place] if 0 <= place < len(self._labels) else None

    def action_build(self, by: int) -> None:
        """The build before or after."""
        label = self._beside("checks.later" if by > 0 else "checks.earlier")
        if label is not None:
            self._label = label
            self.reload()


def check_lines(check: Check, width: int, system: str) -> list[Line]:
    """One measure in full: every cylinder's value, how it was computed, whose the tolerance is."""
    from logbook.cases.measures import TO_HONE_MM
    from logbook.reports.check_report import label_of, limits_text, measure, verdict_text

    parts: list[Line] = [one(label_of(check, system), "strong")]
    for value in check.values:
        place = f"cyl. {value.cylinder} " if value.cylinder else ""
        figure = measure(value.value, check.kind, system)
        sign = verdict_text(value.verdict).split()[0]
        parts.append(((place, "quiet"), (f"{figure} {sign}", ROLES[value.verdict])))
    lines = rows_of(parts, width)
    limits = limits_text(check.tolerance, check.kind, system)
    far = [
        measure(edge, check.kind, system)
        for edge in (check.tolerance.reclaim_low, check.tolerance.reclaim_high)
        if edge is not None and 0 < edge < TO_HONE_MM
    ]
    said = f"{capital(check.how)}. " + (f"Tolerance {limits}, " if limits else "")
    said += check.limits_from + (f"; reclaimed to {' and '.join(far)}" if far else "")
    lines += wrap(f"{said}.", width, "quiet")
    if check.advice:
        lines += wrap(f"{capital(check.advice)}.", width)
    return lines
