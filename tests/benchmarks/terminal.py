"""A program in a pseudo-terminal, its answers timed from key to written frame."""

from __future__ import annotations

import fcntl
import os
import pty
import select
import signal
import struct
import termios
import time
from dataclasses import dataclass

BURST_GAP_S = 0.008
"""A frame is written in one go: a silence of this length ends it."""


@dataclass(frozen=True, slots=True)
class Frame:
    """What a key brought: seconds to the end of the first frame (``inf``: none came), and to
    the last byte before it came to rest."""

    first_s: float
    rest_s: float
    text: bytes


class Terminal:
    """`argv` in a terminal of `columns` × `lines`; killed at the end."""

    def __init__(self, argv: list[str], columns: int = 120, lines: int = 40) -> None:
        environ = {**os.environ, "TERM": "xterm-256color", "COLORTERM": "truecolor"}
        self.pid, self._fd = pty.fork()
        if self.pid == 0:
            os.execve(argv[0], argv, environ)
        size = struct.pack("HHHH", lines, columns, 0, 0)
        fcntl.ioctl(self._fd, termios.TIOCSWINSZ, size)

    def __enter__(self) -> Terminal:
        return self

    def __exit__(self, *_: object) -> None:
        os.kill(self.pid, signal.SIGKILL)
        os.waitpid(self.pid, 0)
        os.close(self._fd)

    def until_rest(self, silence_s: float = 0.6, patience_s: float = 30.0) -> bytes:
        """Everything that is written until nothing more comes for a while."""
        text, ends = b"", time.perf_counter() + patience_s
        while time.perf_counter() < ends and select.select([self._fd], [], [], silence_s)[0]:
            text += os.read(self._fd, 65_536)
        return text

    def press(self, key: bytes, silence_s: float = 0.12, patience_s: float = 5.0) -> Frame:
        """One key, and what it brings until there is silence."""
        began = time.perf_counter()
        os.write(self._fd, key)
        first, last, text, in_first = float("inf"), began, b"", True
        wait = patience_s
        while select.select([self._fd], [], [], wait)[0]:
            text += os.read(self._fd, 65_536)
            now = time.perf_counter()
            in_first = in_first and (first == float("inf") or now - last < BURST_GAP_S)
            if in_first:
                first = now - began
            last, wait = now, silence_s
        return Frame(first, last - began, text)

    def resident_mb(self) -> float:
        """How much memory the program holds now."""
        with open(f"/proc/{self.pid}/statm", encoding="ascii") as file:
            pages = int(file.read().split()[1])
        return pages * os.sysconf("SC_PAGE_SIZE") / 1e6
