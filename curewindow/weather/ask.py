"""A feed's rows: from the cache while fresh, else from the network, else the last good ones."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from pathlib import Path
from typing import Any, Generic, TypeVar

import numpy as np

from curewindow.errors import WeatherError
from curewindow.findings import Finding, finding
from curewindow.weather import http
from curewindow.weather.cache import Cache, CacheEntry, entry_path, load_entry, store_entry
from curewindow.weather.rows import Rows

log = logging.getLogger(__name__)

DEFAULT_LIFE = timedelta(hours=1)
"""Age to which an answer is used where the service states none: models run hourly at best."""
LONGEST_LIFE = timedelta(hours=24)
AFTER_FAILURE = timedelta(minutes=5)
CLOCK_SLACK = timedelta(minutes=5)
WRONG_CLOCK = timedelta(hours=1)
"""Answers handed on by others may be as old; a clock aboard without a battery is days off."""


ReadT = TypeVar("ReadT")


@dataclass(frozen=True, slots=True)
class FeedAnswer(Generic[ReadT]):
    """A feed's rows, when they were got, whether just now, and what to say of them."""

    rows: ReadT
    fetched_at: datetime
    is_new: bool
    notes: tuple[Finding, ...]
    failed_status: int | None = None


class NoForecastError(WeatherError):
    """No answer and none kept.

    Parameters
    ----------
    problem : str
    status : int, optional
        What the service answered with, if it did.
    unreached : str
        Why it was never reached; '' where it was, or was not asked.
    """

    def __init__(self, problem: str = "", status: int | None = None, unreached: str = ""):
        self.status = status
        self.unreached = unreached
        super().__init__(problem)


@dataclass(frozen=True, slots=True)
class Manner:
    """How a service wants to be asked.

    Attributes
    ----------
    accept : str
        Media type.
    key : str
        'name=value' of a secret for the query, never kept or logged.
    life : timedelta or None
        Our own time for which an answer is used, whatever its headers say: for
        what hardly ever changes.
    """

    accept: str = http.JSON
    key: str = ""
    life: timedelta | None = None


_PLAIN = Manner()


def ask(
    service: str,
    url: str,
    read: Callable[[dict[str, Any]], ReadT],
    *,
    name: str,
    cache: Cache,
    now: datetime,
    timeout_s: float,
    manner: Manner = _PLAIN,
) -> FeedAnswer[ReadT]:
    """Get a feed's rows.

    Parameters
    ----------
    service : str
        Its name, for people.
    url : str
        The whole address.
    read : callable
        Turns a body into rows (or what else is wanted of it); raises WeatherError
        for one it cannot use. Only a body that can be read is kept.
    name : str
        Beginning of the name of the file the answer is kept in.
    cache : Cache
        Where answers are kept.
    now : datetime
        The moment it is (or is pretended to be), aware.
    timeout_s : float
        For each call.
    manner : Manner
        How the service wants to be asked.

    Returns
    -------
    Answer
        `failed_status` is the status of an attempt that failed just now, where an
        older answer stands in.

    Raises
    ------
    WeatherError
        One line: no answer, and no earlier one that may stand in.

    Notes
    -----
    Stamps never lie in the future: where `now` is ahead of the clock (a what-if)
    the clock's own time is used, so a what-if cannot make an answer look newer
    than it is. An answer got after a pretended `now` in the past is used as it is.
    """
    at = min(now.astimezone(UTC), _clock())
    path = entry_path(cache.folder, name, url)
    kept = load_entry(path, url)
    if kept is not None and kept.fetched_at and kept.fetched_at > _clock() + CLOCK_SLACK:
        log.warning("the kept forecast %s is stamped in the future; asking anew", path)
        kept = replace(kept, fresh_until=None, not_before=None)
    rows = _kept_rows(kept, read, path)
    if rows is None and kept is not None:
        kept = replace(kept, body=None, fetched_at=None, fresh_until=None, etag=None)
        kept = replace(kept, last_modified=None)
    if rows is not None and kept and kept.fetched_at and _is_fresh(kept, at, cache):
        return FeedAnswer(rows, kept.fetched_at, False, _deprecation(service, kept.status))
    paused = kept is not None and kept.not_before is not None and at < kept.not_before
    status: int | None = None
    unreached = kept.unreached if kept is not None and paused else ""
    again: datetime | None = None
    if cache.offline:
        failed = failure = kept.failure if kept is not None and paused else ""
    elif kept is not None and kept.not_before and paused and _must_wait(kept, rows, cache):
        failed, again = kept.failure, kept.not_before
        failure = f"{failed}; asked again after {again:%H:%M}Z"
    else:
        try:
            return _from_network(service, url, read, path, kept, rows, at, timeout_s, manner)
        except http.NoAnswerError as bad:
            failure, status, unreached = bad.reason, bad.status, bad.unreached
            failed = failure
            stated = bad.retry_after_s is not None
            rest = timedelta(seconds=bad.retry_after_s or 0.0) if stated else AFTER_FAILURE
            until = at + min(rest, LONGEST_LIFE)
            entry = replace(kept or CacheEntry(url), not_before=until, pause_stated=stated)
            store_entry(path, replace(entry, failure=failure, unreached=unreached))
            log.info("%s: %s", service, failure)
    if rows is None or kept is None or kept.fetched_at is None or not cache.stale_ok:
        raise NoForecastError(
            f"no forecast from {service}: {failure or 'working offline'}", status, unreached
        )
    if manner.life is None and _end(rows) <= np.datetime64(at.replace(tzinfo=None), "s"):
        ended = str(_end(rows))[:16].replace("T", " ")
        raise NoForecastError(
            f"no forecast from {service}: {failure or 'working offline'}; the last ended {ended}Z",
            status,
            unreached,
        )
    stale = finding(
        "kept forecast",
        hours=_hours(at - kept.fetched_at),
        note=failed or None,
        until=again if failed else None,
    )
    notes = (*_deprecation(service, kept.status), stale)
    return FeedAnswer(rows, kept.fetched_at, False, notes, status)


