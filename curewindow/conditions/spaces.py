"""Conditions in described spaces: the balance run through the weather, drawn to the readings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import numpy.typing as npt

from curewindow.boat.schema import Boat, Space
from curewindow.conditions.changed import Changed, behind_run_up
from curewindow.conditions.course import (
    SpaceConditions,
    hours_since,
    joined_notes,
    lead_hours,
    utc64,
)
from curewindow.conditions.draw import (
    CLOSE_H,
    Logged,
    carried_by,
    drawn,
    least_of_day,
    logged_air,
    logged_dew_point,
    logged_surface,
    readings_of,
)
from curewindow.conditions.kept import Run, kept_or_run
from curewindow.conditions.learned import Learned, with_learned
from curewindow.conditions.logged import logged_conditions
from curewindow.conditions.model import Described, describe, follow_share, neighbours
from curewindow.conditions.routine import setpoints_c
from curewindow.conditions.run import run_space
from curewindow.conditions.weather_around import WeatherAround, weather_around
from curewindow.physics.air import relative_humidity
from curewindow.physics.balance import Outside, SpaceResult
from curewindow.record.entries import Reading
from curewindow.series import FloatArray
from curewindow.weather.forecast import Forecast

_SKY_K = 3.0
"""The inner face of a bare deck under a clear sky lies this far below the air (estimate)."""


def space_conditions(
    boat: Boat,
    space: Space,
    forecast: Forecast,
    readings: Iterable[Reading],
    now: datetime,
    *,
    setpoint_c: npt.ArrayLike | None = None,
    power_w: npt.ArrayLike | None = None,
    air_changes_h: npt.ArrayLike | None = None,
    learned: Mapping[str, Learned] | None = None,
) -> SpaceConditions:
    """Conditions in a space over the forecast's grid.

    Parameters
    ----------
    boat : Boat
        The boat it is in.
    space : Space
        The space.
    forecast : Forecast
        Weather, past and to come.
    readings : iterable of Reading
        All readings there are; those of other spaces count for those spaces, those
        after ``now`` are not known yet.
    now : datetime
        Aware.
    setpoint_c : array_like, broadcast to (M, T), optional
        Instead of the heater's routine in this space; NaN: off.
    power_w, air_changes_h : array_like, broadcast to (M, T), optional
        Instead of the heater's power and the space's air change; NaN: as described.
    learned : mapping of str to Learned, optional
        What readings taught, by space; see :func:`boat_conditions`.

    Returns
    -------
    SpaceConditions
    """
    wanted = Changed(
        *(
            None if given is None else np.asarray(given, dtype=np.float64)
            for given in (setpoint_c, power_w, air_changes_h)
        )
    )
    only, changed = [space.name], {space.name: wanted}
    found = boat_conditions(
        boat, forecast, readings, now, only=only, changed=changed, learned=learned
    )
    return found[space.name]


def boat_conditions(
    boat: Boat,
    forecast: Forecast,
    readings: Iterable[Reading],
    now: datetime,
    *,
    only: Iterable[str] | None = None,
    changed: Mapping[str, Changed] | None = None,
    learned: Mapping[str, Learned] | None = None,
) -> dict[str, SpaceConditions]:
    """Conditions in all spaces of a boat, or in some and those that lie against them.

    Parameters
    ----------
    boat, forecast, readings, now
        As for :func:`space_conditions`.
    only : iterable of str, optional
        Names of the spaces wanted.
    changed : mapping of str to Changed, optional
        Heating and air otherwise than described, by space.
    learned : mapping of str to Learned, optional
        Fitted values, by space (:func:`curewindow.conditions.learned_in` reads those the
        owner kept); left aside where the description has changed since.

    Returns
    -------
    dict of str to SpaceConditions

    Notes
    -----
    Spaces with a panel between them are worked out twice: first with the outside air
    behind those not worked out yet (the colder guess), then with what the first round
    found there. Air through open doors is left out.
    """
    known = list(readings)
    around = weather_around(boat.place, forecast, now)
    spaces = _needed(boat, [s.name for s in boat.space] if only is None else list(only))
    otherwise = changed or {}
    courses: dict[str, _Course] = {}
    logged_only = {
        space.name: logged_conditions(space, forecast, around, known, now)
        for space in spaces
        if space.logged_only
    }
    for name, conditions in logged_only.items():
        courses[name] = _Course.of_logged(conditions, around)
    modelled = [
        (space, with_learned(space, describe(space), learned or {}, now))
        for space in spaces
        if not space.logged_only
    ]
    rounds = 2 if any(neighbours(boat, space) for space, _ in modelled) else 1
    for _ in range(rounds):
        for space, described in modelled:
            beside = {
                other.name: courses[other.name].air_c
                if other.name in courses
                else around.outside.temp_c
                for other in neighbours(boat, space)
            }
            wanted = otherwise.get(space.name, Changed())
            result = _run(boat, space, described, around, beside, wanted)
            own = readings_of(known, space.name, now)
            courses[space.name] = _draw(space, around, beside, result, own)
    found = dict(logged_only)
    for space, described in modelled:
        found[space.name] = _handed_on(
            space, described, forecast, around, courses[space.name], known, now
        )
    return found


def _needed(boat: Boat, names: list[str]) -> list[Space]:
    """The spaces of these names and all that lie against them, in the boat's order."""
    reached = list(names)
    for name in reached:
        space = boat.find_space(name)
        if space is not None and not space.logged_only:
            reached += [o.name for o in neighbours(boat, space) if o.name not in reached]
    return [space for space in boat.space if space.name in reached]


