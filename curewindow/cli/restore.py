"""`curewindow restore`: a boat folder brought back from its copy."""

from __future__ import annotations

import shlex
from datetime import UTC, datetime
from pathlib import Path

import click

from curewindow.cli.common import json_option, print_json


@click.command(name="restore")
@click.argument("file", type=click.Path(path_type=Path))
@click.argument("folder", required=False, type=click.Path(path_type=Path), metavar="[DIR]")
@click.option(
    "--aside", is_flag=True, help="Move a folder that is there to a name of its own first."
)
@json_option
def command(file: Path, folder: Path | None, aside: bool, as_json: bool) -> None:
    """Bring a boat folder back into DIR from FILE that 'curewindow backup' made.

    DIR is empty or not there yet; without it the folder goes where curewindow finds it
    from everywhere. All of FILE is looked through first: it comes back whole or not at all.
    """
    from curewindow.backup import restore
    from curewindow.boat.folder import default_folder
    from curewindow.cli.written import BroughtBack
    from curewindow.logbook.words import count

    place = (folder or default_folder()).expanduser()
    done = restore(file, place, datetime.now(UTC).replace(microsecond=0), aside=aside)
    answer = BroughtBack(
        folder=str(place),
        files=[each.path for each in done.contents.files],
        made=done.contents.made,
        aside=None if done.aside is None else str(done.aside),
    )
    if as_json:
        print_json(answer)
        return
    if answer.aside is not None:
        click.echo(f"moved aside: what was there is now {answer.aside}")
    number = count(len(answer.files), "file")
    click.echo(
        f"brought back: {number} into {place}, as they were {answer.made:%Y-%m-%d %H:%M} UTC"
    )
    option = "" if folder is None else f" --boat {shlex.quote(str(folder))}"
    click.echo(f"  curewindow today{option}")
