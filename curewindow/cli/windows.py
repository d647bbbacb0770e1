"""`curewindow windows`: the windows ahead, job by job."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

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
    from curewindow.daysheet.models import JobAhead, WindowsAhead
    from curewindow.wording import Wording

_IN = "  "
# Of a window's notes those that are about it, not about what was assumed of the boat.
_SAID_WITH_WINDOW = ("sand first", "after ", "outside the sheet")


@click.command(name="windows")
@click.argument("job", required=False, shell_complete=complete_job)
@click.option(
    "--days",
    type=click.FloatRange(min=0, min_open=True),
    help="How many days to look ahead; else as far as the weather is known.",
)
@boat_option
@at_option
@json_option
def command(
    job: str | None, days: float | None, boat: Path | None, at: str | None, as_json: bool
) -> None:
    """List the windows ahead: what opens and closes each, its tightest margin, what follows.

    With a JOB only its own. A window runs from its first start to the end of the
    work begun at its last.
    """
    from curewindow.daysheet import windows_ahead

    aboard = go_aboard(boat, at)
    ahead = windows_ahead(aboard.folder, aboard.now, job=job, days=days)
    if as_json:
        print_json(ahead)
        return
    from curewindow.cli.text import colour_wanted, screen_width

    colour = colour_wanted()
    text = "\n".join(_lines(ahead, screen_width(), colour))
    click.echo(text, color=colour or None)


def _lines(ahead: WindowsAhead, width: int, colour: bool) -> list[str]:
    from curewindow.cli.text import paint, wrap
    from curewindow.wording import Wording

    words = Wording(ZoneInfo(ahead.time_zone), ahead.as_of, ahead.temperature_unit == "°F")
    head = f"{ahead.boat}, {words.when(ahead.as_of)} to {words.when(ahead.until)}"
    lines = [paint(line, "head", colour=colour) for line in wrap(head, width)]
    for job in ahead.jobs:
        if job.status == "done" and len(ahead.jobs) > 1:
            continue
        lines += ["", *_job_lines(job, words, width, colour)]
    done = [job.job for job in ahead.jobs if job.status == "done"]
    if done and len(ahead.jobs) > 1:
        lines += ["", *wrap(f"Done: {', '.join(done)}", width, "", _IN)]
    for note in ahead.notes:
        lines += ["", *wrap(note, width, "", _IN)]
    return lines


def _job_lines(job: JobAhead, words: Wording, width: int, colour: bool) -> list[str]:
    from curewindow.cli.daytext import margin_text
    from curewindow.cli.text import paint, wrap
    from curewindow.daysheet.words import after_text, obstacle_text, step_text, window_text

    title = job.job if job.next is None else f"{job.job}: {step_text(job.next)}"
    lines = [
        paint(line, job.status, colour=colour, bold=True) for line in wrap(title, width, "", _IN)
    ]
    if job.next is None or not job.windows:
        lines += wrap(job.sentence, width, _IN)
        for obstacle in job.obstacles[1:]:
            lines += wrap(f"also {obstacle_text(obstacle, words)}", width, _IN)
        return lines
    for window in job.windows:
        line = window_text(window, job.next.hands_on_h, words)
        if job.next.sheet is not None:
            line += f", last start {words.clock(window.closes)}"
            line += f", {round(window.confidence * 100)} % sure"
        lines += wrap(line, width, _IN, f"{_IN}{_IN}")
        if job.next.sheet is None:
            continue
        more = [
            f"opens: {words.sentence(window.opens_because)}; "
            f"closes: {words.sentence(window.closes_because)}"
        ]
        if window.tightest is not None:
            more.append(f"tightest: {margin_text(window.tightest, words)}")
        after = after_text(window, words)
        if after:
            more.append(f"start {words.clock(window.best_start)}: {after}")
        more += [words.sentence(n) for n in window.notes if n.startswith(_SAID_WITH_WINDOW)]
        for text in more:
            lines += wrap(text, width, f"{_IN}{_IN}", f"{_IN}{_IN}{_IN}")
    return lines
