"""``logbook completion``: the Tab key in a shell."""

from __future__ import annotations

import click
from click.shell_completion import get_completion_class

from logbook.cli.door import BookCommand


@click.command(cls=BookCommand)
@click.argument("shell", type=click.Choice(("bash", "zsh", "fish")))
@click.pass_context
def completion(ctx: click.Context, shell: str) -> None:
    """Make the Tab key complete commands in a shell.

    Prints the script that does it.

    \b
    Examples:
      logbook completion bash >> ~/.bashrc
      logbook completion fish > ~/.config/fish/completions/logbook.fish
    """
    maker = get_completion_class(shell)
    assert maker is not None
    click.echo(maker(ctx.find_root().command, {}, "logbook", "_LOGBOOK_COMPLETE").source())
