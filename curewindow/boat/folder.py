"""The boat folder: where it is, and its two hand-written files read and cross-checked."""

from __future__ import annotations

import os
from collections.abc import Iterable
from pathlib import Path

from curewindow.boat.checks import check_boat, check_work
from curewindow.boat.effort import hands_on_assumed, hands_on_h
from curewindow.boat.schema import Boat, Job, Space, Work
from curewindow.errors import BoatError, NotFoundError
from curewindow.handwritten import parse_file, pointing_into
from curewindow.nearest import nearest_or_all

BOAT_FILE = "boat.toml"
WORK_FILE = "work.toml"
RECORD_FILE = "record.db"
SHEETS_FOLDER = "sheets"

__all__ = [
    "BOAT_FILE",
    "RECORD_FILE",
    "SHEETS_FOLDER",
    "WORK_FILE",
    "default_folder",
    "find_folder",
    "hands_on_assumed",
    "hands_on_h",
    "job_by_name",
    "load_boat",
    "load_work",
    "own_sheets",
    "space_by_name",
]


def find_folder(explicit: Path | None = None) -> Path:
    """Find the boat folder.

    Looked for in this order: the one asked for, the environment variable
    ``CUREWINDOW_BOAT``, the current folder, the user's data folder. The first two
    are wishes: where they fail nothing else is tried.

    Parameters
    ----------
    explicit : Path, optional
        What was given with ``--boat``.

    Returns
    -------
    Path
        An absolute folder that holds a ``boat.toml``.

    Raises
    ------
    NotFoundError
        None of them holds one; says where it looked and what makes one.
    """
    named = os.environ.get("CUREWINDOW_BOAT", "").strip()
    if explicit is not None:
        candidates = [(explicit, "--boat")]
    elif named:
        candidates = [(Path(named), "CUREWINDOW_BOAT")]
    else:
        candidates = [(Path.cwd(), "current folder"), (default_folder(), "your data folder")]
    for folder, _ in candidates:
        folder = folder.expanduser()
        # 'boat.toml' itself is an easy slip for the folder it lies in.
        if folder.name == BOAT_FILE and folder.is_file():
            folder = folder.parent
        if (folder / BOAT_FILE).is_file():
            return folder.resolve()
    looked = ", ".join(f"{folder.expanduser()} ({why})" for folder, why in candidates)
    raise NotFoundError(
        f"no boat folder (a folder with {BOAT_FILE}); looked in {looked}",
        by_command="`curewindow setup` makes one",
    )


def default_folder() -> Path:
    """The boat folder in the user's data folder, whether it is there or not."""
    from platformdirs import user_data_path

    return user_data_path("curewindow", appauthor=False)


def load_boat(folder: Path) -> Boat:
    """Read and check ``boat.toml``.

    Raises
    ------
    BoatError
        With file, key and remedy.
    """
    path = folder / BOAT_FILE
    boat = parse_file(path, Boat, BoatError)
    with pointing_into(path):
        check_boat(boat, path)
    return boat


def load_work(folder: Path, boat: Boat | None = None) -> Work:
    """Read ``work.toml`` and check it against the boat and the sheets.

    Parameters
    ----------
    folder : Path
        The boat folder.
    boat : Boat, optional
        The boat, where it has been read already.

    Raises
    ------
    BoatError
        With file, key and remedy.
    """
    # Here and not above: the shelf is only needed once a work list is read.
    from curewindow.sheets.shelf import names

    path = folder / WORK_FILE
    work = parse_file(path, Work, BoatError)
    if boat is None:
        boat = load_boat(folder)
    known = [entry.name for entry in names(own_sheets(folder))]
    with pointing_into(path):
        check_work(work, boat, path, known)
    return work


def own_sheets(folder: Path) -> Path:
    """The folder of the owner's own sheets, whether it is there or not."""
    return folder / SHEETS_FOLDER


def job_by_name(work: Work, name: str) -> Job:
    """The job of that name.

    Raises
    ------
    NotFoundError
        There is none; says the nearest name or all of them.
    """
    found = next((job for job in work.job if job.name.casefold() == name.casefold()), None)
    if found is None:
        raise NotFoundError(_not_there("job", name, (job.name for job in work.job)))
    return found


def jobs_asked_for(work: Work, name: str | None) -> list[Job]:
    """The one job of a name, :func:`job_by_name`; all of them where none is named."""
    return work.job if name is None else [job_by_name(work, name)]


def space_by_name(boat: Boat, name: str) -> Space:
    """The space of that name.

    Raises
    ------
    NotFoundError
        There is none; says the nearest name or all of them.
    """
    found = boat.find_space(name)
    if found is None:
        raise NotFoundError(_not_there("space", name, (space.name for space in boat.space)))
    return found


def _not_there(what: str, name: str, known: Iterable[str]) -> str:
    return f"there is no {what} '{name}'; {nearest_or_all(name, known, 'there are')}"
