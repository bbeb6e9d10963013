"""``logbook attach`` and ``attached``: photos, sheets and other files kept beside the book."""

from __future__ import annotations

from pathlib import Path

import click

from logbook.cli.door import BookCommand, Door, NounGroup, pass_door

_ID = click.argument("attachment_id", metavar="ID")


@click.command(cls=BookCommand)
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--engine", metavar="TAG", help="The engine that it belongs to.")
@click.option("--build", metavar="LABEL", help="The build of the engine.")
@click.option("--session", metavar="REF", help="The session, such as RB-2/2026-03-14.")
@click.option("--inspection", metavar="ID", help="The inspection.")
@click.option("--name", default="", metavar="TEXT", help="What it is called; else its own name.")
@click.option("--note", default="", metavar="TEXT", help="Note.")
@pass_door
def attach(
    door: Door,
    file: Path,
    engine: str | None,
    build: str | None,
    session: str | None,
    inspection: str | None,
    name: str,
    note: str,
) -> None:
    """Keep a photo or any file beside the book.

    It hangs on an engine, a build, a session or an inspection.

    It is copied into a folder named after the book, under its hash. Its name is searchable.

    \b
    Examples:
      logbook attach 'ring gap 3.jpg' --engine RB-2 --build 'build 4'
      logbook attach dyno-sheet.pdf --session RB-2/2026-03-14 --note 'signed'
    """
    from logbook.cases import attachments

    owner = attachments.Owner(engine, build, session, inspection)
    with door.desk() as desk:
        kept = attachments.attach(desk, file, owner, name=name, note=note)
    if door.json:
        from logbook.reports.filed_json import attached_json

        door.put(attached_json(kept))
    else:
        door.words(f"{kept.attachment.name} attached to {kept.of}.")


@click.group(cls=NounGroup)
def attached() -> None:
    """Attached files: list, save, take off.

    \b
    Examples:
      logbook attached list RB-2
      logbook attached save 01a2 photo.jpg
    """


@attached.command("list")
@click.argument("tag")
@pass_door
def list_(door: Door, tag: str) -> None:
    """Everything attached to an engine.

    To its builds, inspections and sessions, too.

    \b
    Examples:
      logbook attached list RB-2
    """
    from logbook.cases.attachments import list_attached

    with door.desk() as desk:
        found = list_attached(desk, tag)
    if door.json:
        from logbook.reports.filed_json import attached_json

        for view in found:
            door.put(attached_json(view))
    else:
        from logbook.reports.filed import attached_files

        door.table(attached_files(found, door.zone))


@attached.command()
@_ID
@click.argument("target", metavar="FILE", type=click.Path(path_type=Path))
@pass_door
def save(door: Door, attachment_id: str, target: Path) -> None:
    """Write an attached file out as it was.

    FILE is a new name or a folder.

    \b
    Examples:
      logbook attached save 01a2 /media/stick
    """
    from logbook.cases.attachments import save_attached

    with door.desk() as desk:
        view = save_attached(desk, attachment_id, target)
    door.done(f"{view.attachment.name} written.", view.attachment)


@attached.command("off")
@_ID
@click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")
@pass_door
def off(door: Door, attachment_id: str, why: str) -> None:
    """Take a file off its record.

    It stays in the folder; undo brings it back.

    \b
    Examples:
      logbook attached off 01a2 --why 'of another engine'
    """
    from logbook.cases.attachments import detach

    with door.desk() as desk:
        gone = detach(desk, attachment_id, why=why)
    door.done(f"{gone.name} is no longer attached.", gone)
