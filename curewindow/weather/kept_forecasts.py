"""Every forecast used is kept, packed, so that it can be held against what came.

One small file a forecast, in a folder a month: ``forecasts/2026-11/`` in the boat folder.
Each is written beside its place and moved there, so that it is whole or not there, however
many write at once and whenever they are killed; no lock is held and no disk waited for,
and a flat battery costs the last one at most. A year of an ensemble of 51 members, got
anew every three hours, stays under 100 MB (``tests/benchmarks/bench_kept.py``). What is
older than :data:`KEEP`, or more than :data:`LARGEST_BYTES` in all, goes, oldest first.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.boat.schema import Place
from curewindow.files import write_whole
from curewindow.weather.forecast import Forecast
from curewindow.weather.packed import Packed, pack, unpack

log = logging.getLogger(__name__)

FOLDER = "forecasts"
KEEP = timedelta(days=400)
LARGEST_BYTES = 100_000_000
_PRETENDED = timedelta(minutes=15)
_ENDING = ".fc"
_FORMAT = "%Y%m%dT%H%M%S"


@dataclass(frozen=True, slots=True, eq=False)
class KeptForecast:
    """One forecast as it was when it was used: feed, when made (aware UTC), and its hours."""

    source: str
    made_at: datetime
    hours: Packed


@dataclass(frozen=True, slots=True)
class _Name:
    """What a file's name says: 'made-feed-digest.fc'."""

    path: Path
    made_at: datetime
    feed: str
    digest: str


def place_key(place: Place) -> str:
    """A place to some hundred metres: a boat that moves on begins anew."""
    return f"{place.latitude:.3f},{place.longitude:.3f}"


def is_real(now: datetime) -> bool:
    """Is it the moment that the clock shows, and no pretended one?"""
    return abs(_clock() - now.astimezone(UTC)) <= _PRETENDED


def keep(folder: Path, place: Place, forecast: Forecast, made_at: datetime) -> bool:
    """Keep a forecast, once; one that says what the one before it said is not kept again.

    Parameters
    ----------
    folder : Path
        The boat folder.
    place : Place
    forecast : Forecast
        As it came from the feed.
    made_at : datetime
        When it was made, or got where that is not known; aware. Earlier hours are left out.

    Returns
    -------
    bool
        True where it was kept just now. What goes wrong is a warning in the log.
    """
    made_at = made_at.astimezone(UTC).replace(microsecond=0)
    feed = _feed(place, forecast.source)
    month = folder / FOLDER / f"{made_at:%Y-%m}"
    try:
        last = _last(month, feed)
        if last is not None and last.made_at >= made_at:
            return False
        body = pack(forecast, np.datetime64(made_at.replace(tzinfo=None), "s"))
        digest = hashlib.sha256(body).hexdigest()[:12]
        if not body or (last is not None and last.digest == digest):
            return False
        told = json.dumps({"place": place_key(place), "source": forecast.source}).encode()
        name = f"{made_at:{_FORMAT}}-{feed}-{digest}{_ENDING}"
        month.mkdir(parents=True, exist_ok=True)
        write_whole(month / name, told + b"\n" + body, lasting=False)
        if last is None or last.made_at.date() != made_at.date():
            prune(folder, made_at)
    except OSError as bad:
        log.warning("the forecast is not kept in %s: %s", month, bad.strerror or bad)
        return False
    return True


def kept(
    folder: Path,
    place: Place,
    *,
    since: datetime | None = None,
    at_least_apart: timedelta = timedelta(0),
) -> Iterator[KeptForecast]:
    """Forecasts kept of a place, oldest first.

    Parameters
    ----------
    folder : Path
        The boat folder.
    place : Place
    since : datetime, optional
        Only those made at or after.
    at_least_apart : timedelta
        Of one feed leave out those made sooner after one another.
    """
    last: dict[str, datetime] = {}
    for name in all_names(folder):
        if since is not None and name.made_at < since:
            continue
        before = last.get(name.feed)
        if before is not None and name.made_at - before < at_least_apart:
            continue
        found = _read(name)
        if found is None or found[0] != place_key(place):
            continue
        last[name.feed] = name.made_at
        yield found[1]


def all_names(folder: Path) -> list[_Name]:
    """Everything that is kept, oldest first, by its name."""
    try:
        months = sorted(path for path in (folder / FOLDER).iterdir() if path.is_dir())
    except OSError:
        return []
    found = [name for month in months for name in _names(month)]
    return sorted(found, key=lambda name: (name.made_at, name.feed))


def kept_bytes(folder: Path) -> int:
    """How large all of it is."""
    return sum(_size(name) for name in all_names(folder))


def prune(folder: Path, now: datetime) -> None:
    """Throw out what is too old or too much, oldest first."""
    names = all_names(folder)
    sizes = [_size(name) for name in names]
    left = sum(sizes)
    for name, size in zip(names, sizes, strict=True):
        if name.made_at >= now - KEEP and left <= LARGEST_BYTES:
            break
        name.path.unlink(missing_ok=True)
        left -= size
    for month in {name.path.parent for name in names}:
        if not any(month.iterdir()):
            month.rmdir()


def _size(name: _Name) -> int:
    try:
        return name.path.stat().st_size
    except OSError:  # another one has just thrown it out
        return 0


def _names(month: Path) -> list[_Name]:
    named = (_named(month, file) for file in _files(month))
    return [name for name in named if name is not None]


def _last(month: Path, feed: str) -> _Name | None:
    """The newest of a feed; names in order of time are in the order of the alphabet."""
    files = [file for file in _files(month) if file.split("-")[1:2] == [feed]]
    return _named(month, max(files)) if files else None


def _files(month: Path) -> list[str]:
    try:
        return [file for file in os.listdir(month) if file.endswith(_ENDING)]
    except OSError:
        return []


def _named(month: Path, file: str) -> _Name | None:
    parts = file.removesuffix(_ENDING).split("-")
    try:
        made_at = datetime.strptime(parts[0], _FORMAT).replace(tzinfo=UTC)
        return _Name(month / file, made_at, parts[1], parts[2])
    except (ValueError, IndexError):
        return None


def _read(name: _Name) -> tuple[str, KeptForecast] | None:
    try:
        told, _, body = name.path.read_bytes().partition(b"\n")
        head = json.loads(told)
        return head["place"], KeptForecast(head["source"], name.made_at, unpack(body))
    except (OSError, ValueError, KeyError, TypeError) as bad:
        log.warning("the kept forecast %s is left out: %s", name.path, bad)
        return None


def _feed(place: Place, source: str) -> str:
    return hashlib.sha256(f"{place_key(place)} {source}".encode()).hexdigest()[:10]


def _clock() -> datetime:
    return datetime.now(UTC)
