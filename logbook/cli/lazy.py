"""A group of commands that are imported when they are called."""

from __future__ import annotations

import importlib
from collections.abc import Mapping
from typing import Any

import click


class LazyGroup(click.Group):
    """A click group whose commands are named as (``module:attribute``, summary).

    A run imports the file of the one command it calls, help none of them; only shell completion
    imports them all, and none of them imports anything heavy.
    """

    def __init__(
        self, *args: Any, places: Mapping[str, tuple[str, str]], **attributes: Any
    ) -> None:
        super().__init__(*args, **attributes)
        self._places = places

    def list_commands(self, ctx: click.Context) -> list[str]:
        """The names, in the order of the help."""
        return list(self._places)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return a command; ``None`` where there is none of this name."""
        found = self._places.get(cmd_name)
        if found is None:
            return None
        module, _, attribute = found[0].partition(":")
        command = getattr(importlib.import_module(module), attribute)
        assert isinstance(command, click.Command)
        return command

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """The commands with their summaries, none of them imported."""
        with formatter.section("Commands"):
            formatter.write_dl([(name, summary) for name, (_, summary) in self._places.items()])

    def resolve_command(
        self, ctx: click.Context, args: list[str]
    ) -> tuple[str | None, click.Command | None, list[str]]:
        """As click does it, with the nearest names where there is no such command."""
        name = args[0]
        if name in self._places or name.startswith("-"):
            return super().resolve_command(ctx, args)
        from difflib import get_close_matches

        near = get_close_matches(name, self._places, n=2, cutoff=0.5)
        hint = f" Did you mean {' or '.join(near)}?" if near else ""
        raise click.UsageError(f"No such command {name[:60]!r}.{hint}", ctx=ctx)
