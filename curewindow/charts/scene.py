"""What one picture shows: a surface, the air before it and the windows, over some days."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import daylight_mask, hours_mask
from curewindow.boat.schema import Boat, Job, Space, Step, Work
from curewindow.charts.limits import DrawnLimit, drawn_limits
from curewindow.conditions import surface_series
from curewindow.conditions.wetness import dew_and_frost
from curewindow.explain.control import control_conditions, control_member
from curewindow.findings import Finding
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.jobday import Found, find, job_day
from curewindow.judgement.models import Status
from curewindow.rules.tins import with_tin
from curewindow.series import BoolArray, FloatArray
from curewindow.sheets.schema import Sheet
from curewindow.situation import Situation
from curewindow.voice.day import step_text
from curewindow.weather.grid import utc_of
from curewindow.windows.reasons import surface_name
from curewindow.wording import Wording

LEAST_G_M2 = 1.0
"""Less is a breath on glass."""
BEFORE_H = 6.0
"""So much of what was is shown before now, to see where things come from."""


@dataclass(frozen=True, slots=True)
class WindowBar:
    """The windows of one job.

    Attributes
    ----------
    job : str
    status : str
        As on the day sheet.
    verdict : Finding
        The day sheet's.
    spans : tuple of (datetime, datetime)
        From the first start to the end of the work begun at the last.
    """

    job: str
    status: Status
    verdict: Finding
    spans: tuple[tuple[datetime, datetime], ...]


@dataclass(frozen=True, slots=True, eq=False)
class LyingOn:
    """Water and frost on a panel, g/m², shape (T,), as the balance books them; NaN: not known."""

    panel: str
    water_g_m2: FloatArray
    frost_g_m2: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """Everything in one picture; arrays are of shape (T,), of several members the middle one.

    Attributes
    ----------
    boat, title, where : str
        Whose, of what, and which surface in which space.
    job : str
        The job the picture is of; '' where it is of a whole space.
    surface : str
        What the surface is called in the picture.
    coldest : tuple of str
        Of a whole space, the surfaces that are its coldest at one time or another, the
        one that is so most of the time first; else empty.
    times : ndarray of datetime64[s]
        UTC grid.
    air_c, surface_c, dew_point_c, rh_pct : ndarray
        NaN: not known.
    heat_w : ndarray or None
        What the heater gives; None where there is none, or it is not known.
    aboard, night, dew, frost, measured : ndarray of bool
        Someone is aboard; the sun is down; dew and frost form on the surface; readings
        carry the values.
    lying : tuple of LyingOn
        Panels on which a gram or more lies at some time, in the weather as told.
    limits : tuple of DrawnLimit
        What the next step's sheet asks for.
    windows : tuple of WindowBar
    words : Wording
        Zone, degrees, and now.
    until_known : datetime
        End of the weather known.
    attribution : str
        What the weather service asks to be shown.
    """

    boat: str
    title: str
    where: str
    job: str
    surface: str
    coldest: tuple[str, ...]
    times: NDArray[np.datetime64]
    air_c: FloatArray
    surface_c: FloatArray
    dew_point_c: FloatArray
    rh_pct: FloatArray
    heat_w: FloatArray | None
    aboard: BoolArray
    night: BoolArray
    dew: BoolArray
    frost: BoolArray
    measured: BoolArray
    lying: tuple[LyingOn, ...]
    limits: tuple[DrawnLimit, ...]
    windows: tuple[WindowBar, ...]
    words: Wording
    until_known: datetime
    attribution: str

    @property
    def step_h(self) -> float:
        """Grid step in hours."""
        return float((self.times[1] - self.times[0]) / np.timedelta64(1, "s")) / 3600.0

    @property
    def hours(self) -> FloatArray:
        """Hours since the picture's left edge, shape (T,)."""
        return np.arange(self.times.size, dtype=np.float64) * self.step_h

    def hour_of(self, at: datetime) -> float:
        """Hours from the left edge to a moment; may lie outside the picture."""
        return (at - self.left) / timedelta(hours=1)

    @property
    def left(self) -> datetime:
        """The moment at the left edge."""
        return utc_of(self.times[0])

    @property
    def right(self) -> datetime:
        """The moment at the right edge."""
        return utc_of(self.times[-1])


