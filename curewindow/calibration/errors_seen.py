"""How far forecasts were off, by days ahead: against analyses, and against readings outdoors."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from curewindow.boat.checks import OUTDOORS
from curewindow.conditions.draw import LoggedValues, logged_air, logged_dew_point
from curewindow.physics.air import dew_point_from_pressure
from curewindow.record.entries import Reading
from curewindow.series import FloatArray
from curewindow.weather.grid import TimeArray
from curewindow.weather.kept_forecasts import KeptForecast

Against = Literal["analysis", "readings"]
DAYS = 16
_OWN_H = 7.0
"""Nearer hours are not held against an analysis that may be this very forecast."""
_LEAST_PA = 2.0


@dataclass(frozen=True, slots=True)
class LeadError:
    """How far off at so many days ahead: forecast less what was seen.

    Attributes
    ----------
    against : {'analysis', 'readings'}
    day : int
        0 for the first 24 hours.
    hours : int
        Hours (or readings) compared.
    temp_bias_k, temp_spread_k, dew_bias_k, dew_spread_k : float
        Mean and standard deviation of the error.
    members_spread_k : float
        Mean standard deviation of the members' temperature; NaN where there is one. As
        large as the error's where members say what they do not know.
    """

    against: Against
    day: int
    hours: int
    temp_bias_k: float
    temp_spread_k: float
    dew_bias_k: float
    dew_spread_k: float
    members_spread_k: float


@dataclass(slots=True)
class _Sums:
    temp: list[FloatArray] = field(default_factory=list)
    dew: list[FloatArray] = field(default_factory=list)
    spread: list[FloatArray] = field(default_factory=list)


def lead_errors(
    forecasts: Iterable[KeptForecast],
    hours: TimeArray,
    seen: dict[str, FloatArray],
    readings: Sequence[Reading],
) -> list[LeadError]:
    """Hold kept forecasts against what was seen.

    Parameters
    ----------
    forecasts : iterable of KeptForecast
    hours, seen
        From :func:`curewindow.calibration.seen.seen_hours`.
    readings : sequence of Reading
        Those outdoors are taken; bad ones left out before.
    """
    outdoors = [reading for reading in readings if reading.space == OUTDOORS]
    air, dew = logged_air(outdoors), logged_dew_point(outdoors)
    seen_dew = np.asarray(dew_point_from_pressure(np.maximum(seen["vapour_pa"], _LEAST_PA)))
    analysis = LoggedValues(hours, seen["temp_c"]), LoggedValues(hours, seen_dew)
    sums: dict[tuple[Against, int], _Sums] = {}
    for kept in forecasts:
        _add(sums, "analysis", kept, *analysis, _OWN_H)
        _add(sums, "readings", kept, air, dew, 0.0)
    return [_lead_error(key, sums[key]) for key in sorted(sums)]


def _add(
    sums: dict[tuple[Against, int], _Sums],
    against: Against,
    kept: KeptForecast,
    air: LoggedValues,
    dew: LoggedValues,
    from_h: float,
) -> None:
    made = np.datetime64(kept.made_at.replace(tzinfo=None), "s")
    begin, end = kept.hours.times[0], kept.hours.times[-1]
    inside = (air.at >= begin) & (air.at <= end)
    at = air.at[inside]
    lead_h = (at - made) / np.timedelta64(1, "s") / 3600.0
    inside[inside] = lead_h >= from_h
    at, lead_h = air.at[inside], lead_h[lead_h >= from_h]
    if not at.size:
        return
    columns = kept.hours.columns
    off = interpolated(kept, columns["temp_c"].mean(axis=0), at) - air.value[inside]
    # Where a reading has no humidity there is no dew point of that instant.
    read_dew = np.full(at.size, np.nan)
    place = np.searchsorted(dew.at, at)
    there = place < dew.at.size
    there[there] = dew.at[place[there]] == at[there]
    read_dew[there] = dew.value[place[there]]
    off_dew = interpolated(kept, columns["dew_point_c"].mean(axis=0), at) - read_dew
    many = columns["temp_c"].shape[0] > 1
    spread = (
        columns["temp_c"].std(axis=0, ddof=1) if many else np.full(kept.hours.times.size, np.nan)
    )
    spread = interpolated(kept, spread, at)
    day = np.minimum(np.floor(lead_h / 24.0), DAYS).astype(np.int64)
    for number in np.unique(day):
        rows = sums.setdefault((against, int(number)), _Sums())
        mask = (day == number) & np.isfinite(off)
        rows.temp.append(off[mask])
        rows.dew.append(off_dew[mask])
        rows.spread.append(spread[mask])


def interpolated(kept: KeptForecast, values: FloatArray, at: TimeArray) -> FloatArray:
    """A kept column at instants between its hours, by straight lines."""
    seconds = kept.hours.times.astype(np.int64).astype(np.float64)
    return np.interp(at.astype("datetime64[s]").astype(np.int64), seconds, values)


def _lead_error(key: tuple[Against, int], rows: _Sums) -> LeadError:
    temp, dew, spread = (np.concatenate(r) for r in (rows.temp, rows.dew, rows.spread))
    dew, spread = dew[np.isfinite(dew)], spread[np.isfinite(spread)]

    def mean(values: FloatArray) -> float:
        return float(values.mean()) if values.size else float("nan")

    def deviation(values: FloatArray) -> float:
        return float(values.std(ddof=1)) if values.size > 1 else float("nan")

    return LeadError(
        against=key[0],
        day=key[1],
        hours=int(temp.size),
        temp_bias_k=mean(temp),
        temp_spread_k=deviation(temp),
        dew_bias_k=mean(dew),
        dew_spread_k=deviation(dew),
        members_spread_k=mean(spread),
    )
