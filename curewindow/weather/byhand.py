"""Weather written down by hand: highs, lows and dew points of the days ahead, or readings.

``weather.toml`` in the boat folder, for who has no network aboard but heard the
forecast on the radio::

    written = 2026-12-01T08:00:00+01:00

    [[day]]
    date = 2026-12-01
    low = "2 °C"
    high = "6 °C"
    dew_point = "1 °C"     # left out: the low (FAO Paper 56, eq. 48, from memory)
    rain = "0 mm"          # of the day; wind and cloud likewise if known

or, where not even that is known, a few readings from outdoors, and the same weather
goes on (:mod:`curewindow.weather.persistence`)::

    [[reading]]
    at = 2026-12-01T08:00:00+01:00
    temperature = "3 °C"
    humidity = "90 %"      # or dew_point

A CSV has the days only: date,low_c,high_c and if known dew_point_c, wind_ms,
rain_mm, cloud_pct. Both come with members (:mod:`curewindow.weather.spread`) whose
spread grows with the hours since they were written, and with a note.
"""

from __future__ import annotations

import csv
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from pydantic import AwareDatetime, Field, ValidationError

from curewindow.boat.hours import sun_altitude
from curewindow.boat.schema import Place
from curewindow.errors import BoatError, CsvError
from curewindow.findings import finding
from curewindow.handwritten import FileModel, parse_file
from curewindow.physics.air import saturation_pressure
from curewindow.quantity import Length, Percent, Temperature, WindSpeed
from curewindow.weather.dailycourse import daily_course, day_bounds
from curewindow.weather.errormodel import ErrorModel
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, TimeArray, utc_of
from curewindow.weather.persistence import OutdoorAir, same_weather
from curewindow.weather.rows import estimated_sun
from curewindow.weather.spread import with_members

IntArray = NDArray[np.int64]

FILE = "weather.toml"
TYPED = ErrorModel(now_k=1.6, per_h_k=0.02, most_k=5.0)
"""A typed day is wrong as any forecast is, and its course between low and high too (estimate)."""
_SLACK = timedelta(hours=1)
_CSV_COLUMNS = ("date", "low_c", "high_c", "dew_point_c", "wind_ms", "rain_mm", "cloud_pct")


class DayAhead(FileModel):
    """One day."""

    date: date
    low: Temperature
    high: Temperature
    dew_point: Temperature | None = Field(None, description="left out: the low")
    wind: WindSpeed | None = None
    rain: Length | None = Field(None, description="depth of the whole day, such as '3 mm'")
    cloud: Percent | None = None


class OutdoorReading(FileModel):
    """One reading from outdoors."""

    at: AwareDatetime
    temperature: Temperature
    humidity: Percent | None = None
    dew_point: Temperature | None = None


class HandWeather(FileModel):
    """weather.toml."""

    written: AwareDatetime | None = Field(None, description="when; else the first day's beginning")
    day: list[DayAhead] = Field(default_factory=list)
    reading: list[OutdoorReading] = Field(default_factory=list)


def read_by_hand(path: Path, now: datetime, *, place: Place) -> Forecast:
    """Read weather written down by hand.

    Parameters
    ----------
    path : Path
        ``.toml``, or ``.csv`` with days.
    now : datetime
        Aware.
    place : Place
        Its coordinates and time zone give sunrise and the days.

    Returns
    -------
    Forecast
        With members; notes say that it is by hand.

    Raises
    ------
    InputFileError
        File, key and what would be right.
    """
    hand = (
        _from_csv(path)
        if path.suffix.lower() == ".csv"
        else parse_file(path, HandWeather, BoatError)
    )
    if bool(hand.day) == bool(hand.reading):
        what = "both [[day]] and [[reading]]; keep one kind" if hand.day else "no [[day]] yet"
        raise BoatError(f"has {what}", file=path)
    if hand.written is not None and hand.written > now + _SLACK:
        raise BoatError(
            f"is {hand.written.isoformat()}, which is still to come", file=path, key="written"
        )
    if hand.reading:
        return _from_readings(hand, path, now)
    return _from_days(hand, path, now, place)


def _from_days(hand: HandWeather, path: Path, now: datetime, place: Place) -> Forecast:
    days = sorted(hand.day, key=lambda day: day.date)
    for i, day in enumerate(days):
        if day.low > day.high:
            raise BoatError(
                f"the low, {day.low:g} °C, is above the high, {day.high:g} °C",
                file=path,
                key=f"day of {day.date}",
            )
        dew = day.low if day.dew_point is None else day.dew_point
        if dew > day.high + 0.5:
            raise BoatError(
                f"the dew point, {dew:g} °C, is above the high, {day.high:g} °C",
                file=path,
                key=f"day of {day.date}",
            )
        if i and day.date == days[i - 1].date:
            raise BoatError(f"there are two days of {day.date}", file=path, key="day")
    if (days[-1].date - days[0].date).days > 60:
        raise BoatError("the days run over more than 60 days", file=path, key="day")
    dates = [day.date for day in days]
    low, high = (np.array([getattr(day, name) for day in days]) for name in ("low", "high"))
    times, temp_c, gap_h = daily_course(place, dates, low, high)
    known = np.isfinite(temp_c)
    dew_c = _through_the_days(
        times, place, dates, [d.low if d.dew_point is None else d.dew_point for d in days]
    )
    full = saturation_pressure(temp_c)
    vapour_pa = np.where(known, np.minimum(saturation_pressure(dew_c), full), np.nan)
    each = _by_day(times, place, dates)
    wind, cloud = (_held(each, days, name) for name in ("wind", "cloud"))
    cloud = cloud / 100.0
    rain_m = _held(each, days, "rain")
    hours = np.array([(b - a) / np.timedelta64(3600, "s") for a, b in _bounds(place, dates)])
    rain = np.where(each >= 0, rain_m * 1000.0 / hours[np.maximum(each, 0)], np.nan)
    sun = estimated_sun(cloud, sun_altitude(place.latitude, place.longitude, times))
    written = hand.written
    since = written or utc_of(times[0])
    age = None if written is None else max((now - written).total_seconds() / 3600.0, 0.0)
    notes = [finding("weather by hand", service=path.name, hours=age)]
    if any(day.dew_point is None for day in days):
        notes.append(finding("dew point by low"))
    if np.isnan(rain[known]).any():
        notes.append(finding("rain not written"))
    forecast = Forecast(
        times=times,
        temp_c=temp_c[None],
        vapour_pa=vapour_pa[None],
        wind_ms=wind[None],
        rain_mm_h=rain[None],
        cloud_frac=cloud[None],
        sun_w_m2=sun[None],
        gap_h=gap_h,
        source=f"by hand ({path.name})",
        attribution="",
        issued_at=written.astimezone(UTC) if written else None,
        fetched_at=min(since, now).astimezone(UTC),
        notes=tuple(notes),
    )
    # The course between the extremes is in the error already, not once more by its gaps.
    spread = with_members(replace(forecast, gap_h=np.ones(times.size)), since, model=TYPED)
    return replace(spread, gap_h=gap_h)


