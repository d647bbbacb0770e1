"""`curewindow windows`: the windows ahead, job by job."""

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
from curewindow.numbers import Number

if TYPE_CHECKING:
    from curewindow.answers import NextStep
    from curewindow.daysheet.models import JobAhead, WindowsAhead
    from curewindow.daysheet.windowruns import Run
    from curewindow.wording import Wording

_IN = "  "
_DAYS = 7.0
# What goes without saying where there is little room.
_TRIVIAL = ("open already", "aboard", "nobody aboard")


@click.command(name="windows")
@click.argument("job", required=False, shell_complete=complete_job)
@click.option(
    "--days",
    type=Number(0, 60, min_open=True),
    default=_DAYS,
    show_default="7",
    help="How many days to look ahead, as far as the weather is known.",
)
@boat_option
@at_option
@json_option
def command(job: str | None, days: float, boat: Path | None, at: str | None, as_json: bool) -> None:
    """List the windows ahead: what opens and closes each, its tightest margin, what follows.

    With a JOB only its own. A window runs from its first start to the end of the
    work begun at its last; days that are alike are told together.
    """
    from curewindow.calibration.stated import keep_stated
    from curewindow.daysheet import windows_ahead

    aboard = go_aboard(boat, at)
    ahead = windows_ahead(aboard.folder, aboard.now, job=job, days=days)
    if as_json:
        print_json(ahead)
    else:
        from curewindow.cli.text import colour_wanted, screen_width

        colour = colour_wanted()
        text = "\n".join(_lines(ahead, screen_width(), colour))
        click.echo(text, color=colour or None)
    keep_stated(aboard.folder, aboard.boat, ahead)


def _lines(ahead: WindowsAhead, width: int, colour: bool) -> list[str]:
    from curewindow.cli.text import paint, wrap
    from curewindow.voice import full
    from curewindow.voice.cautions import DEFER
    from curewindow.wording import wording_of

    words = wording_of(ahead)
    head = f"{ahead.boat}, {words.when(ahead.as_of)} until {words.when(ahead.until)}"
    lines = [paint(line, "head", colour=colour) for line in wrap(head, width)]
    for job in ahead.jobs:
        if job.status == "done" and len(ahead.jobs) > 1:
            continue
        lines += ["", *_job_lines(job, ahead.until, words, width, colour)]
    done = [job.job for job in ahead.jobs if job.status == "done"]
    if done and len(ahead.jobs) > 1:
        lines += ["", *wrap(f"Done: {', '.join(done)}", width, "", _IN)]
    if any(window.after.extrapolated for job in ahead.jobs for window in job.windows):
        lines += ["", *wrap("~ outside the sheet's own table: less certain", width, "", _IN)]
    if any(job.cautions for job in ahead.jobs):
        lines += ["", *wrap(DEFER, width, "", _IN)]
    for note in ahead.notes:
        lines += ["", *wrap(full(note, words), width, "", _IN)]
    return lines


def _job_lines(
    job: JobAhead, until: datetime, words: Wording, width: int, colour: bool
) -> list[str]:
    from curewindow.cli.text import paint, wrap
    from curewindow.daysheet.windowruns import runs_of
    from curewindow.voice import full
    from curewindow.voice.cautions import care_text
    from curewindow.voice.day import obstacle_text, step_text

    title = job.job if job.next is None else f"{job.job}: {step_text(job.next)}"
    lines = [
        paint(line, job.status, colour=colour, bold=True) for line in wrap(title, width, "", _IN)
    ]
    if job.next is None or not job.windows:
        lines += wrap(full(job.verdict, words), width, _IN)
        for obstacle in job.obstacles[1:]:
            lines += wrap(f"also {obstacle_text(obstacle, words)}", width, _IN)
        return lines
    for run in runs_of(job.windows, words):
        first, *rest = _run_lines(run, job.next, until, words, width < 60)
        lines += wrap(first, width, _IN, f"{_IN}{_IN}")
        for text in rest:
            lines += wrap(text, width, f"{_IN}{_IN}", f"{_IN}{_IN}{_IN}")
    if care := care_text(job.cautions):
        lines += wrap(care, width, f"{_IN}! ", f"{_IN}{_IN}")
    return lines


def _run_lines(
    run: Run, ahead: NextStep, until: datetime, words: Wording, narrow: bool
) -> list[str]:
    """What is said of a run of windows: a line for when, then its particulars."""
    from curewindow.daysheet.windowruns import later_text, run_text
    from curewindow.voice import full
    from curewindow.voice.day import after_text, margin_text

    starts = ahead.sheet is not None
    head = run_text(run, ahead.tail_h, words, starts=starts)
    if run.first.opens > until:
        head = f"not before {head}"
    said = [head]
    if not starts:
        return said
    reasons = (("opens", run.first.opens_because), ("closes", run.first.closes_because))
    told = [
        f"{what}: {full(why, words)}"
        for what, why in reasons
        if not (narrow and why.kind in _TRIVIAL)
    ]
    if told:
        said.append("; ".join(told))
    if run.tightest is not None:
        said.append(f"tightest: {margin_text(run.tightest, words)}")
    if len(run.windows) > 1:
        after = later_text(run)
    else:
        after = after_text(run.first, words)
        after = after and f"start {words.clock(run.first.best_start)}: {after}"
    if after:
        said.append(after)
    return [*said, *(full(note, words) for note in run.first.notes if note.kind == "sand first")]
