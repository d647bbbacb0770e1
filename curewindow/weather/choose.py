"""Which weather: the feed or file the boat's description names.

'auto' asks Open-Meteo first, everywhere: it gives past hours, dew point and
sunshine, which the clocks of the coats and outdoor surfaces need, and in northern
Europe works with MET Norway's own model. Second comes in the United States the
National Weather Service, whose offices look after their grids by hand, and last MET
Norway. Where the first does not answer a fresh answer of another is better than an
old one of the first; where none answers the youngest of the kept ones is used.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, datetime
from importlib import import_module
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.schema import Boat, Place, WeatherChoice
from curewindow.errors import BoatError, WeatherError
from curewindow.findings import Finding, finding
from curewindow.weather.cache import Cache, cache_folder
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import utc_of
from curewindow.weather.local import as_known_here

Feed = Callable[[Place, WeatherChoice, Cache, datetime], Forecast]

# Module and function: loaded when asked, as nobody asks all of them.
_FEEDS: Final = {
    "open-meteo": ("openmeteo", "fetch"),
    "open-meteo-ensemble": ("ensemble", "fetch"),
    "met-norway": ("metnorway", "fetch"),
    "met-norway-spread": ("metnorway", "fetch_members"),
    "nws": ("nws", "fetch"),
}


def _feed(name: str) -> Feed:
    module, function = _FEEDS[name]
    found: Feed = getattr(import_module(f"curewindow.weather.{module}"), function)
    return found


# South, north, west and east of where the National Weather Service has grids, with
# some of the neighbours: there it says so and the next feed is asked.
_UNITED_STATES = (
    (24.0, 49.5, -125.5, -66.0),
    (51.0, 72.0, -180.0, -129.0),
    (51.0, 54.0, 172.0, 180.0),
    (18.0, 23.0, -161.0, -154.0),
    (17.5, 18.8, -68.0, -64.3),
    (13.0, 21.0, 144.0, 146.5),
)


def auto_order(place: Place) -> tuple[str, ...]:
    """The feeds 'auto' asks for a place, first to last."""
    here = any(
        south <= place.latitude <= north and west <= place.longitude <= east
        for south, north, west, east in _UNITED_STATES
    )
    return ("open-meteo", "nws", "met-norway") if here else ("open-meteo", "met-norway")


# A later beginning than this is said, and nothing is planned over it; feeds begin at the
# present hour.
_BEGINS_LATE = np.timedelta64(2, "h")
# Weather that begins this long after the moment asked about is not that moment's weather.
_TOO_LATE = np.timedelta64(16 * 24, "h")


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
    elif feed == "by-hand":
        from curewindow.weather.byhand import FILE, read_by_hand

        forecast = read_by_hand(folder / (boat.weather.file or FILE), now, place=boat.place)
    else:
        cache = Cache(cache_folder(cache_dir), refresh=refresh, offline=offline)
        if feed == "auto":
            forecast = _first_answer(boat, cache, now)
        else:
            forecast = _feed(feed)(boat.place, boat.weather, cache, now)
    zone = ZoneInfo(boat.place.time_zone)
    _raise_unless_covered(forecast, now, zone)
    moment = np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s")
    if forecast.times[0] - moment > _BEGINS_LATE:
        note = finding("weather begins late", at=utc_of(forecast.times[0]))
        forecast = replace(forecast, notes=(*forecast.notes, note))
    return as_known_here(boat, folder, forecast, now)


def _raise_unless_covered(forecast: Forecast, now: datetime, zone: ZoneInfo) -> None:
    """A moment before or after all that is known has no day sheet."""
    if forecast.times[-1] <= np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s"):
        raise WeatherError(
            f"the weather from {forecast.source} ends {_minute(forecast.times[-1], zone)}, "
            f"asked about {now.astimezone(zone):%Y-%m-%d %H:%M}: nothing is known of it; ask "
            "before then, or give weather of that time"
        )
    _raise_if_later(forecast, now, zone, _TOO_LATE)


def raise_unless_begun(forecast: Forecast, at: datetime, until: datetime, zone: ZoneInfo) -> None:
    """What is to be said of the hours from one moment to another wants weather of them.

    Parameters
    ----------
    forecast : Forecast
    at, until : datetime
        Aware.
    zone : ZoneInfo
        The boat's.

    Raises
    ------
    WeatherError
        The weather begins hours after the one, or not before the other.
    """
    _raise_if_later(forecast, at, zone, min(_BEGINS_LATE, np.timedelta64(until - at, "s")))


def _raise_if_later(forecast: Forecast, at: datetime, zone: ZoneInfo, by: np.timedelta64) -> None:
    if forecast.times[0] >= np.datetime64(at.astimezone(UTC).replace(tzinfo=None), "s") + by:
        raise WeatherError(
            f"the weather from {forecast.source} begins {_minute(forecast.times[0], zone)}, "
            f"asked about {at.astimezone(zone):%Y-%m-%d %H:%M}: nothing is known of it; ask from "
            "then on, or give weather of that time"
        )


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
    failures: list[WeatherError] = []
    for name in auto_order(boat.place):
        try:
            forecast = _feed(name)(boat.place, boat.weather, replace(cache, stale_ok=False), now)
        except WeatherError as bad:
            failures.append(bad)
            continue
        if failures and not cache.offline:
            return replace(forecast, notes=(*forecast.notes, *map(_without, failures)))
        return forecast
    kept: list[Forecast] = []
    for name in auto_order(boat.place):
        try:
            kept.append(_feed(name)(boat.place, boat.weather, replace(cache, offline=True), now))
        except WeatherError:
            continue  # its reason is in failures
    if not kept:
        from curewindow.weather.ask import NoForecastError

        unreached = [bad.unreached for bad in failures if isinstance(bad, NoForecastError)]
        if len(unreached) == len(failures) and all(unreached):
            raise WeatherError(
                f"no weather: no service can be reached ({unreached[0]}) and no earlier "
                "forecast is kept; try again with a network, or give boat.toml a weather file "
                "(feed = 'file')"
            )
        raise WeatherError("; ".join(map(str, failures)))
    return max(kept, key=lambda forecast: forecast.fetched_at)


def _without(failure: WeatherError) -> Finding:
    return finding("service without forecast", note=str(failure))


def _minute(moment: np.datetime64, zone: ZoneInfo) -> str:
    return f"{utc_of(moment).astimezone(zone):%Y-%m-%d %H:%M}"
