"""`curewindow whatif`: a space run again with a change that is only thought of."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from curewindow.cli.common import at_option, boat_option, go_aboard, json_option, print_json
from curewindow.cli.picture import complete_either
from curewindow.numbers import Number

if TYPE_CHECKING:
    from datetime import datetime

    from curewindow.explain.change import Intervention
    from curewindow.explain.ifmodels import JobCompared, JobThen, WhatIf
    from curewindow.wording import Wording

_MOST_WINDOWS = 3
_IN = "  "


@click.command(name="whatif")
@click.argument("of", metavar="SPACE|JOB", shell_complete=complete_either)
@click.option("--setpoint", metavar="TEMP", help="Thermostat: '12 °C', '54 °F', or 'off'.")
@click.option("--power", metavar="POWER", help="Heater of this power: '2 kW'.")
@click.option(
    "--vent",
    type=click.Choice(["shut", "normal", "ajar"]),
    help="Vents: shut and taped, normal, or ajar.",
)
@click.option("--air-change", metavar="RATE", help="Air changes: '2 /h'.")
@click.option(
    "--dehumidifier",
    "drier",
    metavar="SIZE",
    help="'1', '10 L/d', 'desiccant 8 L/d', or 'off'.",
)
@click.option(
    "--door",
    "doors",
    metavar="SPACE=open|shut",
    multiple=True,
    help="The door to another space; may be said again.",
)
@click.option("--from", "start", metavar="TIME", help="From when: '06:00'; else now.")
@click.option("--until", metavar="TIME", help="Until when; else on and on.")
@click.option(
    "--days",
    type=Number(0, 60, min_open=True),
    default=3.0,
    show_default=True,
    help="So far ahead windows are told.",
)
@boat_option
@at_option
@json_option
def command(
    of: str,
    setpoint: str | None,
    power: str | None,
    vent: str | None,
    air_change: str | None,
    drier: str | None,
    doors: tuple[str, ...],
    start: str | None,
    until: str | None,
    days: float,
    boat: Path | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Say what a change would do to a SPACE and its jobs, or to one JOB. Nothing is written.

    Example: curewindow whatif saloon --setpoint '12 °C' --from 06:00 --until 20:00
    """
    from curewindow.boat.schema import VENTS_BY_WORD
    from curewindow.explain.change import Intervention
    from curewindow.explain.whatif import what_if
    from curewindow.quantity import AIR_CHANGE, POWER, TEMPERATURE, parse

    if all(each is None for each in (setpoint, power, vent, air_change, drier)) and not doors:
        raise click.UsageError(
            "say what would be otherwise: --setpoint, --power, --vent, --air-change, "
            "--dehumidifier or --door"
        )
    stands = dict(_door(text) for text in doors)
    aboard = go_aboard(boat, at)
    begins = _coming(start, aboard.wording, aboard.now)
    wanted: float | None = None
    if setpoint is not None:
        wanted = float("nan") if setpoint.strip() == "off" else parse(setpoint, TEMPERATURE)
    change = Intervention(
        start=begins,
        until=None if until is None else _coming(until, aboard.wording, begins),
        setpoint_c=wanted,
        power_w=None if power is None else parse(power, POWER),
        vent=None if vent is None else VENTS_BY_WORD[vent],
        air_changes_h=None if air_change is None else parse(air_change, AIR_CHANGE),
        dehumidifier=drier,
        doors=stands,
    )
    answer = what_if(aboard.folder, aboard.now, of, change, days=days)
    if as_json:
        print_json(answer)
        return
    from curewindow.cli.text import colour_wanted, screen_width

    colour = colour_wanted()
    lines = whatif_lines(answer, change, screen_width(), colour=colour)
    click.echo("\n".join(lines), color=colour or None)


def _door(text: str) -> tuple[str, bool]:
    """'forepeak=open' as a name and whether it is open."""
    name, _, state = (part.strip() for part in text.rpartition("="))
    if not name or state not in ("open", "shut", "closed"):
        raise click.UsageError(f"--door '{text}': write SPACE=open or SPACE=shut")
    return name, state == "open"


def _coming(text: str | None, words: Wording, after: datetime) -> datetime:
    """A time as people say it: '06:00' alone is the next one after a moment."""
    from datetime import timedelta

    from curewindow.wording import moment

    if text is None:
        return after
    return moment(text, words.zone, words.now, after=after + timedelta(minutes=1))