def scene_of(facts: Situation, target: Job | Space | None, days: float) -> Scene:
    """Gather what a picture shows.

    Parameters
    ----------
    facts : Situation
    target : Job, Space or None
        A job: its surface, limits and windows. A space: its coldest surface and the
        windows of all jobs in it. None: outdoors, the same.
    days : float
        So far ahead, or to the end of the weather known.

    Returns
    -------
    Scene
    """
    series = surface_series(
        facts.boat,
        target if isinstance(target, Job) else _stand_in(target),
        None,
        facts.forecast,
        facts.readings,
        facts.now,
        spaces=facts.conditions,
    )
    cut = _cut(series.times, facts.now, days)
    air, dew_point, humidity, surface = (
        _middle(values[:, cut])
        for values in (series.air_c, series.dew_point_c, series.rh_pct, series.surface_c)
    )
    called = surface_name(series)
    coldest: tuple[str, ...] = ()
    if isinstance(target, Space):
        surface, coldest = _coldest(facts, target, cut)
        called = coldest[0] if len(coldest) == 1 and coldest[0] else "coldest surface"
    space = target.name if isinstance(target, Space) else None
    space = target.space if isinstance(target, Job) else space
    dew, frost = dew_and_frost(surface, dew_point)
    jobs = [target] if isinstance(target, Job) else [j for j in facts.work.job if j.space == space]
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    found = {job.name: find(facts, job, clocks, all_windows=True) for job in jobs}
    step = found[target.name] if isinstance(target, Job) else None
    sheet = None if step is None else _sheet(facts, step)
    if step is not None and sheet is not None:
        series = with_tin(series, sheet, step.ahead.hands_on_h)
    heat = None if space is None else facts.conditions[space].heat_w[:, cut]
    described = None if space is None else facts.boat.find_space(space)
    no_heater = described is None or described.heating is None
    return Scene(
        boat=facts.boat.name,
        title=_title(target, found),
        where=series.where if not isinstance(target, Space) else target.name,
        job=target.name if isinstance(target, Job) else "",
        surface=called,
        coldest=coldest,
        times=series.times[cut],
        air_c=air,
        surface_c=surface,
        dew_point_c=dew_point,
        rh_pct=humidity,
        heat_w=None if heat is None or no_heater else _middle(heat),
        aboard=hours_mask(facts.boat, series.times[cut]),
        night=~daylight_mask(facts.boat.place, series.times[cut]),
        dew=dew,
        frost=frost,
        measured=series.measured[cut],
        lying=_lying(facts, described, target, cut),
        limits=() if sheet is None else drawn_limits(series, sheet, cut, called),
        windows=tuple(
            _bar(facts, job, found[job.name])
            for job in jobs
            if found[job.name] is not None or isinstance(target, Job)
        ),
        words=facts.words,
        until_known=utc_of(facts.forecast.times[-1]),
        attribution=facts.forecast.attribution,
    )


def _lying(
    facts: Situation, space: Space | None, target: Job | Space | None, cut: slice
) -> tuple[LyingOn, ...]:
    """What lies on the panels of a space, or on the one a job is on."""
    if space is None or space.logged_only:
        return ()
    known = facts.conditions[space.name]
    if facts.forecast.members > 1:
        until = utc_of(facts.forecast.times[cut][-1])
        told = control_member(facts.forecast, until)
        known = control_conditions(facts, told, [space.name])[space.name]
    found = []
    for panel, values in known.lying_kg_m2.items():
        if isinstance(target, Job) and target.panel != panel:
            continue
        frost = 1000.0 * known.frost_kg_m2[panel][0, cut]
        water = 1000.0 * values[0, cut] - frost
        if np.any(water >= LEAST_G_M2) or np.any(frost >= LEAST_G_M2):
            found.append(LyingOn(panel, water, frost))
    return tuple(found)


def usual_target(boat: Boat, work: Work, done: set[str]) -> Space | None:
    """What to show when nobody says: the space with the most jobs not done; None: outdoors."""
    if not boat.space:
        return None
    open_jobs = [job.space for job in work.job if job.name not in done]
    return max(boat.space, key=lambda space: open_jobs.count(space.name))


def _stand_in(space: Space | None) -> Job:
    """A job that is nowhere but in the air of a space, or outdoors, for its series."""
    step = [Step(do="fit")]
    if space is None:
        return Job(name="outdoors", outdoors=True, step=step)
    return Job(name=space.name, space=space.name, step=step)


def _cut(times: NDArray[np.datetime64], now: datetime, days: float) -> slice:
    at = np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s")
    before = at - np.timedelta64(round(BEFORE_H * 3600.0), "s")
    after = at + np.timedelta64(round(days * 86400.0), "s")
    first = int(np.searchsorted(times, before))
    last = int(np.searchsorted(times, after, side="right"))
    # a picture has two points at least
    return slice(min(first, times.size - 2), max(last, first + 2))


def _middle(values: FloatArray) -> FloatArray:
    """The middle member; NaN where any is unknown. Shape (M, T) to (T,)."""
    return np.asarray(np.median(values, axis=0), dtype=np.float64)


def _coldest(facts: Situation, space: Space, cut: slice) -> tuple[FloatArray, tuple[str, ...]]:
    """The coldest surface of a space at each instant, and which ones it is, the usual one first."""
    surfaces = facts.conditions[space.name].surface_c
    courses = np.array([_middle(values[:, cut]) for values in surfaces.values()])
    filled = np.where(np.isnan(courses), np.inf, courses)
    which, counts = np.unique(np.argmin(filled, axis=0), return_counts=True)
    names = list(surfaces)
    order = [names[int(which[i])] for i in np.argsort(-counts)]
    # a surface that is not known might be the coldest
    return np.min(courses, axis=0), tuple(order)


def _sheet(facts: Situation, found: Found | None) -> Sheet | None:
    if found is None or found.ahead.sheet is None:
        return None
    return facts.sheet(found.ahead.sheet).sheet


def _title(target: Job | Space | None, found: dict[str, Found | None]) -> str:
    if target is None:
        return "outdoors"
    if isinstance(target, Space):
        return target.name
    ahead = found[target.name]
    return target.name if ahead is None else f"{target.name}: {step_text(ahead.ahead)}"


def _bar(facts: Situation, job: Job, found: Found | None) -> WindowBar:
    day = job_day(facts, job, found)
    spans: list[tuple[datetime, datetime]] = []
    if found is not None and day.status != "refused":
        takes = timedelta(hours=found.ahead.tail_h)
        spans = [(w.opens, w.closes + takes) for w in found.judged.windows]
    return WindowBar(job.name, day.status, day.verdict, tuple(spans))
