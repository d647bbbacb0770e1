"""`curewindow learn`: what the readings of a space tell of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

from curewindow.cli.common import (
    at_option,
    boat_option,
    complete_space,
    go_aboard,
    json_option,
    print_json,
)

if TYPE_CHECKING:
    from curewindow.fitting.answer import LearnAnswer, LearnedErrors, LearnedValue
    from curewindow.fitting.lesson import FittedValue
    from curewindow.wording import Wording

_IN = "  "
# Keys of learned.toml behind which the uncertainty stands as a remark.
_FILE_KEY = {
    "air_change": "air_change",
    "heat_loss": "heat_loss",
    "interior_mass": "interior_mass",
    "held_water": "held_water",
    "moisture": "moisture",
    "heater": "heater_output",
}


@click.command(name="learn")
@click.argument("space", shell_complete=complete_space)
@click.option("--keep", is_flag=True, help="Write the values to learned.toml: they are then used.")
@click.option(
    "--picture",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Draw read and worked out values into FILE (.svg or .png).",
)
@boat_option
@at_option
@json_option
def command(
    space: str,
    keep: bool,
    picture: Path | None,
    boat: Path | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Find what nobody can measure of SPACE from its readings: leaks, insulation, damp.

    Nothing changes unless you say --keep.
    """
    from curewindow.boat.folder import RECORD_FILE, space_by_name
    from curewindow.conditions import keep_learned, learned_in
    from curewindow.fitting import learn
    from curewindow.fitting.answer import answer_of
    from curewindow.record.heat import with_heat
    from curewindow.record.store import Record
    from curewindow.weather.choose import get_forecast

    if picture is not None:
        from curewindow.drawing import form_of

        form_of(picture)
    aboard = go_aboard(boat, at)
    with Record(aboard.folder / RECORD_FILE, read_only=True) as record:
        readings = record.readings(until=aboard.now)
        described_boat = with_heat(aboard.boat, record.heat(), readings, aboard.now)
    described = space_by_name(described_boat, space)
    forecast = get_forecast(aboard.boat, aboard.folder, aboard.now)
    lesson = learn(
        described_boat,
        described,
        forecast,
        readings,
        aboard.now,
        learned=learned_in(aboard.folder),
    )
    if picture is not None:
        from curewindow.fitting.picture import draw

        draw(lesson, picture, aboard.wording.zone, fahrenheit=aboard.wording.fahrenheit)
    if keep:
        remarks = {_FILE_KEY[found.key]: _remark(found) for found in lesson.found}
        keep_learned(aboard.folder, lesson.learned, remarks)
    answer = answer_of(lesson, aboard.boat.name, aboard.boat.place.time_zone, kept=keep)
    if as_json:
        print_json(answer)
        return
    from curewindow.cli.text import colour_wanted, screen_width

    colour = colour_wanted()
    lines = _lines(answer, aboard.wording, screen_width(), colour)
    if picture is not None:
        lines += ["", f"Drawn: {picture}"]
    click.echo("\n".join(lines), color=colour or None)


def _remark(found: FittedValue) -> str:
    from curewindow.fitting.answer import PARTLY

    spread = f"times or divided by {found.factor:.2f}"
    return spread if found.told >= PARTLY else f"{spread}; not told by the readings"


def _lines(answer: LearnAnswer, words: Wording, width: int, colour: bool) -> list[str]:
    from curewindow.cli.text import paint, wrap

    zone = ZoneInfo(answer.time_zone)
    first, last = (f"{at.astimezone(zone):%d %b}".lstrip("0") for at in (answer.first, answer.last))
    head = f"{answer.space}: {answer.readings} readings, {first} to {last}"
    lines = [paint(line, "head", colour=colour) for line in wrap(head, width)]
    for value in answer.values:
        lines += wrap(_value_text(value), width, _IN, f"{_IN}{_IN}")
    lines += ["", *_error_lines(answer, words, width)]
    if answer.suspects:
        lines += ["", *wrap("Not believed, and left out:", width)]
        for item in answer.suspects:
            read = words.amount(item.read, item.unit)
            meant = ""
            if item.expected is not None:
                meant = f" (worked out: {words.amount(item.expected, item.unit)})"
            text = f"{words.when(item.at)}, {item.what} {read}{meant}: {item.why}"
            lines += wrap(text, width, _IN, f"{_IN}{_IN}")
    lines += ["", *_next_lines(answer, words, width)]
    for note in answer.notes:
        lines += ["", *wrap(words.sentence(note), width)]
    lines.append("")
    if answer.kept:
        lines += wrap("Kept in learned.toml: used from now on.", width)
    else:
        again = f"curewindow learn {_quoted(answer.space)} --keep"
        lines += wrap(f"Nothing is changed. To use these values: {again}", width)
    return lines


def _quoted(name: str) -> str:
    return f"'{name}'" if " " in name else name


def _value_text(value: LearnedValue) -> str:
    from curewindow.fitting.unknowns import SHOWN

    shown = SHOWN[value.key]
    low, high = shown.figure(value.value / value.factor), shown.figure(value.value * value.factor)
    before = f"{shown.text(value.before)}, give or take a factor {value.before_factor:.2g}"
    if value.told == "not told":
        return f"{value.name}: these readings do not tell; it stays near the guess ({before})"
    much = "" if value.told == "told" else "; told in part only"
    return (
        f"{value.name}: {shown.text(value.value)}, likely {low} to {high} (before: {before}){much}"
    )


def _error_lines(answer: LearnAnswer, words: Wording, width: int) -> list[str]:
    from curewindow.cli.text import wrap

    def pair(fitted: LearnedErrors, before: LearnedErrors) -> str:
        parts = []
        for name, after, unfitted in (
            ("air", fitted.air_k, before.air_k),
            ("dew point", fitted.dew_point_k, before.dew_point_k),
            ("surfaces", fitted.surface_k, before.surface_k),
        ):
            if after is not None and unfitted is not None:
                parts.append(
                    f"{name} within {words.difference(after)} "
                    f"({words.difference(unfitted)} as described)"
                )
        return ", ".join(parts)

    lines = wrap(f"Readings used: {pair(answer.fitted, answer.as_described)}", width, "", _IN)
    if answer.held_out is not None and answer.held_out_as_described is not None:
        text = (
            f"The last {answer.held_out.readings} readings, predicted from those before them: "
            f"{pair(answer.held_out, answer.held_out_as_described)}"
        )
        lines += wrap(text, width, "", _IN)
    return lines


def _next_lines(answer: LearnAnswer, words: Wording, width: int) -> list[str]:
    from curewindow.cli.text import wrap

    if not answer.next_readings:
        return wrap("No single reading of the day ahead would tell much more.", width)
    lines = wrap("Would tell most next:", width)
    for item in answer.next_readings:
        what = f"one reading {words.when(item.at)}"
        if item.moment:
            what += f", {item.moment}"
        if item.panel:
            what += f", with the surface of the {item.panel}"
        text = f"{what}: takes {100.0 * item.narrows:.0f} % off the doubt about {item.tells}"
        lines += wrap(text, width, _IN, f"{_IN}{_IN}")
    return lines
