"""What all commands share: the book they work on, the options every one takes, printing."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from functools import cached_property
from typing import TYPE_CHECKING, Any, TypeVar

import click

from logbook.cli.trouble import say
from logbook.plain import plain
from logbook.refusals import BadInput
from logbook.unit_systems import UNIT_SYSTEMS

if TYPE_CHECKING:
    from pathlib import Path

    from rich.console import RenderableType

    from logbook.cases.desk import Desk
    from logbook.cases.fields import Field
    from logbook.cases.rejudged import Rejudged
    from logbook.records.caution import Caution
    from logbook.settings import Settings

Decorated = TypeVar("Decorated", bound=Callable[..., Any])

_WIDE = 4000  # a pipe or a file has no width: nothing is cut or folded there


class Door:
    """One run of the command line: which book, how to print."""

    def __init__(self) -> None:
        self.db: Path | None = None
        self.json = False
        self.units: str | None = None
        # The units and the time zone of what is printed, once a desk is open.
        self.system, self.zone = "us", "UTC"

    @cached_property
    def settings(self) -> Settings:
        """The settings, read when first needed; what is odd about them is said once."""
        from logbook.settings import load_settings

        settings = load_settings(os.environ)
        for caution in settings.cautions:
            say(f"Caution: {caution}")
        return settings

    @property
    def book_path(self) -> Path:
        """The book: ``--db``, else what the settings name."""
        return self.db or self.settings.book_path

    @contextmanager
    def desk(self, *, create: bool = False) -> Iterator[Desk]:
        """The opened book. `create` for commands that may begin a new one."""
        from logbook.cases.desk import open_desk
        from logbook.cases.labels import house_zone

        desk = open_desk(
            self.book_path,
            create=create,
            who=self.settings.who,
            units=self.units or self.settings.units,
        )
        self.system = desk.units
        try:
            with desk.book.reading() as read:
                self.zone = house_zone(read)
            yield desk
        finally:
            desk.close()

    def data(self, text: str) -> None:
        """A line of data to stdout."""
        click.echo(plain(text, lines=True))

    def put(self, document: Mapping[str, Any]) -> None:
        """One JSON object on one line. Escaped to ASCII: no control character gets out."""
        import json

        click.echo(json.dumps(document, allow_nan=False))

    def words(self, sentence: str) -> None:
        """A sentence to the person, on stderr."""
        say(sentence)

    def table(self, *parts: RenderableType) -> None:
        """Tables for people. Colors only in a terminal; a pipe gets every character, unfolded."""
        from rich.console import Console

        if sys.stdout.isatty():
            console = Console(highlight=False, markup=False)
            for part in parts:
                console.print(part)
            return
        console = Console(highlight=False, markup=False, width=_WIDE)
        with console.capture() as captured:
            for part in parts:
                console.print(part)
        for line in captured.get().splitlines():
            click.echo(line.rstrip())

    def cautions(self, cautions: Iterable[Caution]) -> None:
        """Say the cautions, each once; with ``--json`` they stand in the object instead."""
        if not self.json:
            for text in dict.fromkeys(caution.text for caution in cautions):
                say(f"Caution: {text}")

    def done(
        self, sentence: str, record: Any, *, rejudged: Sequence[Rejudged] | None = None
    ) -> None:
        """The end of a command that changed something: words, or the record as JSON; with what
        that did to the judgement, where it may do anything."""
        if self.json:
            from logbook.reports.as_json import record_json

            document = record_json(record, without=("withdrawn", "rejudged"))
            self.put(self.with_rejudged(document, rejudged))
        else:
            say(sentence)
            self.say_rejudged(rejudged or ())

    def with_rejudged(
        self, document: Mapping[str, Any], rejudged: Sequence[Rejudged] | None
    ) -> Mapping[str, Any]:
        """A document that also tells what is judged otherwise now."""
        if rejudged is None:
            return document
        from logbook.reports.rejudged_words import rejudged_json

        return {**document, "rejudged": rejudged_json(rejudged)}

    def say_rejudged(self, rejudged: Sequence[Rejudged]) -> None:
        """What is judged otherwise now, in a sentence."""
        from logbook.reports.rejudged_words import sentences

        if rejudged and (said := sentences(rejudged, self.system)):
            say(said)

    def listing(
        self, records: Sequence[Any], draw: Callable[..., RenderableType], *more: Any
    ) -> None:
        """A list: a table that `draw` makes of records and `more`, or a JSON object a line."""
        if self.json:
            from logbook.reports.as_json import record_json

            for record in records:
                self.put(record_json(record))
        else:
            self.table(draw(records, *more))


pass_door: Callable[[Callable[..., Any]], Callable[..., Any]] = click.make_pass_decorator(
    Door, ensure=True
)


def _remember(attribute: str) -> Callable[[click.Context, click.Parameter, Any], None]:
    def keep(ctx: click.Context, _: click.Parameter, value: Any) -> None:
        if value:
            setattr(ctx.ensure_object(Door), attribute, value)

    return keep


def _remember_book(ctx: click.Context, _: click.Parameter, value: str | None) -> None:
    if value:
        from pathlib import Path  # help goes without it

        ctx.ensure_object(Door).db = Path(value)


def shared_options() -> list[click.Option]:
    """The options that stand before or after any command's name."""
    return [
        click.Option(
            ["--db"],
            type=click.Path(dir_okay=False),
            metavar="FILE",
            expose_value=False,
            callback=_remember_book,
            help="The logbook to work on (else LOGBOOK_DB, the config file, the default place).",
        ),
        click.Option(
            ["--json"],
            is_flag=True,
            expose_value=False,
            callback=_remember("json"),
            help="Print JSON: SI units, one object, or one a line for lists.",
        ),
        click.Option(
            ["--units"],
            type=click.Choice(UNIT_SYSTEMS),
            expose_value=False,
            callback=_remember("units"),
            help="Units of what is printed for people.",
        ),
    ]


