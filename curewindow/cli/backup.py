"""`curewindow backup`: a whole copy of the boat folder in one file."""

from __future__ import annotations

from datetime import UTC, datetime
from pathlib import Path

import click

from curewindow.cli.common import boat_option, json_option, print_json

EXIT_DAMAGED = 1


@click.command(name="backup")
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--overwrite", is_flag=True, help="Replace FILE if it is there.")
@boat_option
@json_option
@click.pass_context
def command(
    ctx: click.Context, file: Path, overwrite: bool, boat: Path | None, as_json: bool
) -> None:
    """A whole copy of the boat folder in FILE, such as boat.zip.

    Log, plan, trust, settings, sheets, weather files: all that lies in it, while the
    service may go on writing. 'curewindow restore FILE' brings it back.
    """
    from curewindow.backup import make_backup
    from curewindow.boat.folder import find_folder
    from curewindow.cli.written import BackedUp
    from curewindow.errors import BackupError
    from curewindow.logbook.words import count

    folder = find_folder(boat)
    if file.exists() and not overwrite:
        raise BackupError("is there already", file=file, by_command="--overwrite replaces it")
    made = make_backup(folder, file, datetime.now(UTC).replace(microsecond=0))
    answer = BackedUp(
        file=str(file),
        folder=str(folder),
        files=[each.path for each in made.contents.files],
        bytes=made.size,
        secrets=list(made.secrets),
        damaged=list(made.damaged),
        left_out=list(made.left_out),
    )
    if as_json:
        print_json(answer)
    else:
        number = count(len(answer.files), "file")
        click.echo(f"copied: {number} of {folder} into {file} ({_size(made.size)})")
        if made.secrets:
            names = ", ".join(made.secrets)
            click.echo(f"it holds passwords ({names}): keep it where nobody else reads it")
        for name in made.left_out:
            click.echo(f"left out: {name} is no file of the boat folder's own")
        for name in made.damaged:
            click.echo(f"damaged: {name} is in the copy as it was found", err=True)
        click.echo("`curewindow restore` brings it back into an empty folder")
    if made.damaged:
        ctx.exit(EXIT_DAMAGED)


def _size(size: int) -> str:
    return f"{size / 1e6:.1f} MB" if size >= 1e6 else f"{max(size / 1e3, 1):.0f} kB"
