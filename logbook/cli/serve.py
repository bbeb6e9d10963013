"""``logbook serve``: the same app in a browser, for a tablet in the cell."""

from __future__ import annotations

import secrets
import shlex
import socket
import sys
from urllib.parse import urlencode

import click

from logbook.cli.door import BookCommand, Door, pass_door
from logbook.refusals import BadInput


@click.command(cls=BookCommand)
@click.option("--host", default="127.0.0.1", show_default=True, metavar="ADDRESS",
              help="Which address listens; any but loopback asks for a token.")  # fmt: skip
@click.option("--port", default=8020, show_default=True, type=click.IntRange(1, 65535),
              help="Which port listens.")  # fmt: skip
@click.option("--wall", is_flag=True, help="Only the answer of the session under way, to be read.")
@click.option("--token", metavar="TEXT", help="The token to ask for; else a new one is made.")
@pass_door
def serve(door: Door, host: str, port: int, wall: bool, token: str | None) -> None:
    """The app in a browser.

    Everybody who may open the address works on this book as on a terminal of this machine
    (with --wall they only look on). It speaks plain HTTP: use it in the shop's own network.

    \b
    Examples:
      logbook serve
      logbook serve --wall --host 0.0.0.0 --port 8021
    """
    try:
        from logbook.cli.serving import LogbookServer, is_loopback
    except ModuleNotFoundError as missing:
        raise BadInput(
            f"the app in a browser needs {missing.name}, which is not installed",
            where="logbook serve",
            wanted="pip install 'dyno-cell-logbook[serve]'",
        ) from missing
    if token is not None and len(token) < 8:
        raise BadInput("the token is too short", where="--token", wanted="8 characters or more")
    with door.desk(create=not wall):
        pass  # a book that cannot be opened is said here, not in every browser
    asked = token or ("" if is_loopback(host) else secrets.token_urlsafe(18))
    units = ["--units", door.units] if door.units else []
    app = [sys.executable, "-m", "logbook", "--db", str(door.book_path.absolute()), *units]
    server = LogbookServer(shlex.join([*app, "wall"] if wall else app), host, port, asked)
    every = host in ("0.0.0.0", "::")
    shown = socket.gethostname() if every else f"[{host}]" if ":" in host else host
    query = f"?{urlencode({'token': asked})}" if asked else ""
    place = f"http://{shown}:{port}/{query}"
    if door.json:
        door.put({"address": place, "wall": wall})
    else:
        door.words(f"The logbook is at {place}   Ctrl-C ends it.")
        if every:
            door.words("Where that name is not known, this machine's address does in its place.")
    try:
        server.serve()
    except OSError as taken:
        raise BadInput(
            f"cannot listen there ({taken.strerror})",
            where=f"{host} port {port}",
            wanted="another --port, or this machine's own address",
        ) from taken
