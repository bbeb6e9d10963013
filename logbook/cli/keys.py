"""``logbook keys``: every key with the id under which it may be changed."""

from __future__ import annotations

import click

from logbook.cli.door import BookCommand, Door, pass_door


@click.command(cls=BookCommand)
@pass_door
def keys(door: Door) -> None:
    """Every key of the app, and the ids to change them by.

    Keys of one's own stand in the config file (`logbook where` says which), one line each:

    \b
      [keys]
      "session.timing" = "T"
      "undo" = "ctrl+z"

    \b
    Examples:
      logbook keys
      logbook keys --json
    """
    from logbook.app.keymap import Keymap, listed

    keymap = Keymap(door.settings.keys)
    for caution in keymap.cautions:
        door.words(f"Caution: {caution}")
    rows = [
        {"place": place, "id": key.id, "keys": key.keys, "does": key.tooltip}
        for place, key in listed(keymap)
    ]
    if door.json:
        for row in rows:
            door.put(row)
        return
    from logbook.reports.tables import grid

    door.table(
        grid(
            ("Place", "Action", "Key", "Does"),
            [(place, key.id, key.face, key.tooltip) for place, key in listed(keymap)],
        )
    )
