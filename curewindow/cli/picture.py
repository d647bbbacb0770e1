"""`curewindow picture`: a space or a job's surface over the coming days, drawn."""

from __future__ import annotations

import sys
from pathlib import Path
from typing import TYPE_CHECKING

import click

from curewindow.cli.common import (
    at_option,
    boat_option,
    complete_job,
    complete_space,
    go_aboard,
    json_option,
    print_json,
)
from curewindow.numbers import Number

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem

    from curewindow.boat.schema import Job, Space
    from curewindow.situation import Situation

_NARROW, _DAYS, _DAYS_NARROW = 60, 3.0, 2.0


def complete_either(
    ctx: click.Context, param: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """Names of spaces and jobs, for the shell."""
    return complete_space(ctx, param, incomplete) + complete_job(ctx, param, incomplete)


@click.command(name="picture")
@click.argument("of", required=False, metavar="[SPACE|JOB]", shell_complete=complete_either)
@click.option(
    "--days",
    type=Number(min=0.25, max=60),
    help="How many days to show; else 3, on a narrow screen 2.",
)
@click.option(
    "--to",
    type=click.Path(path_type=Path, dir_okay=False),
    metavar="FILE",
    help="Draw into FILE.svg or FILE.png instead of the terminal.",
)
@click.option("--phone", is_flag=True, help="With --to: as wide as a phone's screen.")
@click.option("--plain", is_flag=True, help="In the terminal: letters only, no blocks or dots.")
@boat_option
@at_option
@json_option
def command(
    of: str | None,
    days: float | None,
    to: Path | None,
    phone: bool,
    plain: bool,
    boat: Path | None,
    at: str | None,
    as_json: bool,
) -> None:
    """Draw the coming days: air, surface and dew point, limits, heater, windows.

    Of a JOB: its own surface, limits and windows. Of a SPACE (or 'outdoors'): the coldest
    surface and the windows of all its jobs. Without a name: the space with most to do.
    """
    from curewindow.charts import can_show, picture_of, scene_of, terminal_lines
    from curewindow.cli.text import screen_width
    from curewindow.situation import read_situation

    width = screen_width()
    aboard = go_aboard(boat, at)
    facts = read_situation(aboard.folder, aboard.now)
    narrow = width < _NARROW and to is None and not as_json
    shown = days if days is not None else _DAYS_NARROW if narrow else _DAYS
    scene = scene_of(facts, _target(facts, of), shown)
    if to is not None:
        from curewindow.charts.figure import write_picture

        write_picture(scene, to, phone=phone)
    if as_json:
        print_json(picture_of(scene))
        return
    if to is not None:
        click.echo(f"{scene.title} is drawn in {to}")
        return
    plain = plain or not can_show(getattr(sys.stdout, "encoding", None))
    click.echo("\n".join(terminal_lines(scene, width, plain=plain)))


def _target(facts: Situation, of: str | None) -> Job | Space | None:
    from curewindow.boat.named import job_or_space
    from curewindow.charts import usual_target
    from curewindow.judgement.progress import next_of

    if of is not None:
        return job_or_space(facts.boat, facts.work, of)
    jobs = facts.work.job
    done = {job.name for job in jobs if next_of(job, facts.coats, facts.dones) is None}
    return usual_target(facts.boat, facts.work, done)
