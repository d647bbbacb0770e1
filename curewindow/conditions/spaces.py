"""Conditions in described spaces: the balance run through the weather, drawn to the readings."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from datetime import datetime

import numpy as np
import numpy.typing as npt

from curewindow.boat.schema import Boat, Space
from curewindow.conditions.aired import ActingOn
from curewindow.conditions.changed import Changed, behind_run_up
from curewindow.conditions.course import (
    SpaceConditions,
)
from curewindow.conditions.doors import (
    Air,
    Opening,
    airflows,
    behind_doors,
    door_notes,
    doorways,
    joined,
    openings,
)
from curewindow.conditions.draw import (
    readings_of,
)
from curewindow.conditions.drying import DryingCoat, given_off_kg_h
from curewindow.conditions.handed import SpaceCourse, air_of, draw, handed_on
from curewindow.conditions.inputs import Inputs
from curewindow.conditions.kept import BalanceRun
from curewindow.conditions.learned import Learned, with_learned
from curewindow.conditions.logged import logged_conditions
from curewindow.conditions.model import Described, describe, neighbours
from curewindow.conditions.routine import (
    charges_w,
    held_notes,
    out_notes,
    out_of_order,
    setpoints_c,
    vents_open,
)
from curewindow.conditions.weather_around import WeatherAround, weather_around
from curewindow.physics.balance import Outside
from curewindow.record.entries import Reading
from curewindow.series import FloatArray
from curewindow.weather.forecast import Forecast


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
    drying: Mapping[str, Sequence[DryingCoat]] | None = None,
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
    drying : mapping of str to sequence of DryingCoat, optional
        Coats that give off water, by space.

    Returns
    -------
    SpaceConditions
    """
    setpoint, power, air = (
        None if given is None else np.asarray(given, dtype=np.float64)
        for given in (setpoint_c, power_w, air_changes_h)
    )
    wanted = Changed(setpoint, power, air)
    only, changed = [space.name], {space.name: wanted}
    found = boat_conditions(
        boat, forecast, readings, now, only=only, changed=changed, learned=learned, drying=drying
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
    drying: Mapping[str, Sequence[DryingCoat]] | None = None,
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
    drying : mapping of str to sequence of DryingCoat, optional
        Coats that give off water, by space
        (:func:`curewindow.conditions.drying_coats` finds those of the record).

    Returns
    -------
    dict of str to SpaceConditions

    Notes
    -----
    Spaces with a panel between them are worked out twice: first with the outside air
    behind those not worked out yet (the colder guess), then with what the first round
    found there. Those with an open door between them are worked out together
    (:mod:`curewindow.conditions.doors`). One member of the weather is run with the heat
    of dew and frost; several are run without it, a tenth of a degree or so on the cold
    side, and frost is what lies on a panel below 0 °C.
    """
    known = list(readings)
    around = weather_around(boat.place, forecast, now)
    otherwise = changed or {}
    shape = around.outside.temp_c.shape
    doors = openings(boat, otherwise, (shape[0], shape[1]), around.run_up)
    wanted = [s.name for s in boat.space] if only is None else list(only)
    spaces = _needed(boat, wanted, doors)
    courses: dict[str, SpaceCourse] = {}
    logged_only = {
        space.name: logged_conditions(space, forecast, around, known, now)
        for space in spaces
        if space.logged_only
    }
    for name, conditions in logged_only.items():
        courses[name] = SpaceCourse.of_logged(conditions, around)
    fixed = {name: air_of(courses[name]) for name in logged_only}
    modelled = {
        space.name: (space, with_learned(space, describe(space), learned or {}, now))
        for space in spaces
        if not space.logged_only
    }
    groups = joined(list(modelled), doors)
    # What lies only behind a door is run in the turns alone.
    told = {space.name for space in _needed(boat, wanted, [])}
    rounds = 2 if any(neighbours(boat, space) for space, _ in modelled.values()) else 1
    acting: dict[str, ActingOn] = {}
    for _ in range(rounds):
        for group in groups:
            inputs, beside = {}, {}
            for name in group:
                space, described = modelled[name]
                beside[name] = {
                    other.name: courses[other.name].air_c
                    if other.name in courses
                    else around.outside.temp_c
                    for other in neighbours(boat, space)
                }
                wet = given_off_kg_h((drying or {}).get(name, ()), around.times)
                change = otherwise.get(name, Changed())
                inputs[name] = _inputs(boat, space, described, around, beside[name], change, wet)
                acting[name] = ActingOn.of(inputs[name], around.run_up)
            for name, result in _runs(group, inputs, fixed, doors, told).items():
                own = readings_of(known, name, now)
                courses[name] = draw(modelled[name][0], around, beside[name], result, own)
    found = dict(logged_only)
    for name, (space, described) in modelled.items():
        if name in told:
            more = (
                *door_notes(space, boat, doors),
                *out_notes(space, boat, now),
                *held_notes(space, now),
            )
            noted = replace(described, notes=(*described.notes, *more))
            found[name] = handed_on(
                space, noted, forecast, around, courses[name], known, now, acting[name]
            )
    return found


def _runs(
    group: list[str],
    inputs: dict[str, Inputs],
    fixed: dict[str, Air],
    doors: list[Opening],
    told: set[str],
) -> dict[str, BalanceRun]:
    """Runs of those spaces that are to be told, of a group between which air goes."""
    own = [door for door in doors if door.between & set(group)]
    if not own:
        return {name: inputs[name].kept_run() for name in group}
    air = {**fixed, **behind_doors(group, inputs, fixed, own)}
    flows = airflows(air, own)
    found = {}
    for name in group:
        if name not in told:
            continue
        rows, points = air[name].temp_c.shape
        ways = doorways(name, air, own, flows, (rows, points))
        found[name] = inputs[name].kept_run(ways)
        air[name] = Air.of(found[name])
    return found


def _needed(boat: Boat, names: list[str], doors: list[Opening]) -> list[Space]:
    """The spaces of these names and all whose air or warmth reaches them, in the boat's order."""
    reached = list(names)
    for name in reached:
        space = boat.find_space(name)
        if space is not None and not space.logged_only:
            near = [other.name for other in neighbours(boat, space)]
            near += [door.other(name) for door in doors if name in door.between]
            reached += [other for other in near if other not in reached]
    return [space for space in boat.space if space.name in reached]


def _inputs(
    boat: Boat,
    space: Space,
    described: Described,
    around: WeatherAround,
    neighbour_c: dict[str, FloatArray],
    wanted: Changed,
    wet_kg_h: FloatArray,
) -> Inputs:
    """All that acts on a space, on the grid with its run-up."""
    outside: Outside = around.seen_from(neighbour_c)
    rows, points = outside.temp_c.shape
    shape, run_up = (rows, points), around.run_up
    routine = setpoints_c(space.heating, boat, around.times)
    setpoint = np.broadcast_to(routine, shape).copy()
    if wanted.setpoint_c is not None:
        setpoint[:, run_up:] = wanted.setpoint_c
    broken = out_of_order(space.heating, boat, around.times)
    own_air: FloatArray | float = described.model.air_changes_h
    air = wanted.air_changes_h
    vents = vents_open(space.heating, around.times)
    if vents is not None:
        own_air = own_air * vents
        air = np.array(np.nan) if air is None else air
    setpoint[:, broken] = np.nan
    if wanted.dehumidifier is not None:
        described = replace(described, dehumidifier=wanted.dehumidifier)
    moisture = described.moisture_kg_h + wet_kg_h[None]
    more = behind_run_up(wanted.moisture_kg_h, 0.0, shape, run_up)
    return Inputs(
        described=described,
        outside=outside,
        step_h=around.step_h,
        setpoint_c=setpoint,
        moisture_kg_h=moisture if more is None else moisture + more,
        gains_w=np.where(broken, 0.0, charges_w(space.heating, boat, around.times))[None],
        power_w=behind_run_up(wanted.power_w, described.power_w, shape, run_up),
        air_changes_h=behind_run_up(air, own_air, shape, run_up),
        drying=behind_run_up(wanted.drying, float(described.drying), shape, run_up),
    )
