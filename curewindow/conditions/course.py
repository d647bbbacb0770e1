"""Conditions in a space over time: what the surfaces in it are read off from."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime

import numpy as np
from numpy.typing import NDArray

from curewindow.conditions.aired import ActingOn
from curewindow.conditions.draw import LoggedValues
from curewindow.findings import Finding
from curewindow.series import BoolArray, FloatArray
from curewindow.weather.forecast import Forecast

_SECOND = np.timedelta64(1, "s")


@dataclass(frozen=True, slots=True, eq=False)
class SpaceConditions:
    """Conditions in one space, past and to come, on the forecast's grid.

    Attributes
    ----------
    space : str
        Its name.
    times : ndarray of datetime64[s], shape (T,)
        UTC grid.
    air_c, rh_pct, dew_point_c : ndarray, shape (M, T)
        Air temperature, humidity and dew point over water. NaN: unknown.
    mass_c : ndarray, shape (M, T)
        Joinery and stores, which lag behind the air.
    surface_c : mapping of str to ndarray, shape (M, T)
        Inner surface of each panel by its name.
    heat_w : ndarray, shape (M, T)
        Heat the heater gives, held to the next point; NaN where readings alone are
        the basis.
    measured : ndarray of bool, shape (T,)
        True where readings carry the air's values.
    lead_h : ndarray, shape (T,)
        Hours since the last thing known for certain.
    notes : tuple of str
        What has to be said with any advice from it.
    lying_kg_m2, frost_kg_m2 : mapping of str to ndarray, shape (M, T)
        Water that lies on each panel by its name, frost included, and how much of it is
        frost, as the balance books it: worked out, never read. Empty where readings alone
        are the basis.
    acting : ActingOn or None
        What acted on it; None where readings alone are the basis.
    """

    space: str
    times: NDArray[np.datetime64]
    air_c: FloatArray
    rh_pct: FloatArray
    dew_point_c: FloatArray
    mass_c: FloatArray
    surface_c: Mapping[str, FloatArray]
    heat_w: FloatArray
    measured: BoolArray
    lead_h: FloatArray
    notes: tuple[Finding, ...]
    lying_kg_m2: Mapping[str, FloatArray] = field(default_factory=dict)
    frost_kg_m2: Mapping[str, FloatArray] = field(default_factory=dict)
    acting: ActingOn | None = None


def utc64(moment: datetime) -> np.datetime64:
    """An aware moment as the grid has it."""
    return np.datetime64(moment.astimezone(UTC).replace(tzinfo=None), "s")


def hours_since(times: NDArray[np.datetime64], start: np.datetime64) -> FloatArray:
    """Hours from a moment to each instant."""
    return np.asarray((times - start) / _SECOND / 3600.0, dtype=np.float64)


def lead_hours(forecast: Forecast, now: datetime, logged: LoggedValues | None = None) -> FloatArray:
    """Hours since the last thing known for certain, shape (T,).

    Counted from the making of the forecast, from the latest reading where that is
    later, and never from after ``now``. Where the weather's own values lie more than
    an hour apart the surplus is added: less is known in between.
    """
    since = utc64(min(forecast.made, now))
    if logged is not None and logged.at.size:
        since = max(since, logged.at[-1])
    lead = np.maximum(hours_since(forecast.times, since), 0.0)
    ahead = forecast.times > utc64(now)
    return lead + np.where(ahead, np.maximum(np.nan_to_num(forecast.gap_h) - 1.0, 0.0), 0.0)


def joined_notes(*groups: Iterable[Finding | None]) -> tuple[Finding, ...]:
    """All notes in order, each once; None is dropped."""
    found = (note for group in groups for note in group if note is not None)
    return tuple(dict.fromkeys(found))
