"""`curewindow log import` and `curewindow log export`: tables in and out of the record."""

from __future__ import annotations

import sys
from pathlib import Path

import click

from curewindow.cli.common import (
    boat_option,
    complete_space,
    go_aboard,
    json_option,
    print_json,
)
from curewindow.errors import CsvError
from curewindow.logbook import entry as logentry
from curewindow.logbook import words as logwords
from curewindow.record.entries import Coat, Done, Heat, Inspection, Item, Reading, Wiped
from curewindow.voice.speaking import full

# Below this an import is over before a bar could be looked at.
_LONG_BYTES = 500_000
_BAD_SHOWN = 20
_STEPS = 1000
EXIT_NOT_IMPORTED = 3
# What can be exported: its kind of row.
_EXPORTED: dict[str, type[Item]] = {
    "readings": Reading,
    "coats": Coat,
    "done": Done,
    "heater": Heat,
    "dry": Wiped,
    "inspections": Inspection,
}


@click.command(name="import")
@click.argument("file", type=click.Path(path_type=Path))
@click.option(
    "--space",
    metavar="NAME",
    shell_complete=complete_space,
    help="Space the logger lay in (or 'outdoors'), unless the file has a column of it.",
)
@click.option("--panel", metavar="NAME", help="Panel that surface temperatures were taken on.")
@click.option(
    "--columns",
    metavar="MAP",
    help="Which column is what: 'time=Timestamp,air=Temp (C),humidity=RH%'; also surface, "
    "wood, space, panel, note, source. A time in two columns: 'time=Date+Time'.",
)
@click.option(
    "--zone",
    metavar="ZONE",
    help="Zone of the logger's clock, like 'Europe/Amsterdam' or 'UTC+1'; else the header's, "
    "else the boat's.",
)
@click.option(
    "--dates",
    type=click.Choice(["day-first", "month-first"]),
    help="How dates like 5/1/2026 are meant.",
)
@click.option("--fahrenheit", is_flag=True, help="Temperatures are °F though no header says so.")
@click.option("--keep-good", is_flag=True, help="Import the good lines though others are bad.")
@boat_option
@json_option
@click.pass_context
def import_command(
    ctx: click.Context,
    file: Path,
    space: str | None,
    panel: str | None,
    columns: str | None,
    zone: str | None,
    dates: str | None,
    fahrenheit: bool,
    keep_good: bool,
    boat: Path | None,
    as_json: bool,
) -> None:
    """Readings from a logger's FILE (CSV): all of it, or nothing if a line is bad.

    Separators, decimal comma, °F and common column names are found out. Readings that
    are in the record already are skipped. What 'log export' wrote (readings, coats, done,
    heater ...) comes back by its own columns.
    """
    from curewindow.record.csv_layout import read_mapping
    from curewindow.record.csv_times import DateOrder, read_zone
    from curewindow.record.importing import ImportOptions, import_csv
    from curewindow.record.tables import import_table, kind_of_table

    aboard = go_aboard(boat)
    named = None if space is None else logentry.known_space(aboard.boat, space)
    order: DateOrder | None = None
    if dates is not None:
        order = "day first" if dates == "day-first" else "month first"
    options = ImportOptions(
        zone=aboard.wording.zone if zone is None else read_zone(zone),
        zone_given=zone is not None,
        space=named,
        panel=panel
        if panel is None or named is None
        else logentry.known_panel(aboard.boat, named, panel, surface=True),
        columns=None if columns is None else read_mapping(columns),
        fahrenheit=fahrenheit,
        order=order,
        known_spaces=[*(s.name for s in aboard.boat.space), logentry.OUTDOORS],
        keep_good=keep_good,
    )
    told_how = columns is not None or dates is not None or fahrenheit
    own = None if told_how else kind_of_table(file)
    long = not as_json and own is None and file.stat().st_size > _LONG_BYTES
    with logentry.open_record(aboard) as record:
        if own is not None:
            result, named = import_table(record, file, keep_good=keep_good), None
        elif long:
            with click.progressbar(length=_STEPS, label=file.name, file=sys.stderr) as bar:
                result = import_csv(
                    record, file, options, lambda share: bar.update(int(share * _STEPS) - bar.pos)
                )
        else:
            result = import_csv(record, file, options)
        doubts = logentry.unused_of_import(aboard, record, result)
    refused = bool(result.bad) and not keep_good
    what = logwords.ROW_SAID[result.kind]
    if as_json:
        print_json(logwords.imported(file, result, doubts))
    else:
        _list_bad(result.bad, result.bad_count)
        if refused:
            click.echo(
                f"error: {file}: {result.bad_count} of {result.read} lines cannot be used, so "
                "nothing was imported; --keep-good imports the others",
                err=True,
            )
        else:
            known = f", {result.duplicates} known already" if result.duplicates else ""
            bad = logwords.count(result.bad_count, "bad line")
            left = f", {bad} left out" if result.bad else ""
            back = f"; {logwords.UNDO}" if result.added else ""
            where = f" into {named}" if named else ""
            added = logwords.count(result.added, what)
            click.echo(f"imported: {added} of {file}{where}{known}{left}{back}")
            for each in doubts:
                click.echo(f"! {full(each, aboard.wording)}")
    if refused:
        ctx.exit(EXIT_NOT_IMPORTED)


def _list_bad(bad: tuple[tuple[int, str], ...], count: int) -> None:
    for line, reason in bad[:_BAD_SHOWN]:
        click.echo(f"line {line}: {reason}", err=True)
    if count > _BAD_SHOWN:
        click.echo(f"... and {count - _BAD_SHOWN} more", err=True)


@click.command(name="export")
@click.argument("what", type=click.Choice(list(_EXPORTED)))
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--overwrite", is_flag=True, help="Replace FILE if it is there.")
@boat_option
@json_option
def export_command(
    what: str, file: Path | None, overwrite: bool, boat: Path | None, as_json: bool
) -> None:
    """One kind of entry as a CSV table, to FILE or to standard output.

    Times are given in UTC and on the boat's clock; temperatures in °C. 'log import'
    reads the table back.
    """
    from curewindow.record import exporting

    aboard = go_aboard(boat)
    if file is not None and file.exists() and not overwrite:
        raise CsvError("is there already", file=file, by_command="--overwrite replaces it")
    kind = _EXPORTED[what]
    with logentry.open_record(aboard, read_only=True) as record:
        if as_json and file is None:
            print_json(logwords.shown(list(record.each(kind))))
            return
        target = sys.stdout if file is None else file
        count = exporting.write_csv(record.each(kind), kind, aboard.wording.zone, target)
    if file is None:
        return
    if as_json:
        print_json(logwords.Exported(file=str(file), rows=count))
    else:
        click.echo(f"exported: {logwords.count(count, logwords.ROW_SAID[kind])} to {file}")
