"""`curewindow setup`: a few questions, then boat.toml and work.toml to go on with by hand."""

from __future__ import annotations

import shlex
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from curewindow.cli.common import json_option, print_json
from curewindow.nearest import did_you_mean
from curewindow.numbers import Number

if TYPE_CHECKING:
    from curewindow.cli.firstfiles import Answers, SpaceAnswer

AnswerT = TypeVar("AnswerT")
HULLS = ("steel", "aluminium", "grp", "wood")
TINS = ("home", "aboard", "deck")
HEATERS = ("electric", "diesel", "gas", "paraffin", "solid fuel")
ALONE = ("never", "asleep aboard", "yes")


@click.command(name="setup")
@click.argument("folder", required=False, type=click.Path(path_type=Path), metavar="[DIR]")
@click.option("--name", help="The boat's name.")
@click.option("--lat", type=Number(-90, 90), help="Latitude of the berth, degrees north.")
@click.option("--lon", type=Number(-180, 180), help="Longitude, degrees east.")
@click.option("--zone", metavar="NAME", help="Time zone, such as Europe/Amsterdam.")
@click.option("--unit", type=click.Choice(["C", "F"], case_sensitive=False), help="Degrees.")
@click.option(
    "--hull",
    type=click.Choice(HULLS, case_sensitive=False),
    help="What the hull is made of.",
)
@click.option(
    "--space",
    "spaces",
    multiple=True,
    metavar="TEXT",
    help="A space you work in: 'saloon', or with its size in metres 'saloon 5x3x1.9', "
    "and 'insulated' if it is. Give it once for each space.",
)
@click.option(
    "--heater",
    type=click.Choice(["none", *HEATERS]),
    help="What heats the first space.",
)
@click.option(
    "--unattended",
    type=click.Choice(ALONE),
    help="May that heater run with nobody awake beside it, by its maker, harbour and insurer?",
)
@click.option(
    "--tins",
    type=click.Choice(TINS),
    help="Where tins are kept: at home and carried warm, aboard where the work is, on deck.",
)
@click.option(
    "--sleeps",
    metavar="NAMES",
    help="Spaces someone sleeps in, with commas between, or 'nobody'.",
)
@click.option(
    "--ignition",
    "lights",
    multiple=True,
    metavar="TEXT",
    help="What can light vapour, with its space: 'cooker saloon'. Give it once for each thing.",
)
@click.option("--yes", is_flag=True, help="Ask nothing: take the usual answer where none is given.")
@json_option
def command(folder: Path | None, yes: bool, as_json: bool, **given: Any) -> None:
    """Describe your boat: writes a new boat folder into DIR.

    Without DIR the folder goes where curewindow finds it from everywhere. Nothing
    that is already there is overwritten. With --json nothing is asked, as with --yes.
    """
    from curewindow.boat.folder import default_folder
    from curewindow.cli.firstfiles import write_folder

    place = (folder or default_folder()).expanduser()
    _refuse_existing(place)
    answers = _answers(given, yes or as_json)
    written = write_folder(place, answers)
    if as_json:
        from curewindow.cli.written import Written

        files = [str(path.relative_to(place)) for path, _ in written]
        print_json(Written(folder=str(place), files=files))
        return
    click.echo(f"Your boat folder: {place}")
    for path, what in written:
        click.echo(f"  {path.relative_to(place)}  {what}")
    option = "" if folder is None else f" --boat {shlex.quote(str(folder))}"
    click.echo("\nNext: put your jobs into work.toml (there is an example in it), then")
    click.echo(f"  curewindow today{option}")
    click.echo("  curewindow log --help    how to write down readings and coats")


def _refuse_existing(place: Path) -> None:
    from curewindow.boat.folder import BOAT_FILE, WORK_FILE
    from curewindow.errors import BoatError

    for name in (BOAT_FILE, WORK_FILE):
        if (place / name).exists():
            raise BoatError(
                "is already there and is not overwritten; edit it, or name another folder: "
                "curewindow setup DIR",
                file=place / name,
            )


