"""Answers kept on disk, so that an hour's questions cost one request.

One JSON file an address: the body as it came, when it came and what the
service said about its age. A file that cannot be read is one warning in the
log and a new request.
"""

from __future__ import annotations

import hashlib
import json
import logging
import os
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from curewindow.files import write_whole
from curewindow.readback import loaded

log = logging.getLogger(__name__)

CACHE_VARIABLE = "CUREWINDOW_CACHE"
_FORMAT = 1


@dataclass(frozen=True, slots=True)
class Cache:
    """Where answers are kept and how they may be used.

    Attributes
    ----------
    folder : Path
        Made when first needed.
    refresh : bool
        Ask again although the kept answer is fresh, unless the service itself
        said that nothing new comes before a time.
    offline : bool
        Make no request at all.
    stale_ok : bool
        May the last good answer stand in where the service does not answer?
    """

    folder: Path
    refresh: bool = False
    offline: bool = False
    stale_ok: bool = True


@dataclass(frozen=True, slots=True)
class CacheEntry:
    """One kept answer.

    Attributes
    ----------
    url : str
        The address asked.
    body : dict or None
        The answer; None where the service has never answered well.
    status : int
        200 or 203.
    fetched_at : datetime or None
        When the body came, or was last confirmed by a 304 (aware UTC).
    fresh_until : datetime or None
        Not asked again before this.
    expiry_stated : bool
        Did the service itself say so?
    not_before : datetime or None
        After a failure: leave the service alone until then.
    pause_stated : bool
        Did the service itself ask for that pause?
    failure : str
        What went wrong then.
    unreached : str
        Where it was never reached: why.
    last_modified, etag : str or None
        For the next conditional request.
    """

    url: str
    body: dict[str, Any] | None = None
    status: int = 200
    fetched_at: datetime | None = None
    fresh_until: datetime | None = None
    expiry_stated: bool = False
    not_before: datetime | None = None
    pause_stated: bool = False
    failure: str = ""
    unreached: str = ""
    last_modified: str | None = None
    etag: str | None = None


_TIMES = ("fetched_at", "fresh_until", "not_before")


def cache_folder(chosen: Path | None = None) -> Path:
    """The folder for kept answers: the argument, CUREWINDOW_CACHE, or the platform's own."""
    if chosen is not None:
        return chosen
    named = os.environ.get(CACHE_VARIABLE)
    if named:
        return Path(named).expanduser()
    import platformdirs

    return platformdirs.user_cache_path("curewindow", appauthor=False)


def entry_path(folder: Path, name: str, url: str) -> Path:
    """The file an address's answer is kept in."""
    return folder / f"{name}-{hashlib.sha256(url.encode()).hexdigest()[:16]}.json"


def load_entry(path: Path, url: str) -> CacheEntry | None:
    """Read a kept answer; None, with a warning unless it is just not there, if it is no use."""
    data = read_json(path)
    if data is None:
        return None
    try:
        if data["format"] != _FORMAT or data["url"] != url:
            raise ValueError("another format or address")
        data.setdefault("unreached", "")  # not kept by older versions
        fields = {key: data[key] for key in CacheEntry.__dataclass_fields__}
        for key in _TIMES:
            if fields[key] is not None:
                fields[key] = datetime.fromisoformat(fields[key]).astimezone(UTC)
        for key in ("last_modified", "etag", "failure", "unreached"):
            if not isinstance(fields[key], str | None):
                raise ValueError(f"'{key}' is not text")
        entry = CacheEntry(**fields)
        if entry.body is not None and (
            not isinstance(entry.body, dict) or entry.fetched_at is None
        ):
            raise ValueError("the body is not an object with a time")
    except (KeyError, TypeError, ValueError) as bad:
        log.warning("the kept forecast %s is not usable (%s); asking anew", path, bad)
        return None
    return entry


def store_entry(path: Path, entry: CacheEntry) -> None:
    """Keep an answer."""
    # Not asdict: that copies the whole body once more.
    data = {key: getattr(entry, key) for key in CacheEntry.__dataclass_fields__} | {
        "format": _FORMAT
    }
    for key in _TIMES:
        if data[key] is not None:
            data[key] = data[key].isoformat()
    write_json(path, data)


def read_json(path: Path) -> dict[str, Any] | None:
    """Read a JSON object; None if it is not there or, with a warning, not whole."""
    try:
        data = loaded(path.read_bytes())
        if not isinstance(data, dict):
            raise ValueError("not an object")
    except FileNotFoundError:
        return None
    except (OSError, ValueError) as bad:
        log.warning("the kept file %s cannot be read (%s); doing without it", path, bad)
        return None
    return data


def write_json(path: Path, data: dict[str, Any]) -> None:
    """Write a JSON object whole or not at all; a full or read-only disk is a warning."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        # dump to a file is far slower
        write_whole(path, json.dumps(data, separators=(",", ":")), lasting=False)
    except OSError as bad:
        log.warning("the forecast cannot be kept in %s: %s", path, bad.strerror)
