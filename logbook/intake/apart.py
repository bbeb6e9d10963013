"""Files of binary formats are read in a process of their own, with bounds on memory and time.

The libraries that read them believe what a file says: a damaged or hostile one may take
gigabytes, run in circles or crash them. Whatever happens over there, here it is a sentence. The
process waits for more files for a while: a thousand old ones are not a thousand starts.
"""

from __future__ import annotations

import importlib.util
import os
import subprocess
import sys
import threading
import time
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from logbook import underway
from logbook.intake.recording import Recording, unpack
from logbook.intake.text import visible
from logbook.refusals import BadFile

TIME_S = 15.0
_LOOK_S = 0.1
MEMORY = 1024 * 1024 * 1024  # beyond what the library itself takes
FOUND, REFUSED, UNREADABLE, TOO_LARGE = b"FRUL"
_HEAD = 9  # a letter and eight bytes of length, both ways
# One thread and one arena each: otherwise the libraries set aside room for every core.
_SPARING = {"OPENBLAS_NUM_THREADS": "1", "OMP_NUM_THREADS": "1", "NUMEXPR_NUM_THREADS": "1",
            "MALLOC_ARENA_MAX": "2", "ARROW_DEFAULT_MEMORY_POOL": "system"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Format:
    """A binary format: its name, the library that reads it and the extra that brings that."""

    letter: bytes
    name: str
    library: str
    extra: str
    instead: str


MDF = Format(b"M", "ASAM MDF 4", "asammdf", "mdf", "its channels exported as CSV")
PARQUET = Format(b"P", "Parquet", "pyarrow", "parquet", "the table saved as CSV")


def format_of(content: bytes, *, where: str) -> Format | None:
    """The binary format that a file's first bytes name; ``None`` for any other.

    Raises `BadFile` for MDF before version 4, and for one that was not brought to its end.
    """
    if content.startswith(b"PAR1"):
        return PARQUET
    if content.startswith(b"UnFinMF"):
        raise BadFile("the measurement was not brought to its end (unfinalized MDF)", where=where,
                      wanted="the file finished by what writes it")  # fmt: skip
    if not content.startswith(b"MDF     "):
        return None
    version = content[8:16].split(b"\0")[0].strip().decode("ascii", "replace")
    if not version.startswith("4."):
        raise BadFile(f'the file is MDF of version "{visible(version)}", and version 4 is read',
                      where=where, wanted="it saved as MDF 4, or as CSV")  # fmt: skip
    return MDF


def read_recording(content: bytes, format_: Format, *, where: str) -> Recording:
    """What a file of that format holds.

    Raises `BadFile` (`where` names the file) where its library is not installed, where it is
    damaged, and where it would take more than `MEMORY` bytes or `TIME_S` seconds.
    """
    if importlib.util.find_spec(format_.library) is None:
        raise BadFile(
            f"{format_.name} files are read by the library {format_.library}, which is not"
            " installed",
            where=where,
            wanted=f"pip install 'dyno-cell-logbook[{format_.extra}]', or {format_.instead}",
        )
    verdict, answer = _READER.ask(format_.letter + len(content).to_bytes(8), content)
    if verdict == FOUND:
        return unpack(answer)
    text = answer.decode()
    if verdict == REFUSED:
        what, _, wanted = text.partition("\n")
        raise BadFile(what, where=where, wanted=wanted)
    if verdict == TOO_LARGE:
        raise BadFile(f"reading it {text}", where=where, wanted="the pull alone, cut out of it")
    raise BadFile(f"this is no sound {format_.name} file ({visible(text, 120)})", where=where,
                  wanted=f"the file as its program wrote it, or {format_.instead}")  # fmt: skip


class _Reader:
    """The process, started when first needed; one file at a time."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._process: subprocess.Popen[bytes] | None = None

    def ask(self, head: bytes, content: bytes) -> tuple[int, bytes]:
        """A verdict (`FOUND` …) and what belongs to it."""
        with self._lock:
            waited = self._process is not None
            answer = self._exchange(head, content)
            if answer is None and waited:  # it had gone to sleep for good
                answer = self._exchange(head, content)
            return answer or (UNREADABLE, b"its reader did not answer")

    def _exchange(self, head: bytes, content: bytes) -> tuple[int, bytes] | None:
        fresh = self._process is None
        process = self._process = self._process or _start()
        assert process.stdin is not None
        assert process.stdout is not None
        late, over = threading.Event(), threading.Event()
        wanted = underway.wanted()

        def look_on() -> None:
            ends = time.monotonic() + TIME_S
            while not over.wait(_LOOK_S):
                if time.monotonic() > ends:
                    late.set()
                if late.is_set() or not wanted():
                    process.kill()
                    return

        threading.Thread(target=look_on, daemon=True).start()
        try:
            process.stdin.write(head)
            process.stdin.write(content)
            process.stdin.flush()
            told = process.stdout.read(_HEAD)
            answer = process.stdout.read(int.from_bytes(told[1:])) if len(told) == _HEAD else b""
            whole = len(told) == _HEAD and len(answer) == int.from_bytes(told[1:])
        except OSError:
            whole = False
        except BaseException:  # Ctrl-C: nobody will ask for the answer any more
            self._process = None
            process.kill()
            raise
        finally:
            over.set()
        if whole:
            return told[0], answer
        self._process = None
        process.kill()
        ended = process.wait()
        with suppress(OSError):  # what was not written yet, to nobody any more
            process.stdin.close()
        process.stdout.close()
        underway.step()
        if late.is_set():
            return TOO_LARGE, f"took longer than {TIME_S:.0f} s".encode()
        how = f"signal {-ended}" if ended < 0 else f"exit {ended}"
        return (UNREADABLE, f"its reader broke down on it, {how}".encode()) if fresh else None


def _start() -> subprocess.Popen[bytes]:
    root = str(Path(__file__).parents[2])
    path = os.pathsep.join(filter(None, (root, os.environ.get("PYTHONPATH"))))
    return subprocess.Popen(
        [sys.executable, "-P", "-m", "logbook.intake.apart_process"],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        env={**os.environ, **_SPARING, "PYTHONPATH": path},
        start_new_session=True,  # Ctrl-C in the terminal is not meant for it
    )


_READER = _Reader()
