"""`curewindow plan --boats DIR`: a line for each boat of a yard or a club."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

import click

if TYPE_CHECKING:
    from curewindow.fleet.models import FleetBoat
    from curewindow.fleet.run import Asked


def show_all(place: Path, asked: Asked, *, as_json: bool) -> int:
    """Plan every boat in a folder and print a line for each; the exit code."""
    from curewindow.fleet.models import Fleet
    from curewindow.fleet.run import boats_in, plan_all
    from curewindow.voice.fleet import sum_text

    folders = boats_in(place)
    told: list[FleetBoat] = []
    coming = plan_all(folders, asked)
    try:
        for answer in coming:
            told.append(answer)
            if not as_json:
                click.echo(_line(answer))
    finally:
        coming.close()
    wrong = sum(each.exit_code != 0 for each in told)
    if as_json:
        click.echo(Fleet(told).model_dump_json(indent=2))
    elif wrong:
        click.echo(sum_text(len(told), wrong), err=True)
    return 1 if wrong else 0


def _line(answer: FleetBoat) -> str:
    from curewindow.voice.fleet import boat_text, problem_text
    from curewindow.wording import Wording

    same = answer.boat.casefold() == answer.folder.casefold()
    name = answer.folder if same else f"{answer.boat} ({answer.folder})"
    if answer.problem or answer.time_zone is None or answer.as_of is None:
        return problem_text(name, answer.problem)
    words = Wording(ZoneInfo(answer.time_zone), answer.as_of)
    return boat_text(
        name,
        replace(words, known_until=answer.known_until),
        finish=answer.finish,
        left_out=answer.left_out,
        days_in_hand=answer.days_in_hand,
        all_done=answer.all_done,
        next_act=answer.next_act,
        next_at=answer.next_at,
    )
