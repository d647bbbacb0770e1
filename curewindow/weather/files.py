"""Weather from a file instead of a feed: our own CSV, or an EnergyPlus weather year."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.boat.schema import Place
from curewindow.errors import InputFileError, WeatherError
from curewindow.findings import finding
from curewindow.weather.csvfile import read_csv
from curewindow.weather.epw import as_measured, laid_on, read_epw
from curewindow.weather.forecast import Forecast
from curewindow.weather.rows import Rows, to_forecast

BEFORE = timedelta(days=30)
AHEAD = timedelta(days=14)
_RUNS_EVERY_H = 6  # 00, 06, 12 and 18 UTC: the usual hours of global models


def read_weather_file(path: Path, now: datetime, *, place: Place | None = None) -> Forecast:
    """Read a weather file by its ending.

    Parameters
    ----------
    path : Path
        ``.csv`` (see :mod:`curewindow.weather.csvfile`) or ``.epw``.
    now : datetime
        Aware. An EPW year that does not cover it is laid on the calendar around
        it, and the forecast's notes say so: that is usual weather, not a forecast.
    place : Place, optional
        With it, sunshine the file does not have is estimated from the cloud.

    Returns
    -------
    Forecast

    Raises
    ------
    InputFileError
        The file cannot be used: line, and what would be right.
    """
    ending = path.suffix.lower()
    if ending not in (".csv", ".epw"):
        raise InputFileError(
            f"ending '{path.suffix}' is not known; a weather file is .csv or .epw", file=path
        )
    try:
        rows, attribution = (read_csv(path), "") if ending == ".csv" else _epw(path, now)
        forecast = to_forecast(
            rows, source=path.name, attribution=attribution, fetched_at=now, place=place
        )
    except WeatherError as bad:
        raise InputFileError(str(bad), file=path) from None
    return replace(forecast, taken_as_made=_last_run(now))


def _last_run(now: datetime) -> datetime:
    """The last time before now at which weather services make a forecast; a file tells none."""
    day = now.astimezone(UTC).replace(minute=0, second=0, microsecond=0)
    return day - timedelta(hours=day.hour % _RUNS_EVERY_H)


def _epw(path: Path, now: datetime) -> tuple[Rows, str]:
    file = read_epw(path)
    moment = now.astimezone(UTC).replace(tzinfo=None)
    attribution = f"EnergyPlus weather file of {file.place}"
    if file.one_year is not None:
        measured = as_measured(file)
        if measured.times.min() <= np.datetime64(moment) < measured.times.max():
            return measured, attribution
    rows = laid_on(
        file,
        np.datetime64(moment - BEFORE, "s"),
        np.datetime64(moment + AHEAD, "s"),
    )
    note = finding(
        "usual weather", service=path.name, year=str(file.one_year) if file.one_year else None
    )
    return Rows(rows.times, rows.columns, None, (note,)), attribution