class BookCommand(click.Command):
    """A command that also takes the options every command takes."""

    def __init__(self, *args: Any, **attributes: Any) -> None:
        super().__init__(*args, **attributes)
        self.params.extend(shared_options())


class NounGroup(click.Group):
    """The commands of one noun, such as ``engine add`` and ``engine list``."""

    command_class = BookCommand


def field_options(fields: Iterable[Field]) -> Callable[[Decorated], Decorated]:
    """One option per field, so that command line and forms take the same things."""

    def decorate(function: Decorated) -> Decorated:
        for field in reversed(list(fields)):
            function = click.option(
                f"--{field.key}",
                _parameter(field.key),
                metavar=_metavar(field),
                help=_help(field),
            )(function)
        return function

    return decorate


def given(options: Mapping[str, str | None]) -> dict[str, str]:
    """The field options that were given, by the key of their field."""
    return {
        name.removeprefix(_TYPED).replace("_", "-"): text
        for name, text in options.items()
        if name.startswith(_TYPED) and text is not None
    }


def need_something(*touched: object) -> None:
    """Refuse a change in which nothing was given to change."""
    if not any(touched):
        raise BadInput("nothing to change was given", wanted="at least one option, see --help")


_TYPED = "typed_"


def _parameter(key: str) -> str:
    return _TYPED + key.replace("-", "_")


def _metavar(field: Field) -> str:
    if field.choices:
        return "|".join(choice.replace(" ", "-") for choice in field.choices)
    plain_kinds = {"note": "TEXT", "text": "TEXT", "count": "N", "number": "N", "fraction": "N"}
    return plain_kinds.get(field.kind, "yes|no" if field.kind == "yes or no" else "Q")


def _help(field: Field) -> str:
    return f"{field.label}, such as {field.example!r}." if field.example else f"{field.label}."
