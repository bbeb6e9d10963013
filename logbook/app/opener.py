"""Opening a finished file with whatever this machine shows such files in."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path


def open_file(path: Path) -> bool:
    """Hand `path` to the desktop's own program; gives whether there is one to hand it to.

    Never a program within this terminal: it would draw over the app. Over SSH, on a bare
    console and in a browser there is nothing to open it with.
    """
    command = _command()
    if command is None:
        return False
    subprocess.Popen(
        [command, str(path)],
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
        start_new_session=True,
    )
    return True


def _command() -> str | None:
    if "TEXTUAL_DRIVER" in os.environ:  # served: the desktop here is not the reader's
        return None
    if sys.platform == "darwin":
        return shutil.which("open")
    if sys.platform == "win32":
        return shutil.which("explorer")
    if os.environ.get("DISPLAY") or os.environ.get("WAYLAND_DISPLAY"):
        return shutil.which("xdg-open")
    return None