def _end(rows: object) -> np.datetime64:
    return rows.times.max() if isinstance(rows, Rows) else np.datetime64("9999-01-01", "s")


def _clock() -> datetime:
    return datetime.now(UTC)


def _is_fresh(kept: CacheEntry, at: datetime, cache: Cache) -> bool:
    """Fresh by its stated or usual life; 'refresh' shortens only the life we assumed."""
    if kept.fetched_at is None or kept.fresh_until is None:
        return False
    if kept.fetched_at > at:  # a what-if in the past
        return True
    return at < kept.fresh_until and (kept.expiry_stated or not cache.refresh)


def _must_wait(kept: CacheEntry, rows: ReadT | None, cache: Cache) -> bool:
    """A pause the service asked for is kept; our own only where waiting costs nothing."""
    return kept.pause_stated or (rows is not None and not cache.refresh)


def _kept_rows(
    kept: CacheEntry | None, read: Callable[[dict[str, Any]], ReadT], path: Path
) -> ReadT | None:
    if kept is None or kept.body is None:
        return None
    try:
        return read(kept.body)
    except WeatherError as bad:
        log.warning("the kept forecast %s is not usable (%s); asking anew", path, bad)
        return None


def _from_network(
    service: str,
    url: str,
    read: Callable[[dict[str, Any]], ReadT],
    path: Path,
    kept: CacheEntry | None,
    rows: ReadT | None,
    at: datetime,
    timeout_s: float,
    manner: Manner,
) -> FeedAnswer[ReadT]:
    reply = http.get(
        url,
        timeout_s=timeout_s,
        accept=manner.accept,
        key=manner.key,
        last_modified=kept.last_modified if kept else None,
        etag=kept.etag if kept else None,
    )
    fresh_until, stated = _life(reply.headers, at)
    if manner.life is not None:
        fresh_until, stated = at + manner.life, True
    if reply.status == 304:
        if kept is None or rows is None:
            raise http.NoAnswerError("it says 'not modified' about an answer never given")
        entry = replace(
            kept, fetched_at=at, fresh_until=fresh_until, expiry_stated=stated, not_before=None
        )
        store_entry(path, replace(entry, failure="", unreached=""))
        return FeedAnswer(rows, at, False, _deprecation(service, kept.status))
    body = http.parse_json(reply.text)
    try:
        rows = read(body)
    except WeatherError as bad:
        raise http.NoAnswerError(str(bad)) from None
    store_entry(
        path,
        CacheEntry(
            url=url,
            body=body,
            status=reply.status,
            fetched_at=at,
            fresh_until=fresh_until,
            expiry_stated=stated,
            last_modified=reply.headers.get("last-modified"),
            etag=reply.headers.get("etag"),
        ),
    )
    notes = (*_deprecation(service, reply.status), *_wrong_clock(service, reply.headers, at))
    return FeedAnswer(rows, at, True, notes)


def _life(headers: Mapping[str, str], at: datetime) -> tuple[datetime, bool]:
    """How long an answer is fresh: Expires less Date (RFC 9111, 4.2.1), and whether stated.

    The difference, not Expires itself: the clock aboard may be wrong.
    """
    try:
        expires = parsedate_to_datetime(headers["expires"])
    except (KeyError, ValueError):
        return at + DEFAULT_LIFE, False
    try:
        sent = parsedate_to_datetime(headers["date"])
    except (KeyError, ValueError):
        sent = _clock()
    if expires.tzinfo is None or sent.tzinfo is None:  # '-0000' is UTC of unknown origin
        expires, sent = (t.replace(tzinfo=t.tzinfo or UTC) for t in (expires, sent))
    life = min(max(expires - sent, timedelta(0)), LONGEST_LIFE)
    return at + life, life > timedelta(0)


def _wrong_clock(service: str, headers: Mapping[str, str], at: datetime) -> tuple[Finding, ...]:
    """A note if the service's clock and ours differ; with a pretended time there is no telling."""
    clock = _clock()
    try:
        sent = parsedate_to_datetime(headers["date"])
        sent = sent.replace(tzinfo=sent.tzinfo or UTC)
        ahead = clock - sent - timedelta(seconds=int(headers.get("age", 0)))
    except (KeyError, ValueError, OverflowError):
        return ()
    if abs(clock - at) > CLOCK_SLACK or abs(ahead) < WRONG_CLOCK:
        return ()
    state = "ahead" if ahead > timedelta(0) else "behind"
    off_h = abs(ahead).total_seconds() / 3600.0
    log.warning("this machine's clock is %.0f h off that of %s: %s", off_h, service, state)
    return (finding("clock wrong", service=service, hours=_hours(abs(ahead)), state=state),)


def _deprecation(service: str, status: int) -> tuple[Finding, ...]:
    if status != 203:
        return ()
    return (finding("feed ending", service=service),)


def _hours(age: timedelta) -> float:
    return round(max(age.total_seconds(), 0.0) / 3600.0, 2)
