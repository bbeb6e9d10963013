"""Every way a command can end, as one sentence and an exit code; never a traceback."""

from __future__ import annotations

import os
import sys
from collections.abc import Sequence

import click

from logbook.cli.root import logbook
from logbook.cli.trouble import DONE, FAILED, REFUSED, STOPPED, keep_details, say
from logbook.refusals import Refusal


def run(arguments: Sequence[str]) -> int:
    """Run one command line; returns the exit code.

    Exit codes are an interface: 0 done, 2 refused input (nothing was written), 1 failed (the
    book, the disk, or an error of the logbook itself), 130 stopped by Ctrl-C.
    """
    _never_fail_on_a_character()
    try:
        ended = logbook.main(list(arguments), prog_name="logbook", standalone_mode=False)
        sys.stdout.flush()
    except Refusal as refusal:
        return _said("Refused" if refusal.exit_code == REFUSED else "Failed", refusal.sentence,
                     refusal.exit_code)  # fmt: skip
    except click.ClickException as refusal:
        return _said("Refused", _usage_sentence(refusal), REFUSED)
    except (click.Abort, KeyboardInterrupt):
        return _said("Stopped", "nothing of the unfinished step was written.", STOPPED)
    except BrokenPipeError:
        return _reader_gone()
    except OSError as trouble:
        return _said("Failed", _disk_sentence(trouble), FAILED)
    except Exception as unexpected:  # the last net: said in words, details kept, never hidden
        return _said("Failed", _unexpected_sentence(unexpected), FAILED)
    return ended if isinstance(ended, int) else DONE


def _said(kind: str, sentence: str, code: int) -> int:
    try:
        sys.stdout.flush()
    except BrokenPipeError:
        return _reader_gone()
    say(f"{kind}: {sentence}")
    return code


def _never_fail_on_a_character() -> None:
    """A terminal that cannot show ``°`` or ``✓`` gets an escape, not an error."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(errors="backslashreplace")


def _reader_gone() -> int:
    """The other end of the pipe has read enough: quiet, and quiet at interpreter exit too."""
    null = os.open(os.devnull, os.O_WRONLY)
    os.dup2(null, sys.stdout.fileno())
    os.close(null)
    return FAILED


def _usage_sentence(refusal: click.ClickException) -> str:
    sentence = " ".join(refusal.format_message().split())
    context = getattr(refusal, "ctx", None)
    if context is not None:
        ended = sentence if sentence.endswith((".", "?")) else f"{sentence}."
        sentence = f"{ended} See: {context.command_path} --help"
    return sentence


def _disk_sentence(trouble: OSError) -> str:
    reason = trouble.strerror or type(trouble).__name__
    return f"{trouble.filename}: {reason}." if trouble.filename else f"{reason}."


def _unexpected_sentence(unexpected: Exception) -> str:
    import traceback

    kept = keep_details("".join(traceback.format_exception(unexpected)))
    return (
        f"an error of the logbook itself ({type(unexpected).__name__}); what was stored before is"
        f" untouched. {kept}"
    )
