"""A sample by every channel, and what came back: for the command and for the page."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from curewindow.boat.schema import Boat
from curewindow.boat.service import Channel
from curewindow.errors import CurewindowError
from curewindow_service.channels.destination import keep_from_logs, read_destination
from curewindow_service.channels.send import try_out

_WORDS = {"sent": "sent", "later": "not taken now", "refused": "refused"}


@dataclass(frozen=True, slots=True)
class Tried:
    """What came of one channel.

    Attributes
    ----------
    name : str
        As in boat.toml.
    shown : str
        Its address without secrets; '' where it could not be read.
    went : bool
        It was sent.
    said : str
        'sent', 'not taken now: ...', 'refused: ...' or 'cannot be used: ...'.
    """

    name: str
    shown: str
    went: bool
    said: str


def try_channels(
    boat: Boat,
    folder: Path,
    at: datetime,
    *,
    only: Collection[str] = (),
    environ: Mapping[str, str] | None = None,
) -> list[Tried]:
    """Send a sample by every channel, or by those named; all at once, a dead one holds up none.

    Parameters
    ----------
    boat : Boat
    folder : Path
        The boat folder, for addresses in files.
    at : datetime
        Aware.
    only : collection of str
        Names; empty: every channel.
    environ : mapping, optional
        Else the environment.
    """
    chosen = [
        (number, channel)
        for number, channel in enumerate(boat.channel, 1)
        if not only or channel.name in only
    ]
    if not chosen:
        return []
    with ThreadPoolExecutor(max_workers=len(chosen)) as pool:
        asked = [
            pool.submit(_try, number, channel, boat.name, folder, at, environ)
            for number, channel in chosen
        ]
        return [each.result() for each in asked]


def _try(
    number: int,
    channel: Channel,
    boat: str,
    folder: Path,
    at: datetime,
    environ: Mapping[str, str] | None,
) -> Tried:
    try:
        way = read_destination(channel, number, folder, environ)
    except CurewindowError as bad:
        return Tried(channel.name, "", False, f"cannot be used: {bad}")
    keep_from_logs([way])
    outcome = try_out(way, boat, at)
    said = f": {outcome.said}" if outcome.said else ""
    return Tried(way.name, way.shown, outcome.state == "sent", f"{_WORDS[outcome.state]}{said}")
