"""What the commands share: the options --boat, --at, --json, and the boat they open."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from curewindow.boat.aboard import Aboard
from curewindow.wording import moment

if TYPE_CHECKING:
    from click.shell_completion import CompletionItem
    from pydantic import BaseModel

CommandT = TypeVar("CommandT", bound=Callable[..., Any])


def boat_option(command: CommandT) -> CommandT:
    """Add ``--boat DIR`` as parameter ``boat``."""
    return click.option(
        "--boat",
        type=click.Path(path_type=Path),
        metavar="DIR",
        help="The boat folder; else CUREWINDOW_BOAT, else the folder you are in.",
    )(command)


def at_option(command: CommandT) -> CommandT:
    """Add ``--at TIME`` as parameter ``at`` (text: it is read in the boat's zone)."""
    return click.option(
        "--at",
        metavar="TIME",
        help="Answer as if it were then: '2026-11-25 08:00', '8:00', 'tomorrow 8:00'.",
    )(command)


def json_option(command: CommandT) -> CommandT:
    """Add ``--json`` as parameter ``as_json``."""
    return click.option("--json", "as_json", is_flag=True, help="Print JSON instead of text.")(
        command
    )


def go_aboard(boat: Path | None, at: str | None = None) -> Aboard:
    """Open the boat folder and settle what 'now' is.

    Parameters
    ----------
    boat : Path or None
        What ``--boat`` gave.
    at : str or None
        What ``--at`` gave, in the boat's zone.

    Raises
    ------
    NotFoundError
        No boat folder.
    BoatError
        boat.toml cannot be used.
    QuantityError
        ``at`` is not a time.
    """
    from zoneinfo import ZoneInfo

    from curewindow.boat.folder import find_folder, load_boat

    _keep_what_arrays_free()
    folder = find_folder(boat)
    described = load_boat(folder)
    clock = datetime.now(UTC).replace(microsecond=0)
    zone = ZoneInfo(described.place.time_zone)
    return Aboard.at(folder, described, clock if at is None else moment(at, zone, clock))


def _keep_what_arrays_free() -> None:
    """Ask the C library not to give memory back before the one answer is told.

    Arrays of some hundred kilobytes come and go by the thousand; each time given back and
    asked for anew, the system clears every page of them: a tenth of the time of an answer.
    Where the library cannot be asked (it is glibc's way), all goes on as it would.
    """
    import ctypes

    trim, top_pad, by_mapping = -1, -2, -3  # M_TRIM_THRESHOLD and the others of malloc.h
    with suppress(OSError, AttributeError, TypeError):
        mallopt = ctypes.CDLL(None).mallopt
        mallopt(by_mapping, 1 << 30)
        mallopt(trim, (1 << 31) - 1)
        mallopt(top_pad, 1 << 26)


def print_json(answer: BaseModel) -> None:
    """Print an answer as its own model writes it."""
    click.echo(answer.model_dump_json(indent=2))


def complete_job(
    ctx: click.Context, param: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """Names of jobs of the boat folder at hand, for the shell."""
    from curewindow.boat.folder import find_folder, load_work

    return _named(
        lambda: [job.name for job in load_work(find_folder(ctx.params.get("boat"))).job], incomplete
    )


def complete_space(
    ctx: click.Context, param: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """Names of spaces of the boat folder at hand, for the shell."""
    from curewindow.boat.folder import find_folder, load_boat

    return _named(
        lambda: [space.name for space in load_boat(find_folder(ctx.params.get("boat"))).space],
        incomplete,
    )


def complete_sheet(
    ctx: click.Context, param: click.Parameter, incomplete: str
) -> list[CompletionItem]:
    """Names of sheets, the boat's own (where there is a boat) and the shelf's, for the shell."""
    from curewindow.boat.folder import find_folder, own_sheets
    from curewindow.errors import NotFoundError
    from curewindow.sheets.shelf import names

    def known() -> list[str]:
        try:
            own = own_sheets(find_folder(ctx.params.get("boat")))
        except NotFoundError:
            own = None
        return [entry.name for entry in names(own)]

    return _named(known, incomplete)


def _named(names: Callable[[], list[str]], incomplete: str) -> list[CompletionItem]:
    from click.shell_completion import CompletionItem

    from curewindow.errors import CurewindowError

    try:
        found = names()
    except CurewindowError:  # completing must never get in the way of typing
        return []
    return [CompletionItem(name) for name in found if name.lower().startswith(incomplete.lower())]
