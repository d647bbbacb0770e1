"""A run of a space drawn to its readings, and handed on as conditions."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np

from curewindow.boat.schema import Space
from curewindow.conditions.aired import ActingOn
from curewindow.conditions.course import (
    SpaceConditions,
    hours_since,
    joined_notes,
    lead_hours,
    utc64,
)
from curewindow.conditions.doors import Air
from curewindow.conditions.draw import (
    CLOSE_H,
    LoggedValues,
    carried_by,
    drawn,
    least_of_day,
    logged_air,
    logged_dew_point,
    logged_surface,
    readings_of,
)
from curewindow.conditions.kept import BalanceRun
from curewindow.conditions.model import Described, follow_share
from curewindow.conditions.weather_around import WeatherAround
from curewindow.findings import Finding, finding
from curewindow.physics.air import relative_humidity, saturation_pressure
from curewindow.record.entries import Reading
from curewindow.series import FloatArray
from curewindow.weather.forecast import Forecast

_TOLD_MEMBERS = 80  # of so many at most it is told what lies on the panels
_SKY_K = 3.0
"""The inner face of a bare deck under a clear sky lies this far below the air (estimate)."""


@dataclass(frozen=True, slots=True, eq=False)
class SpaceCourse:
    """What a space goes through on the grid with its run-up."""

    air_c: FloatArray
    dew_point_c: FloatArray
    mass_c: FloatArray
    surface_c: dict[str, FloatArray]
    heat_w: FloatArray
    lying_kg_m2: dict[str, FloatArray]
    frost_kg_m2: dict[str, FloatArray]

    @staticmethod
    def of_logged(conditions: SpaceConditions, around: WeatherAround) -> SpaceCourse:
        """As a neighbour: outside air where nothing is known of it."""
        outside, damp = around.outside.temp_c, around.dew_point_c

        def laid(under: FloatArray, over: FloatArray) -> FloatArray:
            course = under.copy()
            tail = course[:, around.run_up :]
            course[:, around.run_up :] = np.where(np.isfinite(over), over, tail)
            return course

        air = laid(outside, conditions.air_c)
        dew = np.minimum(laid(damp, conditions.dew_point_c), air)
        return SpaceCourse(air, dew, air, {}, air, {}, {})


def air_of(course: SpaceCourse) -> Air:
    """Its air, as what lies behind a door."""
    return Air(course.air_c, np.asarray(saturation_pressure(course.dew_point_c), dtype=np.float64))


def draw(
    space: Space,
    around: WeatherAround,
    beside: Mapping[str, FloatArray],
    result: BalanceRun,
    readings: list[Reading],
) -> SpaceCourse:
    """Air, dew point and surfaces drawn to what was read."""
    times = around.times
    coldest = _coldest_around(space, around, beside)
    air, shift = drawn(times, result.air_c, logged_air(readings), 1, coldest)
    dew, _ = drawn(times, result.dew_point_c, logged_dew_point(readings), -1)
    surfaces: dict[str, FloatArray] = {}
    for index, panel in enumerate(space.panel):
        # A skin goes along with the air only as far as it is insulated.
        course = result.surface_c[index] + follow_share(panel) * shift
        under_sky = _SKY_K if panel.outside == "air" and panel.sky else 0.0
        read = logged_surface(readings, panel.name)
        surfaces[panel.name], _ = drawn(times, course, read, 1, coldest - under_sky)
    # Joinery stays where the model has it unless that is warmer than the shifted air allows.
    mass = result.mass_c + np.minimum(shift, 0.0)
    # Two deviations that fade at their own pace can cross; air holds no more than all it can.
    # Of heating candidates by the hundred nobody asks.
    names = [panel.name for panel in space.panel] if len(air) <= _TOLD_MEMBERS else []
    lying = dict(zip(names, result.lying_kg_m2, strict=False))
    frost = dict(zip(names, result.frost_kg_m2, strict=False))
    return SpaceCourse(air, np.minimum(dew, air), mass, surfaces, result.heat_w, lying, frost)


def _coldest_around(
    space: Space, around: WeatherAround, beside: Mapping[str, FloatArray]
) -> FloatArray:
    """The coldest that lay around a space within the day before, (M, R + T)."""
    coldest = around.outside.temp_c
    for panel in space.panel:
        if panel.outside == "water" and around.outside.water_c is not None:
            coldest = np.minimum(coldest, around.outside.water_c)
        elif panel.outside in beside:
            coldest = np.minimum(coldest, beside[panel.outside])
    return least_of_day(coldest, around.step_h)


def handed_on(
    space: Space,
    described: Described,
    forecast: Forecast,
    around: WeatherAround,
    course: SpaceCourse,
    readings: list[Reading],
    now: datetime,
    acting: ActingOn,
) -> SpaceConditions:
    """Conditions on the forecast's own grid, unknown where its weather is."""
    cut = slice(around.run_up, None)

    def known(values: FloatArray) -> FloatArray:
        return np.where(around.unknown, np.nan, values[:, cut])

    air, dew = known(course.air_c), known(course.dew_point_c)
    logged = logged_air(readings_of(readings, space.name, now))
    in_water = any(panel.outside == "water" for panel in space.panel)
    return SpaceConditions(
        space=space.name,
        times=forecast.times,
        air_c=air,
        rh_pct=np.minimum(np.asarray(relative_humidity(air, dew), dtype=np.float64), 100.0),
        dew_point_c=dew,
        mass_c=known(course.mass_c),
        surface_c={name: known(values) for name, values in course.surface_c.items()},
        heat_w=known(course.heat_w),
        measured=carried_by(forecast.times, logged, utc64(now)),
        lead_h=lead_hours(forecast, now, logged),
        notes=joined_notes(
            forecast.notes,
            around.notes,
            (around.inside_note,),
            (around.water_note if in_water else None,),
            described.all_notes,
            (_readings_note(space.name, logged, now),),
        ),
        lying_kg_m2={name: known(values) for name, values in course.lying_kg_m2.items()},
        frost_kg_m2={name: known(values) for name, values in course.frost_kg_m2.items()},
        acting=acting,
    )


def _readings_note(space: str, logged: LoggedValues, now: datetime) -> Finding | None:
    if not logged.at.size:
        return finding("space never read", space=space)
    age_h = float(hours_since(np.atleast_1d(utc64(now)), logged.at[-1])[0])
    if age_h <= CLOSE_H:
        return None
    return finding("space read long ago", space=space, hours=age_h)
