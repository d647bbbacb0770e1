"""`curewindow today`: the day sheet, and the default when no command is given."""

from __future__ import annotations

from datetime import datetime
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
    from curewindow.daysheet import DaySheet


@click.command(name="today")
@click.argument("job", required=False, shell_complete=complete_job)
@click.option("--full", is_flag=True, help="Say all of it: reasons, margins, cautions, notes.")
@boat_option
@at_option
@json_option
def command(
    job: str | None = None,
    full: bool = False,
    boat: Path | None = None,
    at: str | None = None,
    as_json: bool = False,
) -> None:
    """What can be coated today, until when, and why not.

    With a JOB: all there is to say about that one.
    """
    aboard = go_aboard(boat, at)
    show(aboard.folder, aboard.now, job=job, full=full or job is not None, as_json=as_json)


def show(
    folder: Path,
    now: datetime,
    *,
    job: str | None = None,
    full: bool = False,
    as_json: bool = False,
) -> None:
    """Print the day sheet of a boat folder, of one job if named."""
    from curewindow.daysheet import day_sheet

    whole = sheet = day_sheet(folder, now)
    if job is not None:
        from curewindow.boat.folder import job_by_name, load_work

        name = job_by_name(load_work(folder), job).name
        sheet = sheet.model_copy(
            update={
                "jobs": [day for day in sheet.jobs if day.job == name],
                "clocks": [clock for clock in sheet.clocks if clock.job == name],
                "cautions": [c for c in sheet.cautions if name in c.jobs],
            }
        )
    if as_json:
        print_json(sheet)
    else:
        from curewindow.cli.daytext import day_lines
        from curewindow.cli.text import colour_wanted, screen_width

        colour = colour_wanted()
        click.echo(
            "\n".join(day_lines(sheet, width=screen_width(), full=full, colour=colour)),
            color=colour or None,
        )
    _keep_stated(folder, whole)  # once it is read: nobody waits for the disk


def _keep_stated(folder: Path, sheet: DaySheet) -> None:
    """Keep what is being told, to be held against what comes of it and against the next."""
    from curewindow.boat.folder import load_boat
    from curewindow.calibration.stated import keep_stated
    from curewindow.daysheet.changed import remember
    from curewindow.weather.kept_forecasts import is_real

    if is_real(sheet.as_of):
        keep_stated(folder, load_boat(folder), sheet)
        remember(folder, sheet)
