"""Conditions at the surface a job is on: a panel, free-standing joinery, or outdoors."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

import numpy as np

from curewindow.boat.checks import OUTDOORS
from curewindow.boat.schema import Boat, Job
from curewindow.boat.substrate import surface_name
from curewindow.conditions.aired import SpaceAired
from curewindow.conditions.course import (
    SpaceConditions,
    hours_since,
    joined_notes,
    lead_hours,
    utc64,
)
from curewindow.conditions.draw import (
    carried_by,
    drawn,
    logged_air,
    logged_dew_point,
    logged_surface,
    logged_wood,
    readings_of,
)
from curewindow.conditions.spaces import space_conditions
from curewindow.conditions.tins import tins_kept
from curewindow.conditions.weather_around import weather_around
from curewindow.conditions.wood import USUAL_THICKNESS_M, wood_moisture
from curewindow.errors import NotFoundError
from curewindow.findings import Finding, finding
from curewindow.nearest import nearest_or_all
from curewindow.physics.air import relative_humidity
from curewindow.physics.panel import outdoor_surface_temp
from curewindow.record.entries import Reading
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.weather.forecast import Forecast

# Wind at a hull among others ashore or in a basin against the forecast's at 10 m.
# Estimate, no source; less wind makes a night surface colder.
SHELTERED = 0.6
# Where a job is on no panel of its space.
JOINERY = "joinery"
# White or light paint: the sun is not trusted to warm a surface we do not know.
LIGHT_SURFACE = 0.3


def surface_series(
    boat: Boat,
    job: Job,
    sheet: Sheet | None,
    forecast: Forecast,
    readings: Iterable[Reading],
    now: datetime,
    *,
    spaces: Mapping[str, SpaceConditions] | None = None,
) -> SurfaceSeries:
    """Conditions at the surface a job is on, over the forecast's grid.

    Parameters
    ----------
    boat : Boat
        The boat.
    job : Job
        Its space and panel, or outdoors.
    sheet : Sheet or None
        The step's product: wood moisture is worked out for bare wood if it limits it.
    forecast : Forecast
        Weather, past and to come.
    readings : iterable of Reading
        All readings; those after ``now`` are not known yet. Those named 'outdoors' are
        of the weather at the boat.
    now : datetime
        Aware.
    spaces : mapping of str to SpaceConditions, optional
        Conditions already worked out for the same forecast, readings and moment.

    Returns
    -------
    SurfaceSeries

    Raises
    ------
    NotFoundError
        The boat has no such space, or the space no such panel.
    """
    known = list(readings)
    if job.space is None:
        return _outdoors(boat, job, sheet, forecast, known, now, spaces or {})
    space = boat.find_space(job.space)
    if space is None:
        raise NotFoundError(
            f"job '{job.name}': the boat has no space '{job.space}'"
            f"; {nearest_or_all(job.space, [s.name for s in boat.space], 'there are')}"
        )
    conditions = (spaces or {}).get(space.name)
    if conditions is None:
        conditions = space_conditions(boat, space, forecast, known, now)
    extra: list[Finding] = []
    if job.panel is None:
        # Joinery lags behind the air; while it warms it is the colder, while it cools
        # the air is what it is on its way to.
        surface = np.minimum(conditions.air_c, conditions.mass_c)
        named = JOINERY
    elif job.panel in conditions.surface_c:
        surface, named = conditions.surface_c[job.panel], job.panel
    elif space.logged_only and not space.panel:
        surface, named = conditions.surface_c[""], job.panel
        extra.append(finding("surface never read", space=space.name, surface=named))
    else:
        raise NotFoundError(
            f"job '{job.name}': space '{space.name}' has no panel '{job.panel}'"
            f"; {nearest_or_all(job.panel, [p.name for p in space.panel], 'there are')}"
        )
    own = readings_of(known, space.name, now)
    wood, wood_notes = _wood(
        job, sheet, conditions.times, surface, conditions.dew_point_c, own, now
    )
    return SurfaceSeries(
        space=space.name,
        surface=named,
        times=conditions.times,
        air_c=conditions.air_c,
        rh_pct=conditions.rh_pct,
        dew_point_c=conditions.dew_point_c,
        surface_c=surface,
        wood_moisture_pct=wood,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=conditions.measured,
        lead_h=conditions.lead_h,
        outdoors=False,
        trust=forecast.trust,
        notes=joined_notes(extra, conditions.notes, wood_notes),
        tins=tins_kept(
            boat,
            space.name,
            conditions.times,
            conditions.air_c,
            forecast.temp_c,
            spaces or {},
            now,
        ),
        behind=_behind(job, conditions),
    )


def _behind(job: Job, conditions: SpaceConditions) -> SpaceAired | None:
    """The space behind a surface in it, where somebody described it."""
    if conditions.acting is None:
        return None
    return SpaceAired(
        acting=conditions.acting,
        panel=job.panel,
        air_c=conditions.air_c,
        mass_c=conditions.mass_c,
        dew_point_c=conditions.dew_point_c,
        heat_w=conditions.heat_w,
        surface_c=conditions.surface_c,
        lying_kg_m2=conditions.lying_kg_m2,
    )


def _outdoors(
    boat: Boat,
    job: Job,
    sheet: Sheet | None,
    forecast: Forecast,
    readings: list[Reading],
    now: datetime,
    spaces: Mapping[str, SpaceConditions],
) -> SurfaceSeries:
    around = weather_around(boat.place, forecast, now)
    own = readings_of(readings, OUTDOORS, now)
    cut = slice(around.run_up, None)
    air, _ = drawn(around.times, around.outside.temp_c, logged_air(own), 1)
    dew, _ = drawn(around.times, around.dew_point_c, logged_dew_point(own), -1)
    dew = np.minimum(dew, air)
    surface = np.asarray(
        outdoor_surface_temp(
            air,
            dew,
            SHELTERED * around.outside.wind_ms,
            around.cloud_frac,
            np.maximum(around.outside.sun_w_m2, 0.0),
            LIGHT_SURFACE,
        ),
        dtype=np.float64,
    )
    for panel in sorted({reading.panel for reading in own if reading.panel}):
        # Outdoors a reading of any surface that carries the job's own words is of it.
        if panel.casefold() in _names(job):
            surface, _ = drawn(around.times, surface, logged_surface(own, panel), 1)

    def known(values: FloatArray) -> FloatArray:
        return np.where(around.unknown, np.nan, values[:, cut])

    air, dew, surface = known(air), known(dew), known(surface)
    wood, wood_notes = _wood(job, sheet, forecast.times, surface, dew, own, now)
    logged = logged_air(own)
    return SurfaceSeries(
        space=OUTDOORS,
        surface=surface_name(job),
        times=forecast.times,
        air_c=air,
        rh_pct=np.minimum(np.asarray(relative_humidity(air, dew), dtype=np.float64), 100.0),
        dew_point_c=dew,
        surface_c=surface,
        wood_moisture_pct=wood,
        wind_ms=forecast.wind_ms,
        rain_mm_h=forecast.rain_mm_h,
        sun_w_m2=forecast.sun_w_m2,
        measured=carried_by(forecast.times, logged, utc64(now)),
        lead_h=lead_hours(forecast, now, logged),
        outdoors=True,
        trust=forecast.trust,
        notes=joined_notes(
            forecast.notes,
            around.notes,
            (finding("deck in the open"),),
            wood_notes,
        ),
        tins=tins_kept(boat, OUTDOORS, forecast.times, air, air, spaces, now),
    )


def _names(job: Job) -> set[str]:
    """What an outdoor surface of a job may be called in the log."""
    return {name.casefold() for name in (job.name, job.substrate, surface_name(job))}


def _wood(
    job: Job,
    sheet: Sheet | None,
    times: np.ndarray[tuple[int, ...], np.dtype[np.datetime64]],
    surface_c: FloatArray,
    dew_point_c: FloatArray,
    readings: list[Reading],
    now: datetime,
) -> tuple[FloatArray | None, list[Finding]]:
    """Wood moisture where it matters, and what to say of it."""
    if not job.bare_wood or (sheet is not None and not _limits_wood(sheet)):
        return None, []
    thickness = job.wood_thickness or USUAL_THICKNESS_M
    # Joinery and outdoor work go by the job's own words, as outdoor surfaces do.
    pieces = (job.panel,) if job.panel is not None else (job.name, job.substrate, surface_name(job))
    logged = logged_wood(readings, *pieces)
    faces = 2 if job.panel is None and job.space is not None else 1
    notes: list[Finding] = []
    if not job.wood_thickness:
        notes.append(finding("wood thickness assumed", thickness_mm=thickness * 1000.0))
    if not logged.at.size:
        notes.append(finding("wood never read"))
    elif (age_days := float(hours_since(np.atleast_1d(utc64(now)), logged.at[-1])[0]) / 24.0) > 2.0:
        notes.append(finding("wood read long ago", hours=age_days * 24.0))
    course = wood_moisture(times, surface_c, dew_point_c, logged, thickness, faces)
    return course, notes


def _limits_wood(sheet: Sheet) -> bool:
    return any(
        limit is not None
        for phase in (sheet.applying, sheet.setting)
        for limit in (phase.wood_moisture.min, phase.wood_moisture.max)
    )
