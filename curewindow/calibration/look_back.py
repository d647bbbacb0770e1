"""Looking back: windows judged, forecasts compared, what follows from it written down."""

from __future__ import annotations

import sqlite3
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.boat.folder import RECORD_FILE
from curewindow.boat.schema import Boat, Work
from curewindow.calibration.errors_seen import LeadError, lead_errors
from curewindow.calibration.fit import fit_trust
from curewindow.calibration.past_windows import judge_past
from curewindow.calibration.place import LOOKS_BACK, PlaceLesson, learn_place
from curewindow.calibration.seen import (
    add_analyses,
    add_history,
    add_short_forecast,
    seen_hours,
    seen_weather,
)
from curewindow.calibration.stated import Cases, ScoredWindow, cases_of, stated_between
from curewindow.errors import RecordError
from curewindow.findings import Finding, finding
from curewindow.record.entries import Reading
from curewindow.record.heat import with_heat
from curewindow.record.store import Record
from curewindow.trust import Trust
from curewindow.weather import kept_file
from curewindow.weather.cache import Cache, cache_folder
from curewindow.weather.kept_forecasts import (
    KEEP,
    KeptForecast,
    all_names,
    is_real,
    kept,
    kept_bytes,
)
from curewindow.weather.local import corrected, learned, remember

APART = timedelta(hours=6)
"""Forecasts made sooner after one another err alike: one of them is looked at."""
_JUDGES = timedelta(days=60)
_RUN_UP = timedelta(days=4)
_SETTLES = timedelta(days=3)


@dataclass(frozen=True, slots=True, eq=False)
class FeedLook:
    """What was found of one feed: windows told, those judged, what is corrected by it."""

    source: str
    told: list[ScoredWindow]
    cases: Cases
    trust: Trust | None
    errors: list[LeadError]
    place: PlaceLesson | None
    forecasts: int


@dataclass(frozen=True, slots=True, eq=False)
class LookedBack:
    """Everything found, feeds with most cases first."""

    now: datetime
    feeds: list[FeedLook]
    kept_forecasts: int
    kept_since: datetime | None
    kept_bytes: int
    written_down: bool
    notes: list[Finding] = field(default_factory=list)


def look_back(
    folder: Path, boat: Boat, work: Work, now: datetime, *, offline: bool = False
) -> LookedBack:
    """Judge what is past, fit what follows from it, and write both down.

    Meant to be run now and then by the owner, and by a service every night; a day sheet
    only reads what was learned.

    Parameters
    ----------
    folder : Path
        The boat folder.
    boat, work : Boat, Work
    now : datetime
        Aware. Of a pretended moment nothing is written down.
    offline : bool
        Ask no archive.

    Returns
    -------
    LookedBack

    Raises
    ------
    RecordError
        The record or trust.db cannot be used.
    """
    with Record(folder / RECORD_FILE, read_only=True) as record:
        readings = record.readings(since=now - KEEP, until=now)
        boat = with_heat(boat, record.heat(), readings, now)
    path = folder / kept_file.FILE
    if not path.exists() and not all_names(folder):
        return LookedBack(now, [], 0, None, 0, False)
    cache = Cache(cache_folder(), offline=offline)
    try:
        notes: list[Finding] = []
        if is_real(now):
            notes = _see(folder, boat, cache, now)
            _learn_place(folder, boat, readings, now)
            _judge(folder, boat, work, readings, now)
        return _found(folder, boat, readings, now, notes)
    except sqlite3.Error as bad:
        raise RecordError(
            f"cannot be used ({bad}); it can be moved away and grows anew", file=path
        ) from None


def _see(folder: Path, boat: Boat, cache: Cache, now: datetime) -> list[Finding]:
    """Write down what was seen since."""
    forecasts = list(kept(folder, boat.place, since=now - _JUDGES))
    with kept_file.to_write(folder) as connection:
        kept_file.prune(connection, now - KEEP)
        add_history(connection, boat, cache, now)
        for forecast in forecasts:
            add_short_forecast(connection, boat, forecast, now)
    if not forecasts:
        return []
    missing = add_analyses(folder, boat, cache, now, forecasts[0].made_at)
    return [finding("past unseen", note=missing)] if missing else []


