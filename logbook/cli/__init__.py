"""The command-line door: the same use-cases as the screens, for scripts.

stdout is data, stderr is words. Exit codes: 0 done, 2 refused input, 1 failed (the book or the
disk), 130 stopped by Ctrl-C.
"""

from __future__ import annotations

import os
import sys


def main() -> None:
    """The ``logbook`` command."""
    # The judgement's matrices are small: threads of the linear algebra only get in its way.
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    from logbook.cli.run import run

    sys.exit(run(sys.argv[1:]))
