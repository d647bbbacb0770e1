"""boat.toml and work.toml read once as long as they stay as they are."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any, TypeVar

from curewindow.boat.folder import BOAT_FILE, WORK_FILE, load_boat, load_work, own_sheets
from curewindow.boat.schema import Boat, Work

ReadT = TypeVar("ReadT")
_lock = threading.Lock()
_kept: dict[tuple[str, Path], tuple[object, Any]] = {}


def boat_of(folder: Path) -> Boat:
    """The boat, checked.

    Raises
    ------
    BoatError
        As :func:`curewindow.boat.folder.load_boat`.
    """
    return _read("boat", folder, _stamp(folder / BOAT_FILE), lambda: load_boat(folder))


def work_of(folder: Path) -> Work:
    """The work list, checked against boat and sheets.

    Raises
    ------
    BoatError
        As :func:`curewindow.boat.folder.load_work`.
    """
    rests_on = (folder / BOAT_FILE, folder / WORK_FILE, own_sheets(folder))
    stamp = tuple(_stamp(path) for path in rests_on)
    return _read("work", folder, stamp, lambda: load_work(folder, boat_of(folder)))


def _read(what: str, folder: Path, stamp: object, load: Callable[[], ReadT]) -> ReadT:
    key = (what, folder)
    with _lock:
        known = _kept.get(key)
    if known is not None and known[0] == stamp:
        read: ReadT = known[1]
        return read
    read = load()
    with _lock:
        _kept[key] = (stamp, read)
    return read


def _stamp(path: Path) -> tuple[int, int, int] | None:
    try:
        told = path.stat()
    except OSError:
        return None
    return told.st_mtime_ns, told.st_size, told.st_ino
