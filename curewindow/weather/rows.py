"""What a feed or file said, row by row, and how it becomes a Forecast."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.hours import sun_altitude
from curewindow.boat.schema import Place
from curewindow.errors import WeatherError
from curewindow.findings import Finding, finding
from curewindow.physics.air import saturation_pressure
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import (
    STEP_S,
    FloatArray,
    Gridded,
    Point,
    RateSpans,
    TimeArray,
    to_grid,
    utc_of,
)

HOUR_S = 3600

# Beyond anything measured where boats lie (WMO archive of extremes, rounded
# outwards): a value outside is a fault of the source and counts as missing.
PLAUSIBLE: dict[str, tuple[float, float]] = {
    "temp_c": (-70.0, 60.0),
    "dew_point_c": (-80.0, 40.0),
    "rh_pct": (0.5, 105.0),
    "wind_ms": (0.0, 120.0),
    "rain_mm_h": (0.0, 420.0),
    "cloud_frac": (0.0, 1.0),
    "sun_w_m2": (0.0, 1600.0),
}
_WORDS = {
    "temp_c": "temperature",
    "vapour_pa": "humidity",
    "wind_ms": "wind",
    "rain_mm_h": "rain",
    "cloud_frac": "cloud",
    "sun_w_m2": "sunshine",
}


@dataclass(frozen=True, slots=True)
class Rows:
    """Source rows before they are brought onto the grid.

    Attributes
    ----------
    times : ndarray of datetime64[s], shape (N,)
        UTC, in any order.
    columns : dict
        Point or Span by the names of a Forecast's fields; those the source does
        not have are left out.
    issued_at : datetime or None
        When the service made it.
    notes : tuple of Finding
        What has to be said about it.
    between : tuple of two ndarray, shape (N,)
        10th and 90th percentile of temperature, °C, where the source gives them.
    """

    times: TimeArray
    columns: dict[str, Point | RateSpans]
    issued_at: datetime | None = None
    notes: tuple[Finding, ...] = field(default=())
    between: tuple[FloatArray, FloatArray] = (np.array([]), np.array([]))


def plausible(name: str, values: FloatArray) -> FloatArray:
    """The values, NaN where they are beyond anything measured."""
    low, high = PLAUSIBLE[name]
    # A comparison with NaN is False, so what is missing stays missing.
    return np.where((values >= low) & (values <= high), values, np.nan)


def number_of(value: Any) -> float:
    """A JSON value as a float: null is NaN.

    Raises
    ------
    WeatherError
        It is no number; text that looks like one is not taken for one.
    """
    if value is None:
        return np.nan
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise WeatherError(f"{str(value)[:20]!r} is no number")
    try:
        return float(value)
    except OverflowError:
        return np.inf  # no weather; left out with whatever is not plausible


def odd_values(
    raw: dict[str, FloatArray], kept: dict[str, Point | RateSpans]
) -> tuple[Finding, ...]:
    """A note for each quantity of which values beyond anything measured were left out."""
    notes = []
    for name, values in raw.items():
        column = kept.get(name)
        if column is not None:
            count = int((~np.isnan(values) & ~np.isfinite(column.values)).sum())
            if count:
                notes.append(finding("values left out", count=count, thing=_WORDS[name]))
    return tuple(notes)


def checked_times(times: TimeArray, longest_days: float = 400.0) -> TimeArray:
    """The times, if they can be the times of weather.

    Raises
    ------
    WeatherError
        Fewer than two different ones, beyond the years 1900 to 2100, or more than
        `longest_days` apart: a fault that would otherwise fill the memory.
    """
    seconds = times.astype("datetime64[s]")
    if seconds.size < 2 or seconds.min() == seconds.max():
        raise WeatherError("there are fewer than two different times")
    first, last = seconds.min(), seconds.max()
    if first < np.datetime64("1900-01-01") or last > np.datetime64("2100-01-01"):
        raise WeatherError(f"the times run from {first} to {last}")
    if (last - first) / np.timedelta64(1, "D") > longest_days:
        raise WeatherError(f"the times run over more than {longest_days:g} days")
    return seconds


def vapour_of(
    temp_c: FloatArray, dew_point_c: FloatArray | None = None, rh_pct: FloatArray | None = None
) -> FloatArray:
    """Vapour pressure from the dew point or, where it is missing, the relative humidity.

    Parameters
    ----------
    temp_c : ndarray
        Air temperature, °C.
    dew_point_c : ndarray, optional
        Dew point over water, °C.
    rh_pct : ndarray, optional
        Relative humidity over water at all temperatures, % (the WMO convention).

    Returns
    -------
    ndarray
        Vapour pressure, Pa, at most that of saturation: a service rounds
        temperature and dew point apart, and can so seem to be above it.
    """
    full_pa = saturation_pressure(plausible("temp_c", temp_c))
    vapour_pa = np.full(temp_c.shape, np.nan)
    if dew_point_c is not None:
        vapour_pa = saturation_pressure(plausible("dew_point_c", dew_point_c))
    if rh_pct is not None:
        by_rh = plausible("rh_pct", rh_pct) / 100.0 * full_pa
        vapour_pa = np.where(np.isnan(vapour_pa), by_rh, vapour_pa)
    capped: FloatArray = np.minimum(vapour_pa, full_pa)
    return capped


def to_forecast(
    rows: Rows,
    *,
    source: str,
    attribution: str,
    fetched_at: datetime,
    place: Place | None = None,
    step_s: int = STEP_S,
) -> Forecast:
    """Bring rows onto the grid and say what is missing.

    Parameters
    ----------
    rows : Rows
        What the source said.
    source, attribution : str
        For people.
    fetched_at : datetime
        When it was got, aware.
    place : Place, optional
        With it, sunshine the source does not have is estimated from the cloud.
    step_s : int
        Grid step.

    Returns
    -------
    Forecast

    Raises
    ------
    WeatherError
        Fewer than two grid points with temperature.

    Notes
    -----
    Between two saturated rows the straight line of vapour pressure runs a little
    above saturation (that is how mixing fog forms); the surplus is droplets, not
    vapour, and the air keeps its saturation pressure.
    """
    if rows.times.size == 0:
        raise WeatherError(f"{source}: no rows of weather")
    grid = to_grid(rows.times, rows.columns, step_s=step_s)
    known = np.isfinite(grid.columns["temp_c"]).any(axis=0)
    if int(known.sum()) < 2:
        raise WeatherError(f"{source}: no temperatures to work with")
    ends = np.flatnonzero(known)
    grid = _cut(grid, int(ends[0]), int(ends[-1]) + 1)
    columns = grid.columns
    members = columns["temp_c"].shape[0]
    shape = (members, grid.times.size)
    notes = list(rows.notes)
    temp_c = columns["temp_c"]
    vapour_pa = np.minimum(_of(columns, "vapour_pa", shape), saturation_pressure(temp_c))
    cloud = _of(columns, "cloud_frac", shape)
    sun = _of(columns, "sun_w_m2", shape)
    if place is not None and not np.isfinite(sun).any() and np.isfinite(cloud).any():
        sun = estimated_sun(cloud, sun_altitude(place.latitude, place.longitude, grid.times))
        notes.append(finding("sun estimated"))
    fields = {
        "temp_c": temp_c,
        "vapour_pa": vapour_pa,
        "wind_ms": _of(columns, "wind_ms", shape),
        "rain_mm_h": _of(columns, "rain_mm_h", shape),
        "cloud_frac": cloud,
        "sun_w_m2": sun,
    }
    absent = [_WORDS[name] for name, values in fields.items() if not np.isfinite(values).any()]
    if absent:
        notes.append(finding("weather lacks", service=source, names=tuple(absent)))
    whole: NDArray[np.bool_] = np.all(np.isfinite(temp_c + vapour_pa), axis=0)
    notes += _holes(grid.times, whole, absent)
    gap_h = grid.gap_h["temp_c"]
    if "vapour_pa" in grid.gap_h and "humidity" not in absent:
        gap_h = np.maximum(gap_h, grid.gap_h["vapour_pa"])
    return Forecast(
        times=grid.times,
        **fields,
        gap_h=gap_h,
        source=source,
        attribution=attribution,
        issued_at=rows.issued_at,
        fetched_at=fetched_at.astimezone(UTC),
        spread=None,
        trust=None,
        taken_as_made=None,
        notes=tuple(notes),
    )


def estimated_sun(cloud_frac: FloatArray, altitude_deg: FloatArray) -> FloatArray:
    """Global horizontal sunshine from cloud cover and the sun's altitude, W/m².

    Kasten and Czeplak, Solar Energy 24 (1980) 177-189: 910 sin(h) - 30 under a
    clear sky, and of it 1 - 0.75 n^3.4 under the cloud fraction n. Fitted to hourly
    values; single hours scatter widely about it.
    """
    clear = np.maximum(0.0, 910.0 * np.sin(np.radians(altitude_deg)) - 30.0)
    return np.asarray(clear * (1.0 - 0.75 * cloud_frac**3.4))


def _of(columns: dict[str, FloatArray], name: str, shape: tuple[int, int]) -> FloatArray:
    values = columns.get(name)
    return np.full(shape, np.nan) if values is None else np.array(np.broadcast_to(values, shape))


def _cut(grid: Gridded, first: int, stop: int) -> Gridded:
    return Gridded(
        grid.times[first:stop],
        {name: values[:, first:stop] for name, values in grid.columns.items()},
        {name: values[first:stop] for name, values in grid.gap_h.items()},
    )


def _holes(times: TimeArray, known: NDArray[np.bool_], absent: list[str]) -> list[Finding]:
    """One note for each of the first holes in temperature or humidity, one for the rest."""
    if "humidity" in absent:
        return []
    edge = np.flatnonzero(np.diff(np.concatenate(([True], known, [True])).astype(np.int8)))
    begins, ends = edge[::2], edge[1::2]
    step_h = float((times[1] - times[0]) / np.timedelta64(HOUR_S, "s"))
    said = [
        finding("weather hole", begins=utc_of(times[b]), hours=float((e - b) * step_h))
        for b, e in zip(begins, ends, strict=True)
    ]
    if len(said) <= 3:
        return said
    return [*said[:2], finding("more weather holes", count=len(said) - 2)]
