"""A space run through past weather, for many candidate values at once."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.schema import Boat, Space
from curewindow.conditions import boat_conditions
from curewindow.conditions.course import utc64
from curewindow.conditions.learned import Learned
from curewindow.conditions.model import Described, describe, neighbours
from curewindow.conditions.routine import setpoints_c, vents_open
from curewindow.conditions.run import run_space
from curewindow.conditions.weather_around import weather_around
from curewindow.fitting.unknowns import (
    NETWORK_KEYS,
    Unknown,
    described_with,
    unknowns_of,
    values_at,
)
from curewindow.physics.balance import Outside
from curewindow.record.entries import Reading
from curewindow.series import BoolArray, FloatArray
from curewindow.weather.forecast import Forecast

STEP_H = 0.5
"""Grid of the fit. Inputs are linear between points, so little is lost but where the heater
has just been lit or gone out; there readings count for less."""
BEFORE_H = 72.0
"""Past weather used before the first reading, where it is known."""
AFTER_H = 36.0
"""Weather to come, in which the next reading may be taken."""


@dataclass(frozen=True, slots=True, eq=False)
class Courses:
    """What candidates lead to: air_c, dew_point_c (K, T); surface_c (P, K, T)."""

    air_c: FloatArray
    dew_point_c: FloatArray
    surface_c: FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Cabin:
    """A space, its weather and its unknowns.

    Attributes
    ----------
    space : Space
    described : Described
        As boat.toml has it.
    unknowns : tuple of Unknown
    times : ndarray of datetime64[s], shape (T,)
        Grid, run-up included.
    step_h : float
    outside : Outside
        Arrays (1, T).
    setpoint_c : ndarray, shape (T,)
        The heater's routine, and what the log says of it; NaN: off.
    vents : ndarray, shape (T,), or float
        Air change against the described one, where the log has the vents otherwise.
    known : ndarray of bool, shape (T,)
        False in the run-up made up of the first day, and where the weather has holes.
    """

    space: Space
    described: Described
    unknowns: tuple[Unknown, ...]
    times: NDArray[np.datetime64]
    step_h: float
    outside: Outside
    setpoint_c: FloatArray
    known: BoolArray
    vents: FloatArray | float = 1.0

    def courses(self, places: FloatArray) -> Courses:
        """Run candidates, those of one network side by side.

        Parameters
        ----------
        places : ndarray, shape (K, P)
            In spreads from the medians.
        """
        values = [values_at(self.unknowns, place) for place in places]
        groups: dict[tuple[float, ...], list[int]] = {}
        for index, value in enumerate(values):
            network = tuple(value[key] for key in NETWORK_KEYS)
            groups.setdefault(network, []).append(index)
        count = self.times.size
        air, dew = np.empty((len(values), count)), np.empty((len(values), count))
        surface = np.empty((len(self.space.panel), len(values), count))
        for members in groups.values():
            own = [described_with(self.described, values[i]) for i in members]
            result = run_space(
                own[0],
                self.outside,
                self.step_h,
                self.setpoint_c[None],
                power_w=np.array([[d.power_w] for d in own]),
                moisture_kg_h=np.array([[d.moisture_kg_h] for d in own]),
                air_changes_h=np.array([[d.model.air_changes_h] for d in own]) * self.vents,
            )
            air[members], dew[members] = result.air_c, result.dew_point_c
            surface[:, members] = result.surface_c
        return Courses(air, dew, surface)


def cabin_for(
    boat: Boat,
    space: Space,
    forecast: Forecast,
    readings: list[Reading],
    now: datetime,
    since: datetime,
    learned: Mapping[str, Learned],
) -> Cabin:
    """Prepare a space and its weather for a fit.

    Parameters
    ----------
    boat, space
        A described space.
    forecast : Forecast
        With past weather.
    readings : list of Reading
        All there are, for the spaces beside it.
    now : datetime
        Aware.
    since : datetime
        The first reading to be used.
    learned : mapping of str to Learned
        For the spaces beside it.
    """
    cut = _coarse(_one(forecast), since - timedelta(hours=BEFORE_H), now)
    around = weather_around(boat.place, cut, now)
    beside = [other.name for other in neighbours(boat, space)]
    found = (
        boat_conditions(boat, cut, readings, now, only=beside, learned=learned) if beside else {}
    )
    # The run-up goes through the first day over and over, as the weather does.
    period = max(min(round(24.0 / around.step_h), cut.times.size), 1)
    lead_in = np.concatenate([np.arange(-around.run_up, 0) % period, np.arange(cut.times.size)])
    warmth: dict[str, FloatArray] = {}
    for name in beside:
        inside = found[name].air_c[:, lead_in]
        warmth[name] = np.where(np.isfinite(inside), inside, around.outside.temp_c)
    known = np.concatenate([np.zeros(around.run_up, np.bool_), ~around.unknown[0]])
    described = describe(space)
    vents = vents_open(space.heating, around.times)
    return Cabin(
        space=space,
        described=described,
        unknowns=unknowns_of(space, described),
        times=around.times,
        step_h=around.step_h,
        outside=around.seen_from(warmth),
        setpoint_c=setpoints_c(space.heating, boat, around.times),
        known=known,
        vents=1.0 if vents is None else vents,
    )


_FIELDS = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")


def _one(forecast: Forecast) -> Forecast:
    """The mean of the members: of the past they tell the same."""
    if forecast.members == 1:
        return forecast
    means = {name: getattr(forecast, name).mean(axis=0, keepdims=True) for name in _FIELDS}
    return replace(forecast, **means)


def _coarse(forecast: Forecast, begin: datetime, now: datetime) -> Forecast:
    """The stretch that matters, on the grid of the fit where it divides into it."""
    every = max(round(STEP_H / forecast.step_h), 1)
    # Full steps of the day, so that routines set by the clock fall on points.
    seconds = forecast.times.astype("datetime64[s]").astype(np.int64)
    step_s = round(forecast.step_h * 3600.0) * every
    first = int(np.argmax(seconds % step_s == 0)) if np.any(seconds % step_s == 0) else 0
    picked = np.arange(first, forecast.times.size, every)
    at = forecast.times[picked]
    inside = (at >= utc64(begin)) & (at <= utc64(now + timedelta(hours=AFTER_H)))
    picked = picked[inside]
    return replace(
        forecast,
        times=forecast.times[picked],
        gap_h=forecast.gap_h[picked],
        **{name: getattr(forecast, name)[:, picked] for name in _FIELDS},
    )
