"""``logbook`` itself: without a command the app, with one the command."""

from __future__ import annotations

import click

from logbook import __version__
from logbook.cli.door import Door, shared_options
from logbook.cli.lazy import LazyGroup

_PLACES = {
    "demo": "logbook.cli.demo:demo",
    "air": "logbook.cli.air:air",
    "air-from": "logbook.cli.air_from:air_from",
    "engine": "logbook.cli.engine:engine",
    "build": "logbook.cli.build:build",
    "inspection": "logbook.cli.inspection:inspection",
    "due": "logbook.cli.due:due",
    "attach": "logbook.cli.attached:attach",
    "attached": "logbook.cli.attached:attached",
    "fuel": "logbook.cli.fuel:fuel",
    "cell": "logbook.cli.cell:cell",
    "calibration": "logbook.cli.calibration:calibration",
    "session": "logbook.cli.session:session",
    "pull": "logbook.cli.pull:pull",
    "watch": "logbook.cli.watch:watch",
    "backfill": "logbook.cli.backfill:backfill",
    "find": "logbook.cli.find:find",
    "compare": "logbook.cli.compare:compare",
    "timing": "logbook.cli.timing:timing",
    "ledger": "logbook.cli.ledger:ledger",
    "health": "logbook.cli.health:health",
    "plan": "logbook.cli.plan:plan",
    "report": "logbook.cli.report:report",
    "export": "logbook.cli.export:export",
    "archive": "logbook.cli.archive:archive",
    "import": "logbook.cli.archive:import_",
    "undo": "logbook.cli.change:undo",
    "redo": "logbook.cli.change:redo",
    "history": "logbook.cli.change:history",
    "backup": "logbook.cli.safety:backup",
    "verify": "logbook.cli.safety:verify",
    "rescue": "logbook.cli.safety:rescue",
    "merge": "logbook.cli.merge:merge",
    "wall": "logbook.cli.wall:wall",
    "serve": "logbook.cli.serve:serve",
    "keys": "logbook.cli.keys:keys",
    "doctor": "logbook.cli.doctor:doctor",
    "where": "logbook.cli.where:where",
    "completion": "logbook.cli.completion:completion",
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
