"""``logbook build``: the assembled states of an engine, and what is in them."""

from __future__ import annotations

from pathlib import Path

import click

from logbook.cli.door import Door, NounGroup, need_something, pass_door

_DATE = click.option("--built-on", metavar="DATE", help="Such as 2026-03-01; else today.")
_NOTE = click.option("--note", default="", metavar="TEXT", help="Note.")
_WHY = click.option("--why", default="", metavar="TEXT", help="The reason, for the audit trail.")


@click.group(cls=NounGroup)
def build() -> None:
    """Builds of an engine and their items.

    \b
    Examples:
      logbook build show RB-2
      logbook build add RB-2 'build 4'
      logbook build item RB-2 'ring pack' 'top ring gap' --value '0.016 in' --done new
      logbook build diff RB-2
    """


@build.command()
@click.argument("tag")
@click.argument("label")
@_DATE
@_NOTE
@click.option("--empty", is_flag=True, help="Begin without the items of the build before.")
@pass_door
def add(door: Door, tag: str, label: str, built_on: str | None, note: str, empty: bool) -> None:
    """Enter a build, as a copy of the engine's build before.

    \b
    Examples:
      logbook build add RB-2 'build 4' --built-on 2026-03-01 --note 'new ring pack'
    """
    from logbook.cases.builds import add_build

    with door.desk() as desk:
        made = add_build(desk, tag, label, built_on=built_on, notes=note, empty=empty)
    door.done(f"{made.label} of {tag} entered.", made)


@build.command()
@click.argument("tag")
@click.argument("label")
@click.argument("new_label")
@click.option("--to", metavar="TAG", help="The engine that gets it; else the same one.")
@_DATE
@_NOTE
@pass_door
def copy(
    door: Door,
    tag: str,
    label: str,
    new_label: str,
    to: str | None,
    built_on: str | None,
    note: str,
) -> None:
    """Enter a build as a copy of any other.

    That may be a sister engine's, too.

    \b
    Examples:
      logbook build copy RB-2 'build 2' 'build 5'
      logbook build copy RB-2 'build 4' 'build 2' --to RB-3
    """
    from logbook.cases.builds import add_build

    with door.desk() as desk:
        made = add_build(
            desk, to or tag, new_label, built_on=built_on, notes=note, copied=label, of=tag
        )
    door.done(f"{made.label} of {to or tag} entered as a copy of {label} of {tag}.", made)


@build.command("list")
@click.argument("tag")
@pass_door
def list_(door: Door, tag: str) -> None:
    """The builds of an engine, newest last.

    \b
    Examples:
      logbook build list RB-2
    """
    from logbook.cases.builds import list_builds
    from logbook.reports.tables import builds

    with door.desk() as desk:
        made = list_builds(desk, tag)
    door.listing(made, builds)


@build.command()
@click.argument("tag")
@click.argument("label", required=False)
@pass_door
def show(door: Door, tag: str, label: str | None) -> None:
    """A build's items by system.

    What differs from its parent is marked. Without a label it is the newest build.

    \b
    Examples:
      logbook build show RB-2
      logbook build show RB-2 'build 3' --json
    """
    from logbook.cases.builds import build_sheet

    with door.desk() as desk:
        sheet = build_sheet(desk, tag, label)
    if door.json:
        from logbook.reports.filed_json import build_json

        door.put(build_json(sheet))
    else:
        from logbook.reports.filed import build_parts

        door.table(*build_parts(sheet))


@build.command()
@click.argument("tag")
@click.argument("system")
@click.argument("name")
@click.option("--build", "label", metavar="LABEL", help="The build; else the newest.")
@click.option("--value", metavar="VALUE", help="A number with its unit, or words.")
@click.option("--per-cylinder", metavar="VALUES", help="Such as '0.35 0.36 - 0.35 mm'.")
@click.option("--tolerance", metavar="LO..HI", help="Such as '0.30..0.40 mm' or '..0.05 mm'.")
@click.option("--done", metavar="WORD", help="new, kept, reclaimed or rejected.")
@click.option("--note", metavar="TEXT", help="Note.")
@click.option("--drop", is_flag=True, help="Take the item out of the sheet.")
@_WHY
@pass_door
def item(
    door: Door, tag: str, system: str, name: str, label: str | None, drop: bool, why: str,
    **given: str | None,
) -> None:  # fmt: skip
    """Enter an item, or set what is given of one.

    SYSTEM is short block, pistons, ring pack, bore finish, clearances, camshaft and valve train,
    head, induction, exhaust, ignition, lubrication and vacuum pump (the beginning is enough), or
    one of your own. An empty text clears a field.

    \b
    Examples:
      logbook build item RB-2 'ring pack' 'top ring' --value '1.0 mm' --done new
      logbook build item RB-2 bore Ra --value '0.4 µm' --tolerance '0.3..0.5 µm'
      logbook build item HC-1 clearances 'piston to bore' \\
        --per-cylinder '0.0031 0.0032 0.0030 0.0031 in' --tolerance '0.0028..0.0034 in'
    """
    from logbook.cases.builds import drop_item, set_item

    texts = {key.replace("_", "-"): text for key, text in given.items() if text is not None}
    with door.desk() as desk:
        if drop:
            gone = drop_item(desk, tag, label, system, name)
            door.done(f"{gone.name} taken out.", gone)
            return
        entered = set_item(desk, tag, label, system, name, texts, why=why)
    door.done(f"{entered.system}: {entered.name} {entered.text}".rstrip() + ".", entered)


