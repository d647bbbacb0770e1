"""`curewindow learn`: what the readings of a space tell of it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

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
    from curewindow.fitting.answer import LearnAnswer, LearnedErrors
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
    from curewindow.voice.learned import remark_text

    return remark_text(found.factor, found.told >= PARTLY)


def _lines(answer: LearnAnswer, words: Wording, width: int, colour: bool) -> list[str]:
    from curewindow.cli.text import paint, wrap
    from curewindow.voice import full, learned

    head = learned.head_text(answer.space, answer.readings, answer.first, answer.last, words)
    lines = [paint(line, "head", colour=colour) for line in wrap(head, width)]
    for value in answer.values:
        text = learned.value_text(
            value.key, value.value, value.factor, value.before, value.before_factor, value.told
        )
        lines += wrap(text, width, _IN, f"{_IN}{_IN}")
    lines += ["", *_error_lines(answer, words, width)]
    if answer.suspects:
        lines += ["", *wrap(learned.LEFT_OUT, width)]
        for item in answer.suspects:
            read = words.amount(item.read, item.unit)
            expected = None if item.expected is None else words.amount(item.expected, item.unit)
            text = learned.suspect_text(item.at, item.what, read, expected, item.why, words)
            lines += wrap(text, width, _IN, f"{_IN}{_IN}")
    lines += ["", *_next_lines(answer, words, width)]
    for note in answer.notes:
        lines += ["", *wrap(full(note, words), width)]
    lines.append("")
    if answer.kept:
        return [*lines, *wrap(learned.KEPT, width)]
    again = f"curewindow learn {_quoted(answer.space)} --keep"
    return [*lines, *wrap(learned.unchanged_text(again), width)]


def _quoted(name: str) -> str:
    return f"'{name}'" if " " in name else name


def _error_lines(answer: LearnAnswer, words: Wording, width: int) -> list[str]:
    from curewindow.cli.text import wrap
    from curewindow.voice import learned

    def misses(fitted: LearnedErrors, before: LearnedErrors) -> str:
        named = {
            "air": (fitted.air_k, before.air_k),
            "dew point": (fitted.dew_point_k, before.dew_point_k),
            "surfaces": (fitted.surface_k, before.surface_k),
        }
        known = {
            name: (after, unfitted)
            for name, (after, unfitted) in named.items()
            if after is not None and unfitted is not None
        }
        return learned.misses_text(known, words)

    used = learned.used_text(misses(answer.fitted, answer.as_described))
    lines = wrap(used, width, "", _IN)
    if answer.held_out is not None and answer.held_out_as_described is not None:
        text = misses(answer.held_out, answer.held_out_as_described)
        held_out = learned.held_out_text(answer.held_out.readings, text)
        lines += wrap(held_out, width, "", _IN)
    return lines


def _next_lines(answer: LearnAnswer, words: Wording, width: int) -> list[str]:
    from curewindow.cli.text import wrap
    from curewindow.voice import learned

    if not answer.next_readings:
        return wrap(learned.NOTHING_TELLS, width)
    lines = wrap(learned.TELLS_MOST, width)
    for item in answer.next_readings:
        text = learned.next_text(item.at, item.moment, item.panel, item.tells, item.narrows, words)
        lines += wrap(text, width, _IN, f"{_IN}{_IN}")
    return lines
