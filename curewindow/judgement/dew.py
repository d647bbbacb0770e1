"""When dew falls on work outdoors, and the hours of daylight it has."""

from __future__ import annotations

from datetime import datetime, time, timedelta

import numpy as np

from curewindow.answers import Daylight, Dewfall
from curewindow.boat.schema import Job
from curewindow.boat.sun import sun_times
from curewindow.conditions.wetness import dew_and_frost
from curewindow.judgement.models import JobDay
from curewindow.situation import Situation
from curewindow.windows.grid import at_index, first_at_or_after

SOON_SHARE = 0.2
"""Dew is told from when it falls in one member of five: the early side."""


def dewfall(facts: Situation, job: Job, after: datetime) -> Dewfall | None:
    """When dew or frost next falls on a job's surface, up to noon of the day after.

    Parameters
    ----------
    facts : Situation
    job : Job
        Outdoors.
    after : datetime
        Aware.

    Returns
    -------
    Dewfall or None
        None where it stays dry (or wet) throughout, or nothing is known of it.

    Notes
    -----
    The surface is colder than the air under a clear sky, so dew falls on it while the
    air still is above its dew point (:mod:`curewindow.physics.outdoors`).
    """
    series = facts.series(job)
    noon = datetime.combine(
        facts.words.local(after).date() + timedelta(days=1), time(12), facts.words.zone
    )
    begin, end = (first_at_or_after(series, at) for at in (after, noon))
    dew, frost = dew_and_frost(
        series.surface_c[:, begin:end],
        np.broadcast_to(series.dew_point_c, series.surface_c.shape)[:, begin:end],
    )
    wet = (dew | frost).mean(axis=0) >= SOON_SHARE
    dry = np.flatnonzero(~wet)
    # What has fallen already is another matter; this is when it falls again.
    falls = np.flatnonzero(wet[int(dry[0]) :]) if dry.size else dry
    if falls.size == 0:
        return None
    first = int(dry[0] + falls[0])
    return Dewfall(
        at=at_index(series, begin + first),
        frost=bool(frost[:, first].sum() > dew[:, first].sum()),
    )


def with_dewfall(facts: Situation, job: Job, day: JobDay) -> JobDay:
    """A job's day, with the dewfall after its next window where it is work outdoors."""
    if not job.outdoors or day.status == "done":
        return day
    ahead = (*day.windows_today, day.next_window, day.if_wiped)
    windows = [window for window in ahead if window is not None]
    after = max(windows[0].opens, facts.now) if windows else facts.now
    return day.model_copy(update={"dewfall": dewfall(facts, job, after)})


def daylight(facts: Situation) -> Daylight:
    """Today's sunrise and sunset."""
    sunrise, sunset = sun_times(facts.boat.place, facts.words.local(facts.now).date())
    return Daylight(sunrise=sunrise, sunset=sunset)
