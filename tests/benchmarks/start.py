"""Cold start against an empty Textual app, and the quick options against its import.

Run with ``python -m tests.benchmarks.start [--runs N]``. Both apps come in by the same door
(the command line) and run in a pseudo-terminal of 80×24, one after the other in turn; each clock
stops when the last line of its first screen has been written: for the logbook the last row of the
list and the row of keys, for the empty app its last blank line. Printed are minima and the ratio
of minima, the figure least moved by whatever else the machine does.
"""

from __future__ import annotations

import argparse
import fcntl
import os
import pty
import re
import select
import signal
import struct
import subprocess
import sys
import tempfile
import termios
import time
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.figures import figure

EMPTY = """
import logbook.cli.app as door

def empty(_):
    from textual.app import App

    class Empty(App[None]):
        pass

    Empty().run()
    return 0

door.open_app = empty
from logbook.cli import main
main()
"""
ESCAPES = re.compile(rb"\x1b\][^\x07]*\x07|\x1b\[[0-9;?<>=]*[ -/]*[@-~]")
PATIENCE_S = 20.0


def painted_after(argv: list[str], done: Callable[[bytes], bool], environ: dict[str, str]) -> float:
    """Seconds from start until `done` holds for what was written; the app is killed then."""
    started = time.perf_counter()
    pid, terminal = pty.fork()
    if pid == 0:
        os.execve(argv[0], argv, environ)
    fcntl.ioctl(terminal, termios.TIOCSWINSZ, struct.pack("HHHH", 24, 80, 0, 0))
    written = b""
    try:
        while time.perf_counter() - started < PATIENCE_S:
            if select.select([terminal], [], [], 0.05)[0]:
                written += os.read(terminal, 65536)
                if done(written):
                    return time.perf_counter() - started
    finally:
        os.kill(pid, signal.SIGKILL)
        os.waitpid(pid, 0)
        os.close(terminal)
    raise SystemExit(
        f"{argv} did not paint its first screen:\n{ESCAPES.sub(b'', written)[-2000:]!r}"
    )


def empty_done(written: bytes) -> bool:
    """The last of 24 blank lines has been written."""
    _, found, rest = written.partition(b"\x1b[24;1H")
    return bool(found) and b" " * 80 in rest


def logbook_done(last_row: bytes, key_row: bytes) -> Callable[[bytes], bool]:
    """The last row of the list and the row of keys have been written."""

    def done(written: bytes) -> bool:
        text = ESCAPES.sub(b"", written)
        return last_row in text and key_row in text

    return done


def seconds(argv: list[str]) -> float:
    """A whole run of a command that ends by itself."""
    started = time.perf_counter()
    subprocess.run(argv, check=True, stdout=subprocess.DEVNULL)
    return time.perf_counter() - started


def main() -> None:
    """Print the ratios."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=15)
    runs = parser.parse_args().runs
    with tempfile.TemporaryDirectory() as folder:
        book = Path(folder) / "demo.db"
        logbook = [sys.executable, "-m", "logbook"]
        subprocess.run([*logbook, "demo", "--path", str(book), "--no-open"], check=True)
        tags = subprocess.run(
            [*logbook, "--db", str(book), "engine", "list", "--json"],
            check=True, capture_output=True, text=True,
        ).stdout  # fmt: skip
        last_row = re.findall(r'"tag": ?"([^"]+)"', tags)[-1].encode()
        environ = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
        ours, empty = [], []
        for _ in range(runs):
            empty.append(painted_after([sys.executable, "-c", EMPTY], empty_done, environ))
            ours.append(
                painted_after(
                    [*logbook, "--db", str(book)], logbook_done(last_row, b"help"), environ
                )
            )
    print(f"first painted screen: logbook {min(ours):.3f} s, empty app {min(empty):.3f} s")
    figure("first painted screen against an empty app", min(ours) / min(empty), 1.3)
    took: dict[str, list[float]] = {"import": [], "--version": [], "--help": []}
    for _ in range(runs):
        took["import"].append(seconds([sys.executable, "-c", "import textual.app"]))
        for option in ("--version", "--help"):
            took[option].append(seconds([*logbook, option]))
    base = min(took.pop("import"))
    for option, times in took.items():
        print(f"{option}: {min(times):.3f} s, import textual.app {base:.3f} s")
        figure(f"{option} against importing the terminal library", min(times) / base, 0.3)


if __name__ == "__main__":
    main()
