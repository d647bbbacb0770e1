"""Which weather: the feed or file the boat's description names.

'auto' asks Open-Meteo first and MET Norway second, everywhere. Open-Meteo gives
past hours, dew point and sunshine, which the clocks of the coats and outdoor
surfaces need, and in northern Europe works with MET Norway's own model. Where
the first does not answer a fresh answer of the second is better than an old one
of the first; where neither answers the younger of the kept ones is used.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np

from curewindow.boat.schema import Boat, Place, WeatherChoice
from curewindow.errors import BoatError, WeatherError
from curewindow.weather import metnorway, openmeteo
from curewindow.weather.cache import Cache, cache_folder
from curewindow.weather.forecast import Forecast

FEEDS: dict[str, Callable[[Place, WeatherChoice, Cache, datetime], Forecast]] = {
    "open-meteo": openmeteo.fetch,
    "met-norway": metnorway.fetch,
}
AUTO_ORDER = ("open-meteo", "met-norway")


def get_forecast(
    boat: Boat,
    folder: Path,
    now: datetime,
    *,
    cache_dir: Path | None = None,
    refresh: bool = False,
    offline: bool = False,
) -> Forecast:
    """The weather outside for a boat.

    Parameters
    ----------
    boat : Boat
        Its place and choice of weather.
    folder : Path
        The boat folder; a weather file is named relative to it.
    now : datetime
        The moment it is (or is pretended to be), aware.
    cache_dir : Path, optional
        Where answers are kept; else CUREWINDOW_CACHE, else the platform's own folder.
    refresh : bool
        Ask again, unless the service itself said nothing new comes yet.
    offline : bool
        Make no request.

    Returns
    -------
    Forecast

    Raises
    ------
    WeatherError
        No weather to be had, or none after `now`.
    InputFileError
        A weather file is named and cannot be used.
    ValueError
        `now` is not aware.
    """
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    feed = boat.weather.feed
    if feed == "file":
        forecast = _from_file(boat, folder, now)
    else:
        cache = Cache(cache_folder(cache_dir), refresh=refresh, offline=offline)
        if feed == "auto":
            forecast = _first_answer(boat, cache, now)
        else:
            forecast = FEEDS[feed](boat.place, boat.weather, cache, now)
    if forecast.times[-1] <= np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s"):
        raise WeatherError(
            f"the weather from {forecast.source} ends at {_minute(forecast.times[-1])}; "
            f"nothing is known after {now.astimezone(UTC):%Y-%m-%d %H:%M}Z"
        )
    return forecast


def _from_file(boat: Boat, folder: Path, now: datetime) -> Forecast:
    from curewindow.weather.files import read_weather_file

    if not boat.weather.file:
        raise BoatError(
            "is missing: with feed = 'file' it names an .epw or .csv file",
            file=folder / "boat.toml",
            key="weather.file",
        )
    return read_weather_file(folder / boat.weather.file, now, place=boat.place)


def _first_answer(boat: Boat, cache: Cache, now: datetime) -> Forecast:
    failures: list[str] = []
    for name in AUTO_ORDER:
        try:
            forecast = FEEDS[name](boat.place, boat.weather, replace(cache, stale_ok=False), now)
        except WeatherError as bad:
            failures.append(str(bad))
            continue
        if failures and not cache.offline:
            return replace(forecast, notes=(*forecast.notes, *failures))
        return forecast
    kept: list[Forecast] = []
    for name in AUTO_ORDER:
        try:
            kept.append(FEEDS[name](boat.place, boat.weather, replace(cache, offline=True), now))
        except WeatherError:
            continue  # its reason is in failures
    if not kept:
        raise WeatherError("; ".join(failures))
    return max(kept, key=lambda forecast: forecast.fetched_at)


def _minute(moment: np.datetime64) -> str:
    return str(moment.astype("datetime64[m]")).replace("T", " ") + "Z"
