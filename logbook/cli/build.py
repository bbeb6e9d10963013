"""``logbook build``: the assembled states of an engine."""

from __future__ import annotations

import click

from logbook.cli.door import Door, NounGroup, pass_door


@click.group(cls=NounGroup)
def build() -> None:
    """Builds of an engine.

    \b
    Examples:
      logbook build list RB-2
      logbook build add RB-2 'build 4'
    """


@build.command()
@click.argument("tag")
@click.argument("label")
@click.option("--built-on", metavar="DATE", help="Such as 2026-03-01; today when not given.")
@click.option("--note", default="", metavar="TEXT", help="Note.")
@pass_door
def add(door: Door, tag: str, label: str, built_on: str | None, note: str) -> None:
    """Enter a build; its parent is the engine's build before.

    \b
    Examples:
      logbook build add RB-2 'build 4' --built-on 2026-03-01 --note 'new ring pack'
    """
    from logbook.cases.engines import add_build

    with door.desk() as desk:
        made = add_build(desk, tag, label, built_on=built_on, notes=note)
    door.done(f"{made.label} of {tag} entered.", made)


@build.command("list")
@click.argument("tag")
@pass_door
def list_(door: Door, tag: str) -> None:
    """The builds of an engine, newest last.

    \b
    Examples:
      logbook build list RB-2
    """
    from logbook.cases.engines import list_builds
    from logbook.reports.tables import builds

    with door.desk() as desk:
        made = list_builds(desk, tag)
    door.listing(made, builds)
