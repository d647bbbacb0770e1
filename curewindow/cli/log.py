"""`curewindow log`: write down readings, coats and finished steps; show, correct, undo."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any, get_args

import click

from curewindow.boat.aboard import Aboard
from curewindow.boat.schema import VENTS_BY_WORD
from curewindow.cli import logcorrect
from curewindow.cli.common import (
    boat_option,
    complete_job,
    complete_sheet,
    complete_space,
    go_aboard,
    json_option,
    print_json,
)
from curewindow.cli.logfiles import export_command, import_command
from curewindow.errors import NotFoundError, QuantityError
from curewindow.findings import Finding
from curewindow.logbook import entry as logentry
from curewindow.logbook import words as logwords
from curewindow.quantity import AREA, PERCENT, TEMPERATURE
from curewindow.record.entries import Coat, Entry, Found, Heat, Item, Reading
from curewindow.record.store import Record
from curewindow.voice.cautions import DEFER, caution
from curewindow.voice.speaking import full
from curewindow.wording import Wording

_TIME_HELP = "'2026-11-25 08:00', '8:00' (today), 'yesterday 16:30', 'Thu 17:10' (the last one)."


class _SignedValues(click.Command):
    """A command whose values may be below zero: '-3C' is a value, not an option."""

    def parse_args(self, ctx: click.Context, args: list[str]) -> list[str]:
        """Write the sign as the typographic minus, which quantities know as well."""
        signed = [
            "−" + argument[1:] if argument[:1] == "-" and argument[1:2].isdigit() else argument
            for argument in args
        ]
        return super().parse_args(ctx, signed)


def _note_option(function: Callable[..., Any]) -> Callable[..., Any]:
    return click.option("--note", default="", help="Anything to remember.")(function)


def _reading_options(function: Callable[..., Any]) -> Callable[..., Any]:
    for option in (
        click.option("--wood", metavar="PERCENT", help="Moisture of the wood, like '14 %'."),
        click.option("--panel", metavar="NAME", help="Panel the surface was measured on."),
        click.option("--surface", metavar="TEMP", help="Temperature of a surface, like '9 °C'."),
        click.option("--humidity", metavar="PERCENT", help="Relative humidity, like '70 %'."),
        click.option("--air", metavar="TEMP", help="Temperature of the air, like '12 °C'."),
    ):
        function = option(function)
    return function


@click.group(name="log")
def command() -> None:
    """Write down readings, coats, finished steps and what the heater does.

    Nothing is ever overwritten: 'undo' takes an entry back, 'correct' puts a right one in
    its place.
    """


@command.command(cls=_SignedValues)
@click.argument("space", shell_complete=complete_space)
@click.argument("values", nargs=-1)
@_reading_options
@click.option("--at", metavar="TIME", help=f"When it was read; else now. {_TIME_HELP}")
@_note_option
@boat_option
@json_option
def reading(
    space: str,
    values: tuple[str, ...],
    air: str | None,
    humidity: str | None,
    surface: str | None,
    panel: str | None,
    wood: str | None,
    at: str | None,
    note: str,
    boat: Path | None,
    as_json: bool,
) -> None:
    """A reading in SPACE (or 'outdoors').

    \b
    curewindow log reading saloon 12C 70%
    curewindow log reading saloon --surface '9 °C' --panel 'hull side'
    """
    aboard = go_aboard(boat)
    short = logentry.short_values(values)
    for name, given in (("air", air), ("humidity", humidity)):
        if given is not None and name in short:
            raise QuantityError(f"{name} is given twice: '{short[name]}' and '{given}'")
    surface_c = logentry.quantity(surface, TEMPERATURE)
    wood_pct = logentry.quantity(wood, PERCENT)
    named = logentry.known_space(aboard.boat, space)
    item = Reading(
        space=named,
        at=logentry.past(at, aboard),
        air_c=logentry.quantity(air or short.get("air"), TEMPERATURE),
        rh_pct=logentry.quantity(humidity or short.get("humidity"), PERCENT),
        surface_c=surface_c,
        panel=logentry.known_panel(aboard.boat, named, panel, surface=surface_c is not None),
        wood_moisture_pct=wood_pct,
        note=note,
    )
    with logentry.open_record(aboard) as record:
        kept = record.add_reading(item)
        doubts = logentry.unused_of(aboard, record, kept)
    _answer(kept, aboard, as_json, doubts=doubts)


@command.command()
@click.argument("entry")
@boat_option
@json_option
def believe(entry: str, boat: Path | None, as_json: bool) -> None:
    """Use a reading that was doubted after all: you are sure of ENTRY, like r12.

    'log show' marks those that are kept and not used.
    """
    aboard = go_aboard(boat)
    with logentry.open_record(aboard) as record:
        found = logcorrect.find_row(record, entry)
        if not isinstance(found, Reading):
            raise NotFoundError(f"{entry} is no reading; only readings are doubted")
        record.believe(found.id)
    said = f"{logwords.say(found, aboard.wording)}: used from now on"
    if as_json:
        print_json(logwords.logged(found, said, []))
    else:
        click.echo(said)


@command.command()
@click.argument("job", shell_complete=complete_job)
@click.option("--step", type=click.IntRange(1, 9999), help="Step of the job; else the one due.")
@click.option("--coat", type=click.IntRange(1, 9999), help="Which coat of it; else the next.")
@click.option(
    "--earlier-unknown",
    is_flag=True,
    help="Nobody knows when the coats before it went on; it is on all the same.",
)
@click.option("--start", metavar="TIME", help=f"First stroke. {_TIME_HELP}")
@click.option("--end", metavar="TIME", help="Last stroke; else now.")
@click.option(
    "--sheet",
    metavar="NAME",
    shell_complete=complete_sheet,
    help="Product sheet; else the work list's.",
)
@click.option("--batch", default="", help="Batch number of the tin.")
@click.option("--area", metavar="AREA", help="Area covered, like '6 m²'; else the job's.")
@_note_option
@boat_option
@json_option
def coat(
    job: str,
    step: int | None,
    coat: int | None,
    earlier_unknown: bool,
    start: str | None,
    end: str | None,
    sheet: str | None,
    batch: str,
    area: str | None,
    note: str,
    boat: Path | None,
    as_json: bool,
) -> None:
    """A coat (or bond, or bead) that went on in JOB."""
    aboard = go_aboard(boat)
    planned = logentry.known_job(aboard, job)
    with logentry.open_record(aboard) as record:
        item, notes = logentry.due_coat(
            aboard,
            planned,
            record.coats(planned.name),
            record.done(planned.name),
            step=step,
            coat=coat,
            earlier_unknown=earlier_unknown,
            start=start,
            end=end,
            sheet=sheet,
            batch=batch,
            area_m2=logentry.quantity(area, AREA),
            note=note,
        )
        kept = record.add_coat(item)
    if start is None and not as_json:
        notes = (*notes, "--start says when it was begun")
    _answer(kept, aboard, as_json, notes)


@command.command()
@click.argument("job", shell_complete=complete_job)
@click.option("--step", type=click.IntRange(1, 9999), help="Step of the job; else the one due.")
@click.option("--at", metavar="TIME", help=f"When it was finished; else now. {_TIME_HELP}")
@_note_option
@boat_option
@json_option
def done(
    job: str, step: int | None, at: str | None, note: str, boat: Path | None, as_json: bool
) -> None:
    """A step of JOB without a product (prepare, sand, fit) that is finished."""
    aboard = go_aboard(boat)
    planned = logentry.known_job(aboard, job)
    with logentry.open_record(aboard) as record:
        item = logentry.due_done(
            aboard,
            planned,
            record.coats(planned.name),
            record.done(planned.name),
            step=step,
            at=at,
            note=note,
        )
        kept = record.add_done(item)
    _answer(kept, aboard, as_json)


@command.command(cls=_SignedValues)
@click.argument("space", shell_complete=complete_space)
@click.argument("setpoint")
@click.option(
    "--until", metavar="TIME", help="To be held until then: 'Tue 02:20', the coming one; '23:00'."
)
@click.option(
    "--vent",
    type=click.Choice(list(VENTS_BY_WORD)),
    default="normal",
    show_default=True,
    help="Vents meanwhile: shut and taped, normal, or ajar.",
)
@click.option("--at", metavar="TIME", help=f"When it was lit or put out; else now. {_TIME_HELP}")
@_note_option
@boat_option
@json_option
def heater(
    space: str,
    setpoint: str,
    until: str | None,
    vent: str,
    at: str | None,
    note: str,
    boat: Path | None,
    as_json: bool,
) -> None:
    """The heater in SPACE was lit and set to SETPOINT, or put 'off', outside its routine.

    \b
    curewindow log heater forepeak 21C --until 'Sun 00:50' --vent ajar
    curewindow log heater forepeak off

    Windows and clocks then go by it. The routine of boat.toml comes back after --until, or at
    once with 'off' alone; 'off' with --until leaves it out as long.
    """
    aboard = go_aboard(boat)
    named = logentry.heated_space(aboard.boat, space)
    lit = logentry.past(at, aboard)
    off = setpoint.strip().casefold() == "off"
    item = Heat(
        space=named,
        at=lit,
        until=lit if off and until is None else logentry.ahead(until, lit, aboard),
        setpoint_c=None if off else logentry.quantity(setpoint, TEMPERATURE),
        ventilation=VENTS_BY_WORD[vent],
        note=note,
    )
    with logentry.open_record(aboard) as record:
        kept = record.add_heat(item)
    _answer(kept, aboard, as_json)


@command.command()
@click.argument("surface", metavar="JOB|SPACE|PANEL", shell_complete=complete_job)
@click.option("--panel", metavar="NAME", help="The surface of a space.")
@click.option("--all", "whole", is_flag=True, help="Every surface of a space.")
@click.option("--at", metavar="TIME", help=f"When it was wiped; else now. {_TIME_HELP}")
@_note_option
@boat_option
@json_option
def dry(
    surface: str,
    panel: str | None,
    whole: bool,
    at: str | None,
    note: str,
    boat: Path | None,
    as_json: bool,
) -> None:
    """A surface was wiped dry, or its dust off: of a JOB (that one alone), a PANEL or a SPACE.

    \b
    curewindow log dry "pump well"
    curewindow log dry saloon --panel bilge

    Until then rain and dew that fell on it stand in the way of a coat.
    """
    aboard = go_aboard(boat)
    at_moment = logentry.past(at, aboard)
    item = logentry.wiped_surface(aboard, surface, panel, whole=whole, at=at_moment, note=note)
    with logentry.open_record(aboard) as record:
        kept = record.add(item)
    _answer(kept, aboard, as_json)


def _coat_options(function: Callable[..., Any]) -> Callable[..., Any]:
    for option in (
        click.option(
            "--coat", type=click.IntRange(1, 9999), help="Which coat of it; else the last."
        ),
        click.option("--step", type=click.IntRange(1, 9999), help="Step of the job; else any."),
        click.argument("job", shell_complete=complete_job),
    ):
        function = option(function)
    return function


@command.command()
@_coat_options
@click.option(
    "--found",
    type=click.Choice(list(get_args(Found))),
    required=True,
    help="What it is: sound; dull or with bloom; sanded since; cleared: its rags and dust are "
    "burnt, soaked or off the boat; spoilt: it comes off.",
)
@click.option("--at", metavar="TIME", help=f"When it was looked at; else now. {_TIME_HELP}")
@_note_option
@boat_option
@json_option
def look(found: Found, **given: Any) -> None:
    """What was found at the last coat of JOB: the answer to 'check the coat'."""
    _inspected(found, **given)


@command.command()
@_coat_options
@click.option("--at", metavar="TIME", help=f"When it was sanded; else now. {_TIME_HELP}")
@_note_option
@boat_option
@json_option
def sand(**given: Any) -> None:
    """The last coat of JOB was sanded for the next one.

    A sanding that is a step of its own is written down with 'curewindow log done'.
    """
    _inspected("sanded", **given)


@command.command()
@_coat_options
@click.option("--at", metavar="TIME", help=f"When it was found; else now. {_TIME_HELP}")
@_note_option
@boat_option
@json_option
def spoilt(**given: Any) -> None:
    """The last coat of JOB is spoilt: rain, runs, dust, wrinkles. It comes off.

    It stays in the record and no longer counts, nor does what was put or done on it since. Once
    it is sanded back or scraped off, 'curewindow log sand' says so; then it is put on again.
    """
    _inspected("spoilt", **given)


def _inspected(
    found: Found,
    *,
    job: str,
    step: int | None,
    coat: int | None,
    at: str | None,
    note: str,
    boat: Path | None,
    as_json: bool,
) -> None:
    aboard = go_aboard(boat)
    planned = logentry.known_job(aboard, job)
    when = logentry.past(at, aboard)
    with logentry.open_record(aboard) as record:
        item = logentry.inspected(
            planned,
            record.coats(planned.name),
            found=found,
            step=step,
            coat=coat,
            at=when,
            note=note,
            words=aboard.wording,
        )
        kept = record.add(item)
    _answer(kept, aboard, as_json, logwords.follows(kept))


@command.command(cls=_SignedValues)
@click.argument("entry")
@_reading_options
@click.option("--at", metavar="TIME", help=f"Right time of a reading or step. {_TIME_HELP}")
@click.option("--start", metavar="TIME", help="Right first stroke of a coat.")
@click.option("--end", metavar="TIME", help="Right last stroke of a coat.")
@click.option(
    "--sheet", metavar="NAME", shell_complete=complete_sheet, help="Right product sheet of a coat."
)
@click.option("--batch", help="Right batch number of a coat.")
@click.option("--area", metavar="AREA", help="Right area of a coat, like '6 m²'.")
@click.option("--note", help="Another note.")
@boat_option
@json_option
def correct(entry: str, boat: Path | None, as_json: bool, **given: str | None) -> None:
    """Put right an ENTRY that 'log show' names, like r12, c3 or w4.

    The old one stays in the record and no longer counts.
    """
    aboard = go_aboard(boat)
    with logentry.open_record(aboard) as record:
        old = logcorrect.find_row(record, entry)
        kept = record.correct(old.id, logcorrect.corrected(old, given, aboard))
        doubts = logentry.unused_of(aboard, record, kept)
    _answer(kept, aboard, as_json, corrects=old.id, doubts=doubts)


@command.command()
@click.option("--job", metavar="NAME", shell_complete=complete_job, help="Only this job.")
@click.option("--space", metavar="NAME", shell_complete=complete_space, help="Only this space.")
@click.option("--last", type=click.IntRange(1, 9999), default=20, show_default=True, metavar="N")
@boat_option
@json_option
def show(job: str | None, space: str | None, last: int, boat: Path | None, as_json: bool) -> None:
    """What stands in the record: the last N, oldest first."""
    aboard = go_aboard(boat)
    with logentry.open_record(aboard, read_only=True) as record:
        rows: list[Item] = []
        unused = {each.reading.id for each in record.marked()}
        if space is not None or job is None:
            named = None if space is None else logentry.known_space(aboard.boat, space)
            rows += logentry.of_space(record, named, last)
        if job is not None or space is None:
            # a job may have left the work list: its coats are still told
            rows += logentry.of_job(record, job, last)
            if job is not None and not rows:
                rows += logentry.of_job(record, logentry.known_job(aboard, job).name, last)
    items = sorted(rows, key=logwords.moment_of)[-last:]
    if as_json:
        print_json(logwords.shown(items))
        return
    if not items:
        click.echo("nothing in the record yet")
    for item in items:
        mark = "  (not used: doubted)" if isinstance(item, Reading) and item.id in unused else ""
        click.echo(f"{logwords.number(item):>5}  {logwords.say(item, aboard.wording)}{mark}")


@command.command()
@click.argument("entry", required=False)
@click.option("--whole", is_flag=True, help="With all that came in with it.")
@boat_option
@json_option
def undo(entry: str | None, whole: bool, boat: Path | None, as_json: bool) -> None:
    """Take back the last entry (again for the one before it), or the ENTRY that is named.

    'log show' names them, like r12, c3 or w4. It stays in the record and no longer counts.
    """
    aboard = go_aboard(boat)
    with logentry.open_record(aboard) as record:
        taken = (
            record.undo_last() if entry is None else _struck(record, entry, whole, aboard.wording)
        )
        answer = logwords.withdrawn(taken, aboard.wording)
    if as_json:
        print_json(answer)
    else:
        click.echo(f"taken back: {answer.said}")


def _struck(record: Record, name: str, whole: bool, wording: Wording) -> Entry:
    entry = record.entry_of(logcorrect.find_row(record, name))
    if entry.size > 1 and not whole:
        raise NotFoundError(
            f"{name} came in with {logwords.say_entry(entry, wording)}",
            by_command=f"'log undo {name} --whole' takes all of them back, 'log correct {name}' "
            "puts this one right",
        )
    return record.undo(entry.id)


command.add_command(import_command)
command.add_command(export_command)


def _answer(
    kept: Item,
    aboard: Aboard,
    as_json: bool,
    notes: tuple[str, ...] = (),
    corrects: int | None = None,
    doubts: Sequence[Finding] = (),
) -> None:
    """Repeat what was understood and how to take it back, then what to take care of."""
    said = logwords.say(kept, aboard.wording)
    care = logentry.cautions_of(aboard, kept) if isinstance(kept, Coat | Heat) else []
    if as_json:
        print_json(logwords.logged(kept, said, list(notes), corrects, care, doubts))
        return
    remarks = f" ({'; '.join(notes)})" if notes else ""
    verb = "logged" if corrects is None else "corrected"
    click.echo(f"{verb}: {said}{remarks}; {logwords.UNDO}")
    for each in doubts:
        click.echo(f"! {full(each, aboard.wording)}; {logwords.believe_hint(kept)}")
    for danger in care:
        click.echo(f"! {caution(danger, aboard.wording)}")
    if care:
        click.echo(DEFER)
