"""`curewindow sheets`: list, show and check product sheets, start one of your own."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from curewindow.cli.common import boat_option, complete_sheet, json_option, print_json

if TYPE_CHECKING:
    from curewindow.sheets.answers import Checked, SheetLine


def _folder(boat: Path | None) -> Path | None:
    """The boat folder, or None where none was asked for and none is at hand."""
    from curewindow.boat.folder import find_folder
    from curewindow.errors import NotFoundError

    try:
        return find_folder(boat)
    except NotFoundError:
        if boat is not None:
            raise
        return None


def _own_dir(boat: Path | None) -> Path | None:
    from curewindow.boat.folder import own_sheets

    folder = _folder(boat)
    return None if folder is None else own_sheets(folder)


@click.group(name="sheets", context_settings={"help_option_names": ["-h", "--help"]})
def command() -> None:
    """Product sheets: what a product demands and how fast it hardens."""


@command.command(name="list")
@boat_option
@json_option
def list_sheets(boat: Path | None, as_json: bool) -> None:
    """List the sheets there are: your own, then the shelf's."""
    from curewindow.sheets.answers import SheetList, sheet_line
    from curewindow.sheets.shelf import names

    lines = [sheet_line(entry) for entry in names(_own_dir(boat))]
    lines.sort(key=lambda line: (not line.own, line.name))
    if as_json:
        click.echo(SheetList(sheets=lines).model_dump_json(indent=2))
        return
    _print_list(lines)


def _print_list(lines: list[SheetLine]) -> None:
    from curewindow.cli.sheetpage import TYPICAL
    from curewindow.cli.text import colour_wanted, heading, screen_width, wrap

    width, colour = screen_width(), colour_wanted()
    name_width = max(len(line.name) for line in lines) + 4
    one_line = width >= name_width + 30
    for own, title in ((True, "Your own sheets"), (False, "The shelf")):
        part = [line for line in lines if line.own == own]
        if not part:
            continue
        click.echo(heading(title, colour=colour))
        if all(line.typical for line in part):
            click.echo("\n".join(wrap(TYPICAL, width)))
        for line in part:
            about = line.problem or f"{line.kind}, {line.chemistry}"
            if not line.problem and not (line.typical and not own):
                about += f"; {line.basis}"
            if one_line:
                first, rest = f"  {line.name}".ljust(name_width), " " * name_width
                click.echo("\n".join(wrap(about, width, first, rest)))
            else:
                click.echo(f"  {line.name}")
                click.echo("\n".join(wrap(about, width, "    ")))
        click.echo()


@command.command(name="show")
@click.argument("name", shell_complete=complete_sheet)
@boat_option
@click.option(
    "--unit", type=click.Choice(["C", "F"], case_sensitive=False), help="Degrees; else the boat's."
)
@json_option
def show_sheet(name: str, boat: Path | None, unit: str | None, as_json: bool) -> None:
    """Show one sheet the way data sheets read."""
    from curewindow.boat.folder import load_boat, own_sheets
    from curewindow.cli.sheetpage import sheet_page
    from curewindow.cli.text import colour_wanted, screen_width
    from curewindow.sheets.answers import sheet_answer
    from curewindow.sheets.shelf import get_sheet

    folder = _folder(boat)
    loaded = get_sheet(name, None if folder is None else own_sheets(folder))
    if as_json:
        answer = sheet_answer(loaded)
        click.echo(answer.model_dump_json(indent=2, by_alias=True, exclude_none=True))
        return
    if unit is not None:
        fahrenheit = unit.upper() == "F"
    else:
        fahrenheit = folder is not None and load_boat(folder).units.fahrenheit
    click.echo(
        sheet_page(loaded, fahrenheit=fahrenheit, width=screen_width(), colour=colour_wanted())
    )


@command.command(name="check")
@click.argument("paths", nargs=-1, type=click.Path(path_type=Path), metavar="[PATH]...")
@boat_option
@json_option
@click.pass_context
def check_sheets(
    ctx: click.Context, paths: tuple[Path, ...], boat: Path | None, as_json: bool
) -> None:
    """Check sheets: files, or folders of them; else your own sheets.

    Errors make a sheet unusable (exit code 1), warnings do not.
    """
    from curewindow.cli.sheetfiles import find_files
    from curewindow.errors import NotFoundError
    from curewindow.sheets.answers import CheckedSheets, check_files
    from curewindow.sheets.shelf import names

    own = _own_dir(boat)
    if not paths and own is None:
        raise NotFoundError("name a file or folder to check; there is no boat folder here")
    if not paths and own is not None and not any(own.glob("*.toml")):
        files = []  # no sheets of one's own is in order
    else:
        files = find_files(list(paths) if paths or own is None else [own])
    known = {entry.name for entry in names(own)} | {file.stem for file in files}
    checked = check_files(files, known)
    if as_json:
        click.echo(CheckedSheets(files=checked).model_dump_json(indent=2))
    else:
        _print_checked(checked)
    if any(file.errors for file in checked):
        ctx.exit(1)


def _print_checked(checked: list[Checked]) -> None:
    from curewindow.cli.text import screen_width, wrap

    width = screen_width()
    for file in checked:
        click.echo(f"{file.file}: {'in order' if not file.errors else 'cannot be used'}")
        for level, findings in (("error", file.errors), ("warning", file.warnings)):
            for finding in findings:
                where = f"{finding.key}: " if finding.key else ""
                lines = wrap(f"{level}: {where}{finding.text}", width, "  ", "    ")
                click.echo("\n".join(lines))
    errors = sum(len(file.errors) for file in checked)
    warnings = sum(len(file.warnings) for file in checked)
    if not checked:
        click.echo("no sheets of your own yet; 'curewindow sheets new' starts one")
        return
    sheets = f"{len(checked)} sheet{'' if len(checked) == 1 else 's'}"
    click.echo(f"{sheets}: errors {errors}, warnings {warnings}")


@command.command(name="new")
@click.argument("name")
@click.option(
    "--from",
    "pattern",
    metavar="SHEET",
    help="The sheet nearest to your product; its values are your starting point. Else the one "
    "nearest by its name.",
    shell_complete=complete_sheet,
)
@boat_option
@json_option
def new_sheet(name: str, pattern: str | None, boat: Path | None, as_json: bool) -> None:
    """Start a sheet of your own as a copy, to correct from your tin."""
    from curewindow.boat.folder import find_folder
    from curewindow.cli.sheetfiles import nearest_by_name, start_sheet

    folder = find_folder(boat)
    copied = pattern or nearest_by_name(name, folder)
    made = start_sheet(name, copied, folder)
    if as_json:
        from curewindow.cli.written import Written

        print_json(Written(folder=str(made.parent), files=[made.name]))
        return
    click.echo(f"wrote {made}")
    if pattern is None:
        click.echo(f"It is a copy of '{copied}', the nearest by its name; --from takes another.")
    click.echo("Go through it with the tin in hand, then say in 'basis' where the values are from.")
    click.echo(f"Check it with: curewindow sheets check {made}")
