"""The process that reads binary files: requests on stdin, answers on stdout (`apart`)."""

from __future__ import annotations

import math
import os
import sys
import threading
from collections.abc import Callable, Sequence
from typing import BinaryIO

from logbook.intake.apart import FOUND, MDF, MEMORY, PARQUET, REFUSED, TIME_S, TOO_LARGE, UNREADABLE
from logbook.intake.recording import Recording, pack
from logbook.refusals import BadFile

IDLE_S = 30.0  # then it ends, and gives its memory back


def parse(letter: bytes, content: bytes) -> tuple[int, Sequence[bytes]]:
    """Read one file: a verdict, and the answer in pieces."""
    try:
        return FOUND, list(pack(_reader(letter)(content)))
    except BadFile as refusal:
        return REFUSED, [f"{refusal.what}\n{refusal.wanted or ''}".encode()]
    except MemoryError:
        return TOO_LARGE, [f"would take more than {MEMORY // 2**20:,} MB of memory".encode()]
    except Exception as error:  # whatever a library makes of a damaged file
        return UNREADABLE, [f"{type(error).__name__}: {error}"[:500].encode()]


def _reader(letter: bytes) -> Callable[[bytes], Recording]:
    if letter == MDF.letter:
        import asammdf  # noqa: F401 - before the bounds are set

        from logbook.intake.mdf import read_mdf as read
    else:
        assert letter == PARQUET.letter
        import pyarrow.parquet  # noqa: F401

        from logbook.intake.parquet import read_parquet as read
    import numpy as np  # noqa: F401

    _bound()
    return read


def _bound() -> None:
    """No more than `MEMORY` beyond what is taken now, no large files, and no longer than the one
    who asked waits, whether that one still lives or not; where there is a way."""
    try:
        import resource
    except ImportError:  # not on this system: time alone is bounded
        return
    try:
        with open("/proc/self/statm", encoding="ascii") as statm:
            taken = int(statm.read().split()[0]) * resource.getpagesize()
    except OSError:
        taken = 2 * MEMORY
    used = resource.getrusage(resource.RUSAGE_SELF)
    seconds = math.ceil(used.ru_utime + used.ru_stime + TIME_S)
    for what, most in (
        (resource.RLIMIT_AS, taken + MEMORY),
        (resource.RLIMIT_FSIZE, MEMORY),
        (resource.RLIMIT_CPU, seconds),
    ):
        hard = resource.getrlimit(what)[1]
        bound = most if hard == resource.RLIM_INFINITY else min(most, hard)
        resource.setrlimit(what, (bound, hard))


def serve(requests: BinaryIO, answers: BinaryIO) -> None:
    """Answer until nobody asks any more."""
    while True:
        ending = threading.Timer(IDLE_S, os._exit, (0,))
        ending.daemon = True
        ending.start()
        head = requests.read(9)
        ending.cancel()
        if len(head) < 9:
            return
        size = int.from_bytes(head[1:])
        content = requests.read(size)
        if len(content) < size:
            return
        verdict, pieces = parse(head[:1], content)
        answers.write(bytes([verdict]) + sum(map(len, pieces)).to_bytes(8))
        for piece in pieces:
            answers.write(piece)
        answers.flush()


if __name__ == "__main__":
    pipe = os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # what a library prints does not get into the answers
    serve(sys.stdin.buffer, pipe)