@dataclass(frozen=True, slots=True, eq=False)
class _Course:
    """What a space goes through on the grid with its run-up."""

    air_c: FloatArray
    dew_point_c: FloatArray
    mass_c: FloatArray
    surface_c: dict[str, FloatArray]
    heat_w: FloatArray

    @staticmethod
    def of_logged(conditions: SpaceConditions, around: WeatherAround) -> _Course:
        """As a neighbour: outside air where nothing is known of it."""
        outside = around.outside.temp_c
        air = outside.copy()
        logged = conditions.air_c
        air[:, around.run_up :] = np.where(np.isfinite(logged), logged, outside[:, around.run_up :])
        return _Course(air, air, air, {}, air)


def _run(
    boat: Boat,
    space: Space,
    described: Described,
    around: WeatherAround,
    neighbour_c: dict[str, FloatArray],
    wanted: Changed,
) -> Run:
    outside: Outside = around.seen_from(neighbour_c)
    shape = outside.temp_c.shape
    routine = setpoints_c(space.heating, boat, around.times)
    setpoint = np.broadcast_to(routine, shape).copy()
    if wanted.setpoint_c is not None:
        setpoint[:, around.run_up :] = wanted.setpoint_c
    power = behind_run_up(wanted.power_w, described.power_w, shape, around.run_up)
    air = behind_run_up(wanted.air_changes_h, described.model.air_changes_h, shape, around.run_up)

    def run() -> SpaceResult:
        return run_space(
            described, outside, around.step_h, setpoint, power_w=power, air_changes_h=air
        )

    return kept_or_run(described, outside, around.step_h, (setpoint, power, air), run)


def _draw(
    space: Space,
    around: WeatherAround,
    beside: Mapping[str, FloatArray],
    result: Run,
    readings: list[Reading],
) -> _Course:
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
    return _Course(air, np.minimum(dew, air), mass, surfaces, result.heat_w)


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


def _handed_on(
    space: Space,
    described: Described,
    forecast: Forecast,
    around: WeatherAround,
    course: _Course,
    readings: list[Reading],
    now: datetime,
) -> SpaceConditions:
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
            (around.water_note if in_water else "",),
            described.notes,
            (_readings_note(space.name, logged, now),),
        ),
    )


def _readings_note(space: str, logged: Logged, now: datetime) -> str:
    if not logged.at.size:
        return f"no reading from the {space}: its conditions are worked out, not measured"
    age_h = float(hours_since(np.atleast_1d(utc64(now)), logged.at[-1])[0])
    if age_h <= CLOSE_H:
        return ""
    age = f"{age_h:.0f} h" if age_h < 48.0 else f"{age_h / 24.0:.0f} days"
    return f"the last reading from the {space} is {age} old: worked out since then"
