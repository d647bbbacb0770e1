"""EnergyPlus Weather files: a measured or a typical year, hour by hour.

Format: EnergyPlus, Auxiliary Programs, "EnergyPlus Weather File (EPW) Data
Dictionary". Eight heading lines, then one row an hour. Times are local standard
time (no summer time), LOCATION says how far from UTC. Hour 1 ends at 01:00:
instants (temperature, dew point, wind, cloud) belong to the end of the hour,
sunshine and rain to the hour before it. A field at or above its missing marker is
missing.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from curewindow.errors import InputFileError
from curewindow.weather.grid import FloatArray, Point, RateSpans, TimeArray
from curewindow.weather.rows import HOUR_S, Rows, checked_times, plausible, vapour_of

IntArray = NDArray[np.int64]
_HEADINGS = 8
_FEWEST_FIELDS = 22

# Field (counted from 0) and missing marker, from the data dictionary.
_FIELDS: dict[str, tuple[int, float]] = {
    "temp_c": (6, 99.9),
    "dew_point_c": (7, 99.9),
    "rh_pct": (8, 999.0),
    "sun_wh_m2": (13, 9999.0),
    "wind_ms": (21, 999.0),
    "cloud_tenths": (22, 99.0),
    "rain_mm": (33, 999.0),
    "rain_h": (34, 99.0),
}


@dataclass(frozen=True, slots=True)
class EpwYear:
    """An EPW file's rows, still in the years they were measured in.

    Attributes
    ----------
    place : str
        City and country of LOCATION.
    latitude, longitude, utc_offset_h : float
        Of LOCATION.
    year, month, day : ndarray of int, shape (N,)
        Local standard date of each row.
    second : ndarray of int, shape (N,)
        End of the row's hour (or part of one), seconds from local 00:00, to 86400.
    step_s : int
        Length of a row.
    values : dict of ndarray, shape (N,)
        NaN where missing.
    """

    place: str
    latitude: float
    longitude: float
    utc_offset_h: float
    year: IntArray
    month: IntArray
    day: IntArray
    second: IntArray
    step_s: int
    values: dict[str, FloatArray]

    @property
    def one_year(self) -> int | None:
        """The year the rows were measured in; None for a typical year put together of several."""
        return int(self.year[0]) if (self.year == self.year[0]).all() else None


def read_epw(path: Path) -> EpwYear:
    """Read an EPW file.

    Raises
    ------
    InputFileError
        With the line and what is wrong.
    """
    try:
        text = path.read_bytes().decode("utf-8", errors="replace")
    except FileNotFoundError:
        raise InputFileError("there is no such file", file=path) from None
    except OSError as bad:
        raise InputFileError(f"cannot be read: {bad.strerror}", file=path) from None
    try:
        lines = list(csv.reader(text.splitlines()))
    except csv.Error as bad:
        raise InputFileError(f"not an EnergyPlus weather file: {bad}", file=path) from None
    place, latitude, longitude, offset_h, per_hour = _heading(path, lines)
    rows = [row for row in lines[_HEADINGS:] if row]
    if not rows:
        raise InputFileError("has a heading but no rows", file=path)
    dates = np.empty((len(rows), 5), dtype=np.int64)
    values = {name: np.full(len(rows), np.nan) for name in _FIELDS}
    for i, row in enumerate(rows):
        where = f"line {_HEADINGS + 1 + i}"
        if len(row) < _FEWEST_FIELDS:
            raise InputFileError(f"has {len(row)} fields; an EPW row has 35", file=path, key=where)
        try:
            dates[i] = [int(float(cell)) for cell in row[:5]]
        except (ValueError, OverflowError):
            raise InputFileError("its date is not in numbers", file=path, key=where) from None
        if not (1 <= dates[i, 1] <= 12 and 1 <= dates[i, 2] <= 31 and 1 <= dates[i, 3] <= 24):
            raise InputFileError(
                f"month, day, hour {dates[i, 1:4].tolist()}: a month is 1-12, a day 1-31, "
                "an hour 1-24",
                file=path,
                key=where,
            )
        for name, (at, missing) in _FIELDS.items():
            cell = row[at].strip() if at < len(row) else ""
            if not cell:
                continue
            try:
                value = float(cell)
            except ValueError:
                raise InputFileError(
                    f"field {at + 1} '{cell}' is not a number", file=path, key=where
                ) from None
            if value < missing:
                values[name][i] = value
    step_s = HOUR_S // per_hour
    minute = dates[:, 4] if per_hour > 1 else np.full(len(rows), 60)
    return EpwYear(
        place,
        latitude,
        longitude,
        offset_h,
        dates[:, 0],
        dates[:, 1],
        dates[:, 2],
        (dates[:, 3] - 1) * HOUR_S + np.where(minute == 0, 60, minute) * 60,
        step_s,
        values,
    )


def utc_times(file: EpwYear, year: int | None = None) -> TimeArray:
    """UTC end of each row, shape (N,); NaT for 29 February laid on a year without one.

    Parameters
    ----------
    file : EpwYear
        The rows.
    year : int, optional
        Lay the rows on this year instead of their own.
    """
    years = file.year if year is None else np.full(file.year.shape, year)
    month = (years - 1970) * 12 + file.month - 1
    midnight = month.astype("datetime64[M]").astype("datetime64[D]") + (file.day - 1)
    real = midnight.astype("datetime64[M]").astype(np.int64) == month
    offset_s = round(file.utc_offset_h * HOUR_S)
    since_midnight = (file.second - offset_s).astype("timedelta64[s]")
    times: TimeArray = midnight.astype("datetime64[s]") + since_midnight
    times[~real] = np.datetime64("NaT", "s")
    return times


def laid_on(file: EpwYear, begin: np.datetime64, end: np.datetime64) -> Rows:
    """The rows laid year after year over a stretch of time.

    Parameters
    ----------
    file : EpwYear
        A year's rows.
    begin, end : datetime64
        UTC.

    Returns
    -------
    Rows
        In a leap year, where the file has no 29 February, the 28th stands in.
    """
    first = int(str(begin.astype("datetime64[Y]"))) - 1
    last = int(str(end.astype("datetime64[Y]"))) + 1
    has_leap_day = bool(((file.month == 2) & (file.day == 29)).any())
    index: list[IntArray] = []
    times: list[TimeArray] = []
    for year in range(first, last + 1):
        laid = utc_times(file, year)
        real = np.flatnonzero(~np.isnat(laid))
        index.append(real)
        times.append(laid[real])
        leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
        if leap and not has_leap_day:
            day_before = np.flatnonzero((file.month == 2) & (file.day == 28))
            index.append(day_before)
            times.append(laid[day_before] + np.timedelta64(1, "D"))
    at = np.concatenate(times)
    row = np.concatenate(index)
    inside = (at >= begin) & (at <= end)
    return _rows(file, at[inside], row[inside])


def as_measured(file: EpwYear) -> Rows:
    """The rows in the year they were measured in.

    Raises
    ------
    WeatherError
        Dates that cannot be those of weather.
    """
    times = utc_times(file)
    real = np.flatnonzero(~np.isnat(times))
    return _rows(file, checked_times(times[real]), real)


def _rows(file: EpwYear, times: TimeArray, index: IntArray) -> Rows:
    got = {name: values[index] for name, values in file.values.items()}
    temp_c = plausible("temp_c", got["temp_c"])
    # Depth fell over rain_h hours; where that is missing or 0, over the row's own length.
    rain_h = np.where(got["rain_h"] > 0.0, got["rain_h"], file.step_s / HOUR_S)
    length = (rain_h * HOUR_S).astype(np.int64)
    half = -(file.step_s // 2)
    sun = got["sun_wh_m2"] * (HOUR_S / file.step_s)  # Wh/m² in a row to its mean W/m²
    columns: dict[str, Point | RateSpans] = {
        "temp_c": Point(temp_c),
        "vapour_pa": Point(vapour_of(temp_c, got["dew_point_c"], got["rh_pct"])),
        "wind_ms": Point(plausible("wind_ms", got["wind_ms"])),
        "rain_mm_h": RateSpans(plausible("rain_mm_h", got["rain_mm"] / rain_h), -length, length),
        "cloud_frac": Point(plausible("cloud_frac", got["cloud_tenths"] / 10.0)),
        "sun_w_m2": Point(plausible("sun_w_m2", sun), half),
    }
    return Rows(times, columns)


def _heading(path: Path, lines: list[list[str]]) -> tuple[str, float, float, float, int]:
    if not lines or not lines[0] or lines[0][0].strip().upper() != "LOCATION":
        raise InputFileError(
            "not an EnergyPlus weather file: it does not begin with LOCATION",
            file=path,
            key="line 1",
        )
    location = [cell.strip() for cell in lines[0]]
    try:
        latitude, longitude, offset_h = (float(cell) for cell in location[6:9])
    except ValueError:
        raise InputFileError(
            "LOCATION needs latitude, longitude and hours from UTC in fields 7 to 9",
            file=path,
            key="line 1",
        ) from None
    per_hour = 1
    for number, line in enumerate(lines[:_HEADINGS], start=1):
        if line and line[0].strip().upper() == "DATA PERIODS" and len(line) > 2:
            try:
                per_hour = int(line[2])
            except ValueError:
                per_hour = 0
            if per_hour < 1 or 60 % per_hour:
                raise InputFileError(
                    f"DATA PERIODS has '{line[2]}' rows an hour",
                    file=path,
                    key=f"line {number}",
                )
    place = ", ".join(cell for cell in (location[1], location[3]) if cell and cell != "-")
    return place, latitude, longitude, offset_h, per_hour
