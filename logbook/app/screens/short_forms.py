"""The short forms of the Engines screen and the engine's sheet: a copy, a build, its correction."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from textual.app import ComposeResult

from logbook.app.keys import bindings
from logbook.app.screens.short_form import ShortForm
from logbook.app.widgets.field import TextEntry

if TYPE_CHECKING:
    from logbook.cases.desk import Desk
    from logbook.records.engine import Build


class CopyForm(ShortForm[str]):
    """A new engine with another's sheet."""

    place = "copy"
    BINDINGS = bindings("copy")

    def __init__(self, tag: str) -> None:
        super().__init__(f"copy-{tag}", f"A new engine with the sheet of {tag}")
        self._tag = tag

    def entries(self) -> ComposeResult:
        """The new tag."""
        yield TextEntry("tag", "Tag of the new engine", hint="short, such as RB-3")

    def save_job(self) -> Callable[[Desk], str]:
        """Copy it."""
        tag, new = self._tag, self.touched().get("tag", "")

        def job(desk: Desk) -> str:
            from logbook.cases.engines import copy_engine

            return copy_engine(desk, tag, new).tag

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(str(result))
        self.book.say(f"{result} entered with the sheet of {self._tag}. u takes it back.")


class BuildForm(ShortForm[str]):
    """The next build of an engine."""

    place = "build"
    BINDINGS = bindings("build")

    def __init__(self, tag: str, label: str) -> None:
        super().__init__(f"build-{tag}", f"The next build of {tag}")
        self._tag, self._label = tag, label

    def entries(self) -> ComposeResult:
        """Its label, date and notes."""
        yield TextEntry("label", "Label", self._label)
        yield TextEntry("built-on", "Built on", hint="such as 2026-03-01; today if empty")
        yield TextEntry("notes", "What was changed", wide=True)

    def save_job(self) -> Callable[[Desk], str]:
        """Enter it."""
        given = {entry.key: entry.value.strip() for entry in self.all_entries()}
        tag = self._tag

        def job(desk: Desk) -> str:
            from logbook.cases.builds import add_build

            return add_build(
                desk, tag, given["label"], built_on=given["built-on"] or None,
                notes=given["notes"],
            ).label  # fmt: skip

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(None)
        self.book.say(f"{result} of {self._tag} entered. u takes it back.")


class BuildCorrection(ShortForm[str]):
    """Another label, date or note; answers with the label."""

    place = "build correction"
    BINDINGS = bindings("build correction")

    def __init__(self, tag: str, build: Build) -> None:
        super().__init__(f"build-of-{build.id}", f"{build.label} of {tag}")
        self._tag, self._build = tag, build

    def entries(self) -> ComposeResult:
        """What stands there."""
        yield TextEntry("new-label", "Label", self._build.label)
        yield TextEntry("built-on", "Built on", self._build.built_on or "")
        yield TextEntry("notes", "What was changed", self._build.notes, wide=True)

    def save_job(self) -> Callable[[Desk], str]:
        """Correct it."""
        touched, tag, label = self.touched(), self._tag, self._build.label

        def job(desk: Desk) -> str:
            from logbook.cases.builds import change_build

            return change_build(
                desk, tag, label, new_label=touched.get("new-label"),
                built_on=touched.get("built-on"), notes=touched.get("notes"),
            ).label  # fmt: skip

        return job

    def finish(self, result: object) -> None:
        """Say so on the screen below."""
        self.dismiss(str(result))
        self.book.say(f"{result} of {self._tag} corrected. u takes it back.")
