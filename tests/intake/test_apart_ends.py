"""The process that reads binary files does not outlive those who ask it."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time

import pytest

_SPINS = """
import subprocess, sys
from logbook.intake import apart
SPIN = "import sys; sys.stdin.buffer.read(9)\\nwhile True: pass"
def start():
    child = subprocess.Popen([sys.executable, "-c", SPIN], stdin=-1, stdout=-1,
                             start_new_session=True)
    print(child.pid, flush=True)
    return child
apart._start = start
apart._READER.ask(b"M" + (3).to_bytes(8), b"abc")
"""


def test_ctrl_c_ends_it_in_the_midst_of_a_file() -> None:
    parent = subprocess.Popen([sys.executable, "-c", _SPINS], stdout=subprocess.PIPE, text=True,
                              stderr=subprocess.DEVNULL)  # fmt: skip
    assert parent.stdout is not None
    child = int(parent.stdout.readline())
    time.sleep(0.3)
    parent.send_signal(signal.SIGINT)
    parent.wait(10)
    ends = time.monotonic() + 5
    while time.monotonic() < ends:
        try:
            os.kill(child, 0)
        except ProcessLookupError:
            return
        with open(f"/proc/{child}/stat") as stat:
            if stat.read().split()[2] == "Z":
                return
        time.sleep(0.05)
    os.kill(child, signal.SIGKILL)
    pytest.fail("it reads on, and nobody asks")


def test_it_ends_by_itself_where_nobody_is_left_to_end_it() -> None:
    spins = (
        "from logbook.intake import apart_process as it\n"
        "it.TIME_S = 0.5\nit._bound()\nwhile True: pass"
    )
    ended = subprocess.run([sys.executable, "-c", spins], timeout=30, check=False)
    assert ended.returncode == -signal.SIGXCPU