def whatif_lines(
    answer: WhatIf, change: Intervention, width: int, *, colour: bool = False
) -> list[str]:
    """Lines of the answer: how it is beside how it would be."""
    from curewindow.cli.text import paint, wrap
    from curewindow.voice import full
    from curewindow.voice import whatif as voiced
    from curewindow.voice.cautions import DEFER, whole_caution
    from curewindow.wording import Wording

    words = Wording(ZoneInfo(answer.time_zone), answer.as_of, answer.temperature_unit == "°F")
    head = voiced.head_text(answer.change, answer.start, change.until, words)
    lines = [paint(line, "head", colour=colour) for line in wrap(head, width, "", _IN)]
    if change.until is None:
        lines += wrap(voiced.looked_text(answer.until, words), width)
    lines += ["", *_table(answer, words, width)]
    for each in answer.lying:
        frost = (each.frost_before_g_m2, each.frost_after_g_m2)
        water = (each.water_before_g_m2, each.water_after_g_m2)
        lines += wrap(voiced.lying_text(each.panel, frost, water), width, "", _IN)
    for job in answer.jobs:
        lines += ["", *_job(job, words, width, colour)]
    if answer.cautions:
        lines += ["", paint("TAKE CARE", "refused", colour=colour, bold=True)]
        said = [f"{whole_caution(each, words)}." for each in answer.cautions]
        for text in [*said, DEFER]:
            lines += wrap(text, width, "", _IN)
    if answer.notes:
        lines.append("")
    for note in answer.notes:
        lines += wrap(full(note, words), width, "- ", _IN)
    return lines + (wrap(answer.attribution, width) if answer.attribution else [])


def _table(answer: WhatIf, words: Wording, width: int) -> list[str]:
    def temp(value: float | None) -> str:
        return "?" if value is None else words.temp(value)

    def difference(value: float | None) -> str:
        return "?" if value is None else words.difference(value)

    def percent(value: float | None) -> str:
        return "?" if value is None else f"{value:.0f} %"

    both = (answer.before, answer.after)
    name = answer.surface if len(answer.surface) <= 16 else "surface"
    rows: list[tuple[str, ...]] = [("", "as it is", "then")]
    rows.append((f"{name}, least", *(temp(course.surface_c) for course in both)))
    rows.append(("above dew, least", *(difference(course.above_dew_k) for course in both)))
    for label, hours in (
        ("dew on it", [course.wet_h for course in both]),
        ("frost on it", [course.frost_h for course in both]),
    ):
        if any(hours):
            rows.append((label, *(f"{hour:g} h" for hour in hours)))
    rows.append(("air, least", *(temp(course.air_lowest_c) for course in both)))
    rows.append(("air, most", *(temp(course.air_highest_c) for course in both)))
    rows.append(("humidity, mean", *(percent(course.rh_mean_pct) for course in both)))
    rows.append(("humidity, most", *(percent(course.rh_highest_pct) for course in both)))
    heat = ["?" if course.heat_kwh is None else f"{course.heat_kwh:g} kWh" for course in both]
    rows.append(("heat", *heat))
    first = max(len(row[0]) for row in rows)
    rest = [max(len(row[k]) for row in rows) for k in (1, 2)]
    gap = "  " if first + sum(rest) + 4 <= width else " "
    return [
        f"{row[0]:<{first}}{gap}{row[1]:>{rest[0]}}{gap}{row[2]:>{rest[1]}}"[:width].rstrip()
        for row in rows
    ]


def _job(job: JobCompared, words: Wording, width: int, colour: bool) -> list[str]:
    from curewindow.cli.text import paint, wrap
    from curewindow.voice.whatif import job_lines

    before, after = _then(job.before, words), _then(job.after, words)
    lines = [paint(job.job, job.after.status, colour=colour, bold=True)]
    for text in job_lines(before, after):
        lines += wrap(text, width, _IN, _IN * 2)
    return lines


def _then(job: JobThen, words: Wording) -> str:
    """First starts and last starts, or why there is none."""
    from curewindow.voice import full
    from curewindow.voice.whatif import starts_text

    if not job.windows or job.status == "refused":
        return full(job.verdict, words)
    spans = [words.from_to(w.opens, w.closes) for w in job.windows[:_MOST_WINDOWS]]
    more = len(job.windows) - _MOST_WINDOWS
    return starts_text(spans, more)