def _from_readings(hand: HandWeather, path: Path, now: datetime) -> Forecast:
    readings = []
    for number, reading in enumerate(hand.reading, start=1):
        key = f"reading[{number}]"
        if (reading.humidity is None) == (reading.dew_point is None):
            raise BoatError("needs 'humidity' or 'dew_point', one of them", file=path, key=key)
        if reading.at > now + _SLACK:
            raise BoatError(
                f"{reading.at.isoformat()} is still to come", file=path, key=f"{key}.at"
            )
        full = float(saturation_pressure(reading.temperature))
        if reading.dew_point is not None:
            vapour_pa = min(float(saturation_pressure(reading.dew_point)), full)
        else:
            vapour_pa = min(max(reading.humidity or 0.0, 1.0) / 100.0, 1.0) * full
        readings.append(OutdoorAir(reading.at, reading.temperature, vapour_pa))
    try:
        forecast = same_weather(readings, now)
    except ValueError as bad:
        raise BoatError(str(bad), file=path, key="reading") from None
    return replace(forecast, source=f"by hand ({path.name})")


def _from_csv(path: Path) -> HandWeather:
    try:
        lines = path.read_bytes().decode("utf-8-sig").splitlines()
    except FileNotFoundError:
        raise CsvError("there is no such file", file=path) from None
    except UnicodeDecodeError as bad:
        raise CsvError(f"not UTF-8 text (byte {bad.start}); save it as UTF-8", file=path) from None
    except OSError as bad:
        raise CsvError(f"cannot be read: {bad.strerror}", file=path) from None
    table = csv.DictReader(line for line in lines if line.strip() and line.lstrip()[0] != "#")
    names = table.fieldnames or []
    unknown = [name for name in names if name not in _CSV_COLUMNS]
    if unknown or not set(_CSV_COLUMNS[:3]) <= set(names):
        raise CsvError(
            f"its first line must name date, low_c, high_c and no others than "
            f"{', '.join(_CSV_COLUMNS[3:])}" + (f"; not '{unknown[0]}'" if unknown else ""),
            file=path,
        )
    units = {"low_c": "°C", "high_c": "°C", "dew_point_c": "°C", "wind_ms": "m/s"}
    units |= {"rain_mm": "mm", "cloud_pct": "%"}
    days = []
    for number, row in enumerate(table, start=1):
        if None in row or None in row.values():
            raise CsvError("has not as many cells as names", file=path, key=f"day {number}")
        cells = {
            name.rsplit("_", 1)[0]: f"{cell.strip()} {units[name]}" if name in units else cell
            for name, cell in row.items()
            if cell.strip()
        }
        try:
            days.append(DayAhead.model_validate(cells))
        except ValidationError as bad:
            first = bad.errors()[0]
            where = ".".join(str(part) for part in first["loc"])
            raise CsvError(first["msg"], file=path, key=f"day {number}: {where}") from None
    if not days:
        raise CsvError("has no rows under its heading", file=path)
    return HandWeather(day=days)


def _bounds(place: Place, days: list[date]) -> list[tuple[np.datetime64, np.datetime64]]:
    return [day_bounds(day, place.time_zone) for day in days]


def _by_day(times: TimeArray, place: Place, days: list[date]) -> IntArray:
    """Which of the days each instant is in, -1 for none."""
    each = np.full(times.size, -1, dtype=np.int64)
    for i, (begin, end) in enumerate(_bounds(place, days)):
        each[(times >= begin) & (times <= end)] = i
    return each


def _held(each: IntArray, days: list[DayAhead], name: str) -> FloatArray:
    values = np.array([np.nan if getattr(d, name) is None else getattr(d, name) for d in days])
    return np.where(each >= 0, values[np.maximum(each, 0)], np.nan)


def _through_the_days(
    times: TimeArray, place: Place, days: list[date], values: list[float]
) -> FloatArray:
    """A straight line from the middle of one day to that of the next, held at the ends."""
    middle = [(a + (b - a) / 2).astype(np.int64) for a, b in _bounds(place, days)]
    return np.asarray(np.interp(times.astype(np.int64), np.array(middle), np.array(values)))