@build.command()
@click.argument("tag")
@click.argument("label", required=False)
@click.option("--from", "before", metavar="LABEL", help="The earlier build; else the parent.")
@click.option("--from-engine", metavar="TAG", help="The engine of the earlier build: a sister.")
@pass_door
def diff(
    door: Door, tag: str, label: str | None, before: str | None, from_engine: str | None
) -> None:
    """What differs from its parent or another build.

    The other one may be a sister engine's.

    \b
    Examples:
      logbook build diff RB-2
      logbook build diff RB-2 'build 4' --from 'build 1'
      logbook build diff RB-2 'build 4' --from-engine RB-3
    """
    from logbook.cases.builds import build_sheet, compare_builds
    from logbook.reports.filed import differences

    with door.desk() as desk:
        if before is None and from_engine is None:
            changes = build_sheet(desk, tag, label).difference
        else:
            changes = compare_builds(desk, (from_engine or tag, before), (tag, label))
    if door.json:
        from logbook.reports.filed_json import change_json

        for change in changes:
            door.put(change_json(change))
    elif changes:
        door.table(differences(changes))
    else:
        door.words("Nothing differs.")


@build.command()
@click.argument("tag")
@click.argument("label")
@click.option("--label", "new_label", metavar="LABEL", help="Another label.")
@click.option("--built-on", metavar="DATE", help="Another date.")
@click.option("--note", metavar="TEXT", help="Another note.")
@_WHY
@pass_door
def change(
    door: Door,
    tag: str,
    label: str,
    new_label: str | None,
    built_on: str | None,
    note: str | None,
    why: str,
) -> None:
    """Correct a build's label, date or note.

    \b
    Examples:
      logbook build change RB-2 'build 4' --built-on 2026-03-02 --why 'wrong day'
    """
    from logbook.cases.builds import change_build

    need_something(new_label, built_on is not None, note is not None)
    with door.desk() as desk:
        changed = change_build(
            desk, tag, label, new_label=new_label, built_on=built_on, notes=note, why=why
        )
    door.done(f"{changed.label} of {tag} changed.", changed)


@build.command()
@click.argument("tag")
@click.argument("label", required=False)
@pass_door
def check(door: Door, tag: str, label: str | None) -> None:
    """A build's measures against their tolerances.

    Each is in, to be reclaimed, or out.

    Computed from items of these names: bore (or bore top thrust, bore bottom pin …), skirt, top
    ring gap, second ring gap, Ra, Rk, Rpk, Rvk, chamber, deck, gasket thickness, gasket bore,
    dish, dome, valve pockets, crevice. The tolerance of a measure stands on the item of its name:
    piston clearance, taper, out of round, compression ratio, displacement. An item called the
    same with “reclaim” after it says how far a part is reclaimed. An item 'top ring gap rule' is
    the shop's own rule, in thousandths of an inch per inch of bore. Leak-down and cranking
    compression come from the build's newest inspection, their limits from items leak-down,
    leak-down spread, cranking compression, cranking spread.

    \b
    Examples:
      logbook build check RB-2
      logbook build check RB-2 'build 3' --json
    """
    from logbook.cases.build_checks import build_checks

    with door.desk() as desk:
        found = build_checks(desk, tag, label)
        system = desk.units
    door.cautions(found.cautions)
    if door.json:
        from logbook.reports.check_report import checks_json

        door.put(checks_json(found))
    else:
        from logbook.reports.check_report import check_tables

        door.table(*check_tables(found, system))


@build.command()
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@click.option("--unit", default="µm", metavar="UNIT", help="Of the heights; µm when not given.")
@click.option("--spacing", default="", metavar="Q", help="Between samples, such as '0.5 µm'.")
@click.option("--position-unit", default="mm", metavar="UNIT", help="Of the file's positions.")
@click.option("--cut-off", default="", metavar="Q", help="Of the filter; 0.8 mm when not given.")
@pass_door
def finish(
    door: Door, file: Path, unit: str, spacing: str, position_unit: str, cut_off: str
) -> None:
    """Ra, Rk, Rpk and Rvk of a measured profile.

    The file has one height a line, or a position and a height.

    Ra by ISO 4287, the others by ISO 13565-2 with the filter of ISO 13565-1. Nothing is stored:
    enter the figures as items of the build.

    \b
    Examples:
      logbook build finish bore-3.csv --spacing '0.5 µm'
      logbook build finish bore-3.csv --unit µin --position-unit in --json
    """
    from logbook.cases.profile_finish import finish_of_file

    found = finish_of_file(
        file, unit=unit, spacing=spacing, position_unit=position_unit, cut_off=cut_off
    )
    if door.json:
        from logbook.reports.as_json import record_json

        door.put(record_json(found))
    else:
        from logbook.reports.check_report import finish_table

        door.table(finish_table(found, door.units or door.settings.units or "us"))
