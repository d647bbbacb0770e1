"""A space as it stands at a moment, made ready to be heated."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime

import numpy as np

from curewindow.boat.schema import Boat, Space
from curewindow.conditions.course import SpaceConditions, utc64
from curewindow.conditions.drying import DryingCoat, given_off_kg_h
from curewindow.conditions.model import Described, describe, neighbours
from curewindow.conditions.routine import (
    held_notes,
    out_notes,
    out_of_order,
    setpoints_c,
    vents_open,
)
from curewindow.conditions.run import run_space
from curewindow.conditions.weather_around import WeatherAround, weather_around
from curewindow.heating.room import AsItStands, Room, sliced
from curewindow.physics.balance import Outside, SpaceState, corrected
from curewindow.rules.unattended import may_be_alight
from curewindow.rules.unflued import unflued_for
from curewindow.series import FloatArray
from curewindow.weather.forecast import Forecast


def room_from(
    boat: Boat,
    space: Space,
    forecast: Forecast,
    conditions: Mapping[str, SpaceConditions],
    now: datetime,
    described: Described | None = None,
    drying: Sequence[DryingCoat] = (),
) -> Room:
    """Make a space ready to be heated from a moment on.

    Parameters
    ----------
    boat : Boat
    space : Space
        Described, not known by its readings alone.
    forecast : Forecast
    conditions : dict of str to SpaceConditions
        As things stand, on the forecast's grid: of the space and of those behind its panels.
    now : datetime
        Aware, within the forecast.
    described : Described, optional
        The space as a model, if it is not just what boat.toml says.
    drying : sequence of DryingCoat
        Coats on there that still give off water.

    Returns
    -------
    Room
        The space run by its routine through the weather so far, then moved onto the air
        and humidity its conditions have at that moment: what was read counts.

    Raises
    ------
    ValueError
        A space without description, or ``now`` outside the forecast.
    """
    described = describe(space) if described is None else described
    around = weather_around(boat.place, forecast, now)
    first = int(np.searchsorted(forecast.times, utc64(now), side="right")) - 1
    if first < 0 or first > len(forecast.times) - 2:
        raise ValueError("the weather does not reach from now on")
    outside = around.seen_from(_beside(boat, space, conditions, around))
    routine = setpoints_c(space.heating, boat, around.times)
    here = around.run_up + first
    moisture = described.moisture_kg_h + given_off_kg_h(drying, around.times)
    state = _state_at(space, described, around, outside, routine, moisture, here)
    own = conditions[space.name]
    air, humidity = own.air_c[:, first], own.rh_pct[:, first]
    if np.isfinite(air).all() and np.isfinite(humidity).all():
        state = corrected(described.model, state, air, humidity)
    cut = slice(here, None)
    vents = vents_open(space.heating, around.times)
    room = Room(
        space=space,
        model=described.model,
        times=around.times[cut],
        first=first,
        step_h=around.step_h,
        outside=sliced(outside, cut),
        unknown=around.unknown[:, first:],
        start=state,
        routine_c=routine[cut],
        out_of_order=out_of_order(space.heating, boat, around.times)[cut],
        power_w=described.power_w,
        moisture_kg_h=moisture[cut] if drying else described.moisture_kg_h,
        notes=(
            *filter(None, (described.assumed,)),
            *described.notes,
            *out_notes(space, boat, now),
            *held_notes(space, now),
        ),
        heater=described.heater,
        dehumidifier=described.dehumidifier if described.drying else None,
        may_run=may_be_alight(boat, space, around.times[cut]),
        unflued=unflued_for(boat, space) is not None,
        rows=np.arange(around.unknown.shape[0]),
        stands=AsItStands(),
        vents=None if vents is None else vents[cut],
    )
    assert room.stands is not None
    room.stands.room = room
    return room


def _beside(
    boat: Boat, space: Space, conditions: Mapping[str, SpaceConditions], around: WeatherAround
) -> dict[str, FloatArray]:
    """Air behind panels to other spaces; outside air where nothing is known of it."""
    beside = {}
    for other in neighbours(boat, space):
        course = around.outside.temp_c.copy()
        air = conditions[other.name].air_c if other.name in conditions else None
        if air is not None:
            tail = course[:, around.run_up :]
            course[:, around.run_up :] = np.where(np.isfinite(air), air, tail)
        beside[other.name] = course
    return beside


def _state_at(
    space: Space,
    described: Described,
    around: WeatherAround,
    outside: Outside,
    routine: FloatArray,
    moisture_kg_h: FloatArray,
    here: int,
) -> SpaceState:
    cut = slice(0, here + 2)
    vents = vents_open(space.heating, around.times)
    own = None if vents is None else (described.model.air_changes_h * vents)[cut]
    result = run_space(
        described,
        sliced(outside, cut),
        around.step_h,
        routine[cut],
        moisture_kg_h=moisture_kg_h[cut],
        air_changes_h=own,
    )
    return result.state_at(here)