def _learn_place(folder: Path, boat: Boat, readings: Sequence[Reading], now: datetime) -> None:
    """Before windows are judged: the weather seen is corrected for the place like any other."""
    forecasts = list(kept(folder, boat.place, since=now - LOOKS_BACK, at_least_apart=APART))
    lessons = {
        source: learn_place(boat.place, [f for f in forecasts if f.source == source], readings)
        for source in {forecast.source for forecast in forecasts}
    }
    with kept_file.to_write(folder) as connection:
        for source, lesson in lessons.items():
            found = None if lesson is None else lesson.found
            remember(connection, boat.place, source, now, found, "place")


def _judge(
    folder: Path, boat: Boat, work: Work, readings: Sequence[Reading], now: datetime
) -> None:
    """Judge windows that are past, and again those judged before their readings came in."""
    with kept_file.to_read(folder) as connection:
        if connection is None:
            return
        told = stated_between(connection, now - _JUDGES, now)
        # What was judged days after it was over stays as it is.
        open_ones = [t for t in told if t.held is None or now - t.start < 2 * _SETTLES]
        if not open_ones:
            return
        since = open_ones[0].start - _RUN_UP
        seen = seen_weather(connection, boat, since, now)
        if seen is None:
            return
    latest = next(reversed(told)).source
    place = learned(folder, boat.place, latest)[0]
    if place is not None and boat.weather.local_correction:
        seen = corrected(seen, boat.place, place)
    outcomes = judge_past(folder, boat, work, open_ones, seen, readings, now)
    with kept_file.to_write(folder) as connection:
        connection.executemany(
            "UPDATE told SET held = ?, basis = ? WHERE id = ?",
            [(int(each.held), each.basis, each.id) for each in outcomes],
        )


def _found(
    folder: Path, boat: Boat, readings: Sequence[Reading], now: datetime, notes: list[Finding]
) -> LookedBack:
    zone = ZoneInfo(boat.place.time_zone)
    learning = is_real(now)
    with kept_file.to_read(folder) as connection:
        if connection is None:  # asked about another time, before anything was looked at
            return LookedBack(now, [], 0, None, 0, False)
        told = stated_between(connection, now - KEEP, now + timedelta(days=30))
        hours, seen = seen_hours(connection, boat, now - LOOKS_BACK, now)
    forecasts = list(kept(folder, boat.place, since=now - LOOKS_BACK, at_least_apart=APART))
    names = all_names(folder)
    sources = {f.source for f in forecasts} | {t.source for t in told}
    feeds = []
    for source in sources:
        own: list[KeptForecast] = [f for f in forecasts if f.source == source]
        windows = [t for t in told if t.source == source]
        cases = cases_of([t for t in windows if t.start <= now], zone)
        feeds.append(
            FeedLook(
                source=source,
                told=windows,
                cases=cases,
                trust=fit_trust(cases.stated, cases.held, cases.lead_h, cases.day),
                errors=lead_errors(own, hours, seen, readings),
                place=learn_place(boat.place, own, readings),
                forecasts=len(own),
            )
        )
    if learning:
        with kept_file.to_write(folder) as connection:
            for feed in feeds:
                remember(connection, boat.place, feed.source, now, feed.trust, "trust")
    feeds.sort(key=lambda feed: (-feed.cases.stated.size, -feed.forecasts, feed.source))
    return LookedBack(
        now=now,
        feeds=feeds,
        kept_forecasts=len(names),
        kept_since=names[0].made_at if names else None,
        kept_bytes=kept_bytes(folder) + (folder / kept_file.FILE).stat().st_size,
        written_down=learning,
        notes=notes,
    )
