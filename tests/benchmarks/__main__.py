"""Everything that is measured, in one run, each part a program of its own; then one table.

Run with ``python -m tests.benchmarks [--book FILE] [--past FILE] [--pulls N] [--minutes M]
[--only PART ...]``. FILE are books of `tests.benchmarks.big_book`, with traces and without; what is
not given is made in a temporary folder: `--pulls` pulls with traces (50,000 take five minutes and
a gigabyte), and no book without traces. Nothing else should run on the machine. README.md beside
this file keeps the figures of each change.
"""

from __future__ import annotations

import argparse
import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.benchmarks.figures import KEPT, kept_in


def parts_of(book: Path, past: Path | None, minutes: float) -> dict[str, list[str]]:
    """Part → its module and arguments."""
    parts = {
        "start": ["start", "--runs", "25"],
        "scale": ["scale", str(book)],
        "keystroke": ["keystroke", str(book), "--minutes", str(minutes)],
        "compare": ["compare_speed", "--book", str(book)],
        "judgement": ["judgement_speed"],
        "report": ["reports"],
        "intake": ["intake"],
        "faults": ["faults", "--faults", "300"],
        "programs": ["two_programs"],
        "fuzz": ["fuzz", "3000"],
    }
    if past is not None:
        parts["past"] = ["scale", str(past), "--runs", "9"]
    return parts


def main() -> None:
    """Run the parts, then print the table."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--book", type=Path, metavar="FILE")
    parser.add_argument("--past", type=Path, metavar="FILE", help="a book without traces")
    parser.add_argument("--pulls", type=int, default=50_000, metavar="N")
    parser.add_argument("--minutes", type=float, default=2.0, metavar="M")
    parser.add_argument("--only", nargs="+", metavar="PART")
    given = parser.parse_args()
    with tempfile.TemporaryDirectory(prefix="figures-") as name:
        book = given.book or Path(name) / "big.db"
        parts = parts_of(book, given.past, given.minutes)
        if unknown := set(given.only or ()) - parts.keys():
            parser.error(f"{', '.join(sorted(unknown))}: parts are {', '.join(parts)}")
        chosen = [part for part in parts if part in (given.only or parts)]
        if not book.exists() and {"scale", "keystroke", "compare"} & set(chosen):
            run("book", ["big_book", str(book), "--pulls", str(given.pulls)], dict(os.environ))
        kept = Path(name) / "figures.jsonl"
        environ = {**os.environ, KEPT: str(kept)}
        failed = [part for part in chosen if not run(part, parts[part], environ)]
        print("\nAll figures\n" + "\n".join(one.line() for one in kept_in(kept)))
    if failed:
        raise SystemExit(f"ended with an error: {', '.join(failed)}")


def run(part: str, arguments: list[str], environ: dict[str, str]) -> bool:
    """One part, its own lines as they come; whether it went well."""
    print(f"\n=== {part}: python -m tests.benchmarks.{' '.join(arguments)}", flush=True)
    began = time.perf_counter()
    module, *rest = arguments
    ended = subprocess.run([sys.executable, "-m", f"tests.benchmarks.{module}", *rest], env=environ)
    print(f"=== {part} took {time.perf_counter() - began:.0f} s", flush=True)
    return ended.returncode == 0


if __name__ == "__main__":
    main()
