"""``logbook`` itself: without a command the app, with one the command."""

from __future__ import annotations

import click

from logbook import __version__
from logbook.cli.door import Door, shared_options
from logbook.cli.lazy import LazyGroup

# Where each command is defined, and its summary: help lists them without importing one.
_PLACES = {
    "demo": ("logbook.cli.demo:demo", "Build the demo logbook and open it."),
    "air": ("logbook.cli.air:air", "Density, density altitude and every standard's factor."),
    "air-from": ("logbook.cli.air_from:air_from", "Air from an instrument, for the open sessions."),
    "engine": ("logbook.cli.engine:engine", "Engines and their sheets."),
    "build": ("logbook.cli.build:build", "Builds of an engine and their items."),
    "inspection": ("logbook.cli.inspection:inspection", "Inspections of an engine."),
    "due": ("logbook.cli.due:due", "Due marks: oil, springs, a build."),
    "attach": ("logbook.cli.attached:attach", "Keep a photo or any file beside the book."),
    "attached": ("logbook.cli.attached:attached", "Attached files: list, save, take off."),
    "fuel": ("logbook.cli.fuel:fuel", "Fuels, batch by batch."),
    "cell": ("logbook.cli.cell:cell", "Cells: altitude, units, standard."),
    "calibration": (
        "logbook.cli.calibration:calibration",
        "Calibrations: what a cell's instruments read.",
    ),
    "session": ("logbook.cli.session:session", "Sessions: one visit to the cell with one engine."),
    "pull": ("logbook.cli.pull:pull", "Pulls: log, show, exclude, correct."),
    "watch": ("logbook.cli.watch:watch", "Files that land in a folder wait to become pulls."),
    "backfill": ("logbook.cli.backfill:backfill", "Old files or a sheet of old pulls, in one go."),
    "find": ("logbook.cli.find:find", "Pulls that fit a query, newest first."),
    "compare": (
        "logbook.cli.compare:compare",
        "Two pulls, sessions, builds or engines over each other.",
    ),
    "timing": (
        "logbook.cli.timing:timing",
        "The best timing of a SESSION, and which to pull next.",
    ),
    "ledger": ("logbook.cli.ledger:ledger", "What each step of a SESSION was worth."),
    "health": ("logbook.cli.health:health", "An engine over the years."),
    "plan": ("logbook.cli.plan:plan", "Propose a SESSION's plan, or see how far it is."),
    "report": ("logbook.cli.report:report", "A session, a build or an engine as one HTML page."),
    "export": ("logbook.cli.export:export", "Pulls as CSV, JSON Lines or Parquet."),
    "archive": (
        "logbook.cli.archive:archive",
        "Write the whole book to a folder, in open formats.",
    ),
    "import": (
        "logbook.cli.archive:import_",
        "A new book of an archive, equal to the one it came from.",
    ),
    "undo": ("logbook.cli.change:undo", "Take the last change back; the audit trail keeps both."),
    "redo": ("logbook.cli.change:redo", "Bring back what was taken back last."),
    "history": (
        "logbook.cli.change:history",
        "The last changes, newest first: who, when, what, why.",
    ),
    "backup": (
        "logbook.cli.safety:backup",
        "Write a checked copy of the book, also while it is in use.",
    ),
    "verify": (
        "logbook.cli.safety:verify",
        "Check the whole book; of a damaged one, what can be saved.",
    ),
    "rescue": (
        "logbook.cli.safety:rescue",
        "Copy everything readable of a damaged book into a new one.",
    ),
    "merge": ("logbook.cli.merge:merge", "Take another book's records into this one."),
    "wall": ("logbook.cli.wall:wall", "The answer of the open session, screen-filling."),
    "serve": ("logbook.cli.serve:serve", "The app in a browser."),
    "keys": ("logbook.cli.keys:keys", "Every key of the app, and the ids to change them by."),
    "doctor": ("logbook.cli.doctor:doctor", "What this installation and its book are like."),
    "where": ("logbook.cli.where:where", "Which files, operator, units and versions are used."),
    "completion": (
        "logbook.cli.completion:completion",
        "Make the Tab key complete commands in a shell.",
    ),
}


@click.group(
    cls=LazyGroup,
    places=_PLACES,
    invoke_without_command=True,
    params=shared_options(),
    context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100},
)
@click.version_option(__version__, "--version", prog_name="logbook", message="%(prog)s %(version)s")
@click.pass_context
def logbook(ctx: click.Context) -> None:
    """The logbook of an engine dynamometer cell.

    Without a command it opens the app on the logbook. Every command takes --db, --json and
    --units, before or after its name.

    \b
    Examples:
      logbook
      logbook demo
      logbook air --pressure '29.42 inHg' --temperature '78 F' --rh 41
      logbook pull add --engine RB-2 --trace run_0412.csv --set timing=34
      logbook --db cell-2.db find 'engine:RB-2 timing:>30'

    \b
    Output: stdout is data, stderr is words.
    Exit codes:
      0    done
      1    failed: the book or the disk (or `verify` found something)
      2    refused input; nothing was written
      130  stopped by Ctrl-C

    \b
    Environment: LOGBOOK_DB, LOGBOOK_CONFIG, LOGBOOK_OPERATOR, LOGBOOK_UNITS, NO_COLOR.
    """
    if ctx.invoked_subcommand is None:
        from logbook.cli.app import open_app

        ctx.exit(open_app(ctx.ensure_object(Door)))
