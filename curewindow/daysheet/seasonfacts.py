"""What the season is run on: the forecast, then each past year, thinned to half hours."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.folder import load_boat, load_work
from curewindow.boat.schema import Boat, Work
from curewindow.daysheet.ordering import given_of
from curewindow.judgement.keptwarm import warm_for_long
from curewindow.order.given import Given
from curewindow.season.run import SLOT_MIN
from curewindow.season.sampling import Pace, pace_of
from curewindow.situation import Situation, read_situation
from curewindow.weather.choose import get_forecast
from curewindow.weather.continued import continued, known_until, of_rows
from curewindow.weather.forecast import Forecast
from curewindow.weather.pastyears import PastYears, past_years
from curewindow.weather.spread import as_ensemble

YEARS = 30
LOOK = timedelta(days=180)
_FIELDS = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")


@dataclass(frozen=True, slots=True, eq=False)
class SeasonFacts:
    """What the season is run on.

    Attributes
    ----------
    facts : Situation
    given : Given
        A member of its conditions a year.
    years, missing : tuple of str
        As those of :class:`curewindow.weather.pastyears.PastYears`.
    pace : Pace
    """

    facts: Situation
    given: Given
    years: tuple[str, ...]
    missing: tuple[str, ...]
    pace: Pace


def season_facts(
    folder: Path,
    now: datetime,
    *,
    years: int = YEARS,
    days: float | None = None,
    forecast: Forecast | None = None,
    past: PastYears | None = None,
    refresh: bool = False,
) -> SeasonFacts:
    """Gather what the season is run on.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    years : int
        Past years at most.
    days : float, optional
        How far to look; else 180.
    forecast, past : optional
        Weather at hand; else it is got as boat.toml says.
    refresh : bool
        Ask the archive anew.

    Raises
    ------
    CurewindowError
        A hand-written file, the weather or the record cannot be used; no past year at all.
    """
    now = now.astimezone(UTC)
    boat = load_boat(folder)
    load_work(folder, boat)  # its faults before any weather is asked for
    until = now + (LOOK if days is None else timedelta(days=days))
    if past is None:
        past = past_years(boat, folder, years, now=now, until=until, refresh=refresh)
    if forecast is None:
        forecast = season_forecast(folder, now)
    weather = carried_on(forecast, past, until)
    facts = read_situation(folder, now, weather)
    given = given_of(facts, until, known_until(forecast), warm_for_long)
    # Another note is said of the season as a whole.
    given = replace(given, notes=())
    return SeasonFacts(facts, given, past.years, tuple(map(str, past.missing)), _pace(facts))


def season_forecast(folder: Path, now: datetime) -> Forecast:
    """The forecast as boat.toml says, before past years carry it on."""
    boat = load_boat(folder)
    load_work(folder, boat)  # its faults before any weather is asked for
    place = f"{boat.name}, {boat.place.latitude}, {boat.place.longitude}"
    return as_ensemble(get_forecast(boat, folder, now.astimezone(UTC)), place)


def carried_on(forecast: Forecast, past: PastYears, until: datetime) -> Forecast:
    """The forecast carried on by each past year: a member a year, every half hour.

    The forecast's own members are dealt out among the years.
    """
    parts = [
        continued(of_rows(forecast, np.array([row % forecast.members])), until, year, label)
        for row, (label, year) in enumerate(zip(past.years, past.each(), strict=True))
    ]
    step_s = int((parts[0].times[1] - parts[0].times[0]) / np.timedelta64(1, "s"))
    every = max(1, SLOT_MIN * 60 // step_s)
    first = parts[0]
    # Slots begin on the full half hour, and so do the instants kept.
    at = first.times.astype("datetime64[s]").astype(np.int64)
    offset = int(np.flatnonzero(at % (SLOT_MIN * 60) == 0)[0])
    pick = slice(offset, None, every)
    fields = {
        name: np.concatenate([getattr(each, name) for each in parts])[:, pick] for name in _FIELDS
    }
    return replace(
        first,
        times=first.times[pick],
        gap_h=first.gap_h[pick],
        notes=forecast.notes,
        **fields,  # type: ignore[arg-type]
    )


def _pace(facts: Situation) -> Pace:
    """Learned from coats that were logged with both times."""
    jobs = {job.name: job for job in facts.work.job}
    ratios = []
    for coat in facts.coats:
        job = jobs.get(coat.job)
        if job is None or not 1 <= coat.step <= len(job.step) or coat.end <= coat.start:
            continue
        written = hands_on_h(job.step[coat.step - 1], job)
        if written > 0:
            ratios.append((coat.end - coat.start) / timedelta(hours=written))
    return pace_of(ratios)


def date_of(work: Work, boat: Boat, now: datetime) -> datetime | None:
    """The end of the day everything is to be done by, aware UTC."""
    from datetime import time
    from zoneinfo import ZoneInfo

    if work.done_by is None:
        return None
    zone = ZoneInfo(boat.place.time_zone)
    return datetime.combine(work.done_by + timedelta(days=1), time(0), zone).astimezone(UTC)
