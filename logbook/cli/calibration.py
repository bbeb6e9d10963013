"""``logbook calibration``: a cell's instruments against references."""

from __future__ import annotations

import sys

import click

from logbook.cli.door import Door, NounGroup, need_something, pass_door
from logbook.refusals import BadInput

_WHY = click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")


@click.group(cls=NounGroup)
def calibration() -> None:
    """Calibrations: what a cell's instruments read.

    \b
    Examples:
      logbook calibration list
      logbook calibration add 'Cell 1' load-cell --unit lb-ft --tolerance '0.2 %' \\
        --pairs '0:0.1 100:100.2 200:200.3 100:100.1 0:0.1' --due '6 months'
    """


@calibration.command()
@click.argument("cell")
@click.argument("instrument")
@click.option(
    "--pairs",
    required=True,
    metavar="R:X …",
    help="Reference:reading in the order they were taken, or - to read them, a pair a line.",
)
@click.option("--unit", required=True, metavar="UNIT", help="Of the readings, such as lb-ft.")
@click.option("--which", default="", metavar="NAME", help="Tells two of a kind apart.")
@click.option("--at", default="", metavar="TIME", help="When, in the cell's zone; else now.")
@click.option(
    "--weights", default="", metavar="kg|lb", help="The references are masses hung on the arm."
)
@click.option("--arm", default="", metavar="Q", help="Arm of the weights; else the cell's.")
@click.option("--gravity", default="", metavar="N", help="Of the place, m/s², as surveyed.")
@click.option("--latitude", default="", metavar="DEG", help="Of the place, to compute gravity.")
@click.option("--zero-before", default="", metavar="N", help="Reading with nothing on, before.")
@click.option("--zero-after", default="", metavar="N", help="Reading with nothing on, after.")
@click.option("--tolerance", default="", metavar="T", help="Such as '0.2 %' of span, '0.5 lb-ft'.")
@click.option("--due", default="", metavar="WHEN", help="A date, or '6 months', '1 year'.")
@click.option("--who", default="", metavar="NAME", help="Who did it; else the operator.")
@click.option("--note", default="", metavar="TEXT", help="Note.")
@pass_door
def add(door: Door, cell: str, instrument: str, pairs: str, **given: str) -> None:
    """Take a calibration down.

    INSTRUMENT is load-cell, barometer, thermometer or fuel-meter.

    \b
    Examples:
      logbook calibration add 'Cell 1' load-cell --unit lb-ft --weights kg --arm '1000 mm' \\
        --latitude 47.5 --pairs '0:0.1 10:72.4 20:144.7 10:72.3 0:0.0' --tolerance '0.2 %'
      logbook calibration add 'Cell 1' barometer --unit inHg --pairs -
    """  # fmt: skip
    from logbook.cases.calibrations import CalibrationEntry, add_calibration

    text = sys.stdin.read() if pairs == "-" else pairs
    with door.desk() as desk:
        made = add_calibration(
            desk, cell, CalibrationEntry(instrument=instrument, pairs=text, **given)
        )
    door.cautions(made.cautions)
    if door.json:
        from logbook.reports.filed_json import calibration_json

        door.put(calibration_json(made))
    else:
        from logbook.cases.calibration_view import instrument_name
        from logbook.reports.calibration_tables import verdict_words

        name = instrument_name(made.calibration)
        door.words(f"Calibration of the {name} of {made.cell.name}: {verdict_words(made)}.")


@calibration.command("list")
@click.argument("cell", required=False)
@pass_door
def list_(door: Door, cell: str | None) -> None:
    """The calibrations of a cell, or of all, newest first.

    \b
    Examples:
      logbook calibration list
      logbook calibration list 'Cell 1' --json
    """
    from logbook.cases.calibrations import list_calibrations

    with door.desk() as desk:
        found = list_calibrations(desk, cell)
    if door.json:
        from logbook.reports.filed_json import calibration_json

        for view in found:
            door.put(calibration_json(view))
    else:
        from logbook.reports.calibration_tables import calibrations

        door.table(calibrations(found))


@calibration.command()
@click.argument("calibration_id", metavar="ID")
@pass_door
def show(door: Door, calibration_id: str) -> None:
    """One calibration: its pairs, fits, residuals and verdict.

    \b
    Examples:
      logbook calibration show 01a2
    """
    from logbook.cases.calibrations import show_calibration

    with door.desk() as desk:
        view = show_calibration(desk, calibration_id)
    if door.json:
        from logbook.reports.filed_json import calibration_json

        door.put(calibration_json(view))
    else:
        from logbook.reports.calibration_tables import calibration_parts

        door.table(*calibration_parts(view))


@calibration.command()
@click.argument("calibration_id", metavar="ID")
@click.option("--which", metavar="NAME", help="Another name of the instrument.")
@click.option("--tolerance", metavar="T", help="Another tolerance.")
@click.option("--due", metavar="WHEN", help="Another due day.")
@click.option("--note", metavar="TEXT", help="Another note.")
@click.option("--drop", is_flag=True, help="Take it out: it should not count.")
@_WHY
@pass_door
def change(door: Door, calibration_id: str, drop: bool, why: str, **given: str | None) -> None:
    """Correct what was said of a calibration.

    An empty text clears a field. Its pairs stay as taken.

    \b
    Examples:
      logbook calibration change 01a2 --due 2027-01-31 --why 'the new interval'
      logbook calibration change 01a2 --drop --why 'weights on the wrong arm'
    """
    from logbook.cases.calibrations import change_calibration, drop_calibration

    need_something(drop, any(text is not None for text in given.values()))
    with door.desk() as desk:
        if drop:
            door.done("Calibration taken out.", drop_calibration(desk, calibration_id, why=why))
            return
        changed = change_calibration(desk, calibration_id, why=why, **given)
    door.done("Calibration changed.", changed.calibration)


@calibration.command()
@click.argument("calibration_id", metavar="ID", required=False)
@click.option(
    "--session",
    "sessions",
    multiple=True,
    metavar="REF",
    help="All pulls of a session, such as RB-2/2026-03-14. Repeatable.",
)
@click.option(
    "--pull",
    "pulls",
    multiple=True,
    metavar="REF",
    help="A pull, such as RB-2/2026-03-14/4. Repeatable.",
)
@click.option("--take-off", is_flag=True, help="Let the pulls stand as they were shown again.")
@_WHY
@pass_door
def apply(
    door: Door,
    calibration_id: str | None,
    sessions: tuple[str, ...],
    pulls: tuple[str, ...],
    take_off: bool,
    why: str,
) -> None:
    """Take pulls through a load cell's calibration, or back.

    What was recorded stays; corrected figures are computed through the calibration, and say so.

    \b
    Examples:
      logbook calibration apply 01a2 --session RB-2/2026-03-14 --why 'load cell found high'
      logbook calibration apply --take-off --session RB-2/2026-03-14
    """  # fmt: skip
    from logbook.cases.recalibrate import apply_calibration, pulls_named, take_off_calibration

    need_something(sessions, pulls)
    if (calibration_id is None) != take_off:
        raise BadInput("neither one calibration nor --take-off was given", where="Calibration",
                       wanted="the id of a calibration, or --take-off without one")  # fmt: skip
    with door.desk() as desk:
        ids = pulls_named(desk, sessions, pulls)
        changed = (
            take_off_calibration(desk, ids, why=why)
            if calibration_id is None
            else apply_calibration(desk, calibration_id, ids, why=why)
        )
    if door.json:
        door.put({"changed": changed, "pulls": ids})
    else:
        door.words(f"{changed} of {len(ids)} pulls changed. `logbook undo` takes it back.")