def _answers(given: dict[str, Any], yes: bool) -> Answers:
    from curewindow.cli.firstfiles import Answers, may_be_asked_alone, read_space

    def ask(key: str, question: str, usual: Any, kind: Any = None, read: Any = None) -> Any:
        if given[key] is not None:
            return given[key] if read is None else read(given[key])
        if yes:
            if usual is None:
                raise click.UsageError(f"--yes needs --{key} as well: there is no usual answer")
            return usual
        return click.prompt(question, default=usual, type=kind, value_proc=read)

    name = ask("name", "Boat's name", "my boat")
    latitude = Number(-90, 90)
    longitude = Number(-180, 180)
    lat = ask("lat", "Latitude of the berth (52.2; south is negative)", None, latitude)
    lon = ask("lon", "Longitude (5.4; west is negative)", None, longitude)
    zone = ask("zone", "Time zone", _own_zone(), read=_zone)
    unit = ask("unit", "Degrees", "C", click.Choice(["C", "F"], case_sensitive=False))
    hull = ask("hull", "Hull", "steel", click.Choice(HULLS, case_sensitive=False))
    spaces = [read_space(text) for text in given["spaces"]]
    if not spaces:
        spaces = [read_space("saloon")] if yes else _ask_spaces()
    heater = "none"
    if spaces:
        question = f"Heater in the {spaces[0].name}"
        heater = ask("heater", question, "none", click.Choice(["none", *HEATERS]))
    alone = "never"
    if may_be_asked_alone(heater):
        question = "May it run with nobody awake beside it (maker, harbour, insurer)"
        alone = ask("unattended", question, "never", click.Choice(ALONE))
    elif given["unattended"] not in (None, "never"):
        raise click.UsageError(f"--unattended: a heater of kind '{heater}' is never left alone")
    sleeps, lights = _asked_dangers(given, yes, spaces)
    tins = ask("tins", "Tins are kept at", "aboard", click.Choice(TINS))
    return Answers(
        name=name,
        latitude=lat,
        longitude=lon,
        zone=zone,
        unit=str(unit).upper(),
        hull=str(hull).lower(),
        spaces=tuple(spaces),
        heater=None if heater == "none" else heater,
        unattended=alone,
        tins=tins,
        sleeps=sleeps,
        lights=tuple(lights),
    )


def _asked_dangers(
    given: dict[str, Any], yes: bool, spaces: list[SpaceAnswer]
) -> tuple[tuple[str, ...] | None, list[tuple[str, str]]]:
    """Who sleeps where, and what can light vapour."""
    from curewindow.cli.firstfiles import read_lights, read_sleeps

    sleeps = None if given["sleeps"] is None else read_sleeps(given["sleeps"], spaces)
    lights = [read_lights(text, spaces) for text in given["lights"]]
    if yes or not spaces:
        return sleeps, lights
    if given["sleeps"] is None:
        question = "Someone sleeps in (names with commas, 'nobody'; empty: not said)"
        sleeps = _again(question, lambda text: read_sleeps(text, spaces))
    if not lights:
        click.echo(
            "What can light vapour, one a line with its space ('cooker saloon'): cooker, gas\n"
            "water heater, gas fridge, stove, battery on charge, charger, engine, generator,\n"
            "bilge pump, water pump, fridge. An empty line ends."
        )
        lights += _one_a_line("Lights", lambda text: read_lights(text, spaces))
    return sleeps, lights


def _one_a_line(question: str, read: Callable[[str], AnswerT]) -> Iterator[AnswerT]:
    """Ask until nothing is answered."""
    while (one := _again(question, lambda text: read(text) if text.strip() else None)) is not None:
        yield one


def _again(question: str, read: Callable[[str], AnswerT]) -> AnswerT:
    """Ask until the answer is understood."""
    from curewindow.errors import QuantityError

    while True:
        text = click.prompt(question, default="", show_default=False)
        try:
            return read(text)
        except QuantityError as bad:
            click.echo(str(bad))


def _ask_spaces() -> list[SpaceAnswer]:
    from curewindow.cli.firstfiles import read_space

    click.echo(
        "Spaces you work in, one a line, with length x width x height in metres if you\n"
        "know them ('saloon 5x3x1.9 insulated'). An empty line ends."
    )
    return list(_one_a_line("Space", lambda text: read_space(text.strip())))


def _zone(text: str) -> str:
    """The name of a time zone; click asks again where there is none of that name."""
    from zoneinfo import ZoneInfo, available_timezones

    try:
        return ZoneInfo(text.strip()).key
    except (ValueError, OSError, KeyError):
        hint = did_you_mean(text, available_timezones()) or "they look like 'Europe/Amsterdam'"
        raise click.UsageError(f"'{text}' is not a time zone; {hint}") from None


def _own_zone() -> str:
    """The machine's own time zone by its IANA name, else UTC."""
    import os

    named = os.environ.get("TZ", "").lstrip(":")
    link = Path("/etc/localtime")
    if not named and link.is_symlink():
        parts = link.resolve().parts
        if "zoneinfo" in parts:
            named = "/".join(parts[parts.index("zoneinfo") + 1 :])
    from zoneinfo import ZoneInfo

    try:
        return ZoneInfo(named).key if named else "UTC"
    except (ValueError, OSError, KeyError):
        return "UTC"
