"""`curewindow why`: one start explained, what stands in the way first."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from curewindow.cli.common import (
    at_option,
    boat_option,
    complete_job,
    go_aboard,
    json_option,
    print_json,
)

if TYPE_CHECKING:
    from curewindow.explain import Why

_MARKS = {"broken": "✗", "unknown": "?", "doubtful": "~", "kept": "✓"}
_LEAD = 2


@click.command(name="why")
@click.argument("job", shell_complete=complete_job)
@click.argument("time", required=False, metavar="[TIME]")
@boat_option
@at_option
@json_option
def command(job: str, time: str | None, boat: Path | None, at: str | None, as_json: bool) -> None:
    """Explain why a JOB may, or may not, be started at a TIME (else now).

    TIME as '15:00' (the next), 'tomorrow 9:00', 'Thu 17:10'. Every limit with its value at the
    worst moment, hours aboard, daylight, recoat times and cautions: what is broken comes first.
    """
    from curewindow.explain import why
    from curewindow.wording import moment

    aboard = go_aboard(boat, at)
    asked = (
        None if time is None else moment(time, aboard.wording.zone, aboard.now, after=aboard.now)
    )
    answer = why(aboard.folder, aboard.now, job, at=asked)
    if as_json:
        print_json(answer)
        return
    from curewindow.cli.text import colour_wanted, screen_width

    colour = colour_wanted()
    click.echo("\n".join(why_lines(answer, screen_width(), colour=colour)), color=colour or None)


def why_lines(answer: Why, width: int, *, colour: bool = False) -> list[str]:
    """Lines of the answer."""
    from curewindow.cli.text import paint
    from curewindow.explain.content import content_of
    from curewindow.voice.cautions import DEFER

    said = content_of(answer)
    lines = [paint(line, "head", colour=colour) for line in _wrapped(said.title, width)]
    style = "go" if answer.allowed else "refused"
    verdict = _wrapped(said.verdict, width)
    lines += [paint(line, style, colour=colour, bold=True) for line in verdict]
    for text in said.then:
        lines += _wrapped(text, width)
    for heading, each in said.groups:
        lines += ["", paint(heading.upper(), "head", colour=colour)]
        for one in each:
            lead = f"{_MARKS[one.state]:<{_LEAD}}"
            lines += _wrapped(one.text, width, lead, " " * _LEAD)
    if said.care:
        lines += ["", paint("TAKE CARE", "head", colour=colour)]
        lines += [line for text in said.care for line in _wrapped(text, width)]
        lines += _wrapped(DEFER, width)
    if said.notes:
        lines.append("")
    for note in said.notes:
        lines += _wrapped(note, width, "- ", "  ")
    if said.attribution:
        lines += _wrapped(said.attribution, width)
    return lines


def _wrapped(text: str, width: int, first: str = "", rest: str = "  ") -> list[str]:
    from curewindow.cli.text import wrap

    return wrap(text, width, first, rest)
