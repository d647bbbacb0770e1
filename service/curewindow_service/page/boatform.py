"""boat.toml changed field by field: comments stay, it is checked whole, and written whole or not.

Only what the page shows can be changed: addresses of services and channels, and files outside
the boat folder, are for the editor aboard.
"""

from __future__ import annotations

import hashlib
import threading
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import time
from pathlib import Path, PurePosixPath
from typing import Any

import tomlkit
from tomlkit import TOMLDocument

from curewindow.boat.checks import check_boat
from curewindow.boat.folder import BOAT_FILE, load_work
from curewindow.boat.schema import Boat
from curewindow.errors import BoatError, CurewindowError, NotFoundError
from curewindow.files import write_whole
from curewindow.handwritten import parse_text
from curewindow_service.page.boatfields import Field, fields_of, shown

_one_at_a_time = threading.Lock()


class ChangedMeanwhileError(CurewindowError):
    """Somebody else has written the file since the form was opened."""


def read(folder: Path) -> tuple[TOMLDocument, str]:
    """boat.toml as it stands, and a mark that changes with it.

    Raises
    ------
    BoatError
        It is not there, or not TOML.
    """
    path = folder / BOAT_FILE
    try:
        content = path.read_bytes()
    except FileNotFoundError:
        raise BoatError("there is no such file", file=path) from None
    except OSError as bad:
        raise BoatError(f"cannot be read: {bad.strerror}", file=path) from None
    try:
        document = tomlkit.parse(content.decode("utf-8-sig"))
    except UnicodeDecodeError:
        raise BoatError("not UTF-8 text; save it as UTF-8 in your editor", file=path) from None
    except tomlkit.exceptions.TOMLKitError as bad:  # a key that stands twice is no ParseError
        raise BoatError(f"not valid TOML: {bad}", file=path) from None
    return document, hashlib.sha256(content).hexdigest()


def change(folder: Path, values: Mapping[str, str], mark: str) -> list[str]:
    """Write changed values into boat.toml.

    Parameters
    ----------
    folder : Path
    values : mapping of str to str
        What was typed, by the dotted key of the field; unknown keys are left alone.
    mark : str
        Of the file the form was made from.

    Returns
    -------
    list of str
        Labels of what has changed; empty: nothing was written.

    Raises
    ------
    ChangedMeanwhileError
        The file is another one now.
    BoatError
        Something is wrong, with its key; nothing was written.
    """
    with _one_at_a_time:
        document, now = read(folder)
        if now != mark:
            raise ChangedMeanwhileError(
                "boat.toml was changed elsewhere while this page was open: what you typed still "
                "stands below, what was changed is beside it; look, and save again"
            )
        changed = []
        for field in fields_of(document):
            typed = values.get(field.key)
            if typed is None or typed.strip() == shown(document, field):
                continue
            _set(document, field, typed.strip(), folder)
            changed.append(field.label)
        if changed:
            text = tomlkit.dumps(document)
            _check(text, folder)
            write_boat(folder / BOAT_FILE, text)
        return changed


def _set(document: TOMLDocument, field: Field, typed: str, folder: Path) -> None:
    """Put one value where it belongs, in the type the file has."""
    table: Any = document
    for part in field.path[:-1]:
        if isinstance(part, str) and part not in table:
            table[part] = tomlkit.table()
        table = table[part]
    last = field.path[-1]
    if not typed:
        if field.needed:
            raise BoatError("is missing", file=folder / BOAT_FILE, key=field.key)
        with suppress(KeyError, tomlkit.exceptions.NonExistentKey):
            del table[last]
        return
    try:
        table[last] = _READ[field.kind](typed)
    except ValueError as bad:
        raise BoatError(str(bad), file=folder / BOAT_FILE, key=field.key) from None
    if field.kind == "file" and not _inside(typed):
        raise BoatError(
            "names a file outside the boat folder: put it into the folder, or name it in the "
            "file itself",
            file=folder / BOAT_FILE,
            key=field.key,
        )


def _inside(name: str) -> bool:
    path = PurePosixPath(name.replace("\\", "/"))
    return not path.is_absolute() and ".." not in path.parts and ":" not in path.parts[0]


def _number(text: str) -> float | int:
    try:
        found = float(text.replace(",", ".").replace("−", "-"))
    except ValueError:
        raise ValueError(f"'{text}' is not a number; write it like '52.2'") from None
    if not abs(found) < 1e9:
        raise ValueError(f"'{text}' is too large")
    return int(found) if found.is_integer() and "." not in text else found


def _clock(text: str) -> time:
    try:
        return time.fromisoformat(text if len(text) > 4 else f"0{text}")
    except ValueError:
        raise ValueError(f"'{text}' is not a time of day; write it like '08:00'") from None


def _days(text: str) -> Any:
    days = [part[:3].title() for part in text.replace(",", " ").split()]
    found = tomlkit.array()
    found.extend(days)
    return found


_READ: dict[str, Callable[[str], Any]] = {
    "text": str,
    "quantity": str,
    "choice": str,
    "file": str,
    "number": _number,
    "time": _clock,
    "days": _days,
    "yes or no": lambda text: text == "yes",
}


def _check(text: str, folder: Path) -> None:
    """The whole file as it would be, held against its model, itself and the work list."""
    path = folder / BOAT_FILE
    boat = parse_text(text, Boat, BoatError, path)
    check_boat(boat, path)
    with suppress(NotFoundError):
        load_work(folder, boat)


def write_boat(path: Path, text: str) -> None:
    """Put boat.toml in the place of the one that is there, whole or not at all.

    Raises
    ------
    BoatError
        It cannot be written; the old one stands.
    """
    try:
        write_whole(path, text)
    except OSError as bad:
        raise BoatError(f"cannot be written: {bad.strerror}; nothing changed", file=path) from None
