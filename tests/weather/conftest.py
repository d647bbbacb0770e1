"""How feeds fail: ways to spoil a good answer, and what holds of every forecast all the same."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from curewindow.boat.schema import Boat
from curewindow.errors import WeatherError
from curewindow.physics.air import saturation_pressure
from curewindow.weather.forecast import Forecast

NOW = datetime(2025, 1, 7, 8, 20, tzinfo=UTC)
LATER = NOW + timedelta(hours=3)
FEEDS = ("open-meteo", "open-meteo-ensemble", "met-norway", "nws")
TIMEOUT_S = 0.15
Body = dict[str, Any]


def boat(base: str, feed: str, **where: Any) -> Boat:
    place = {"latitude": 38.9784, "longitude": -76.4922, "time_zone": "America/New_York"} | where
    weather = {"feed": feed, "base_address": base, "timeout": f"{TIMEOUT_S} s"}
    return Boat.model_validate({"name": "Test", "place": place, "weather": weather})


def path_of(replay_module: Any, feed: str) -> str:
    paths = {
        "open-meteo": replay_module.OPEN_METEO,
        "open-meteo-ensemble": replay_module.ENSEMBLE,
        "met-norway": replay_module.MET_NORWAY,
        "nws": replay_module.NWS_GRID,
    }
    return str(paths[feed])


def body_of(replay_module: Any, feed: str, start: datetime = NOW, **more: Any) -> Body:
    make: dict[str, Callable[..., Body]] = {
        "open-meteo": replay_module.open_meteo_body,
        "open-meteo-ensemble": replay_module.ensemble_body,
        "met-norway": replay_module.met_norway_body,
        "nws": replay_module.nws_grid_body,
    }
    return make[feed](start, **more)


def sound(got: Forecast) -> None:
    """Whatever a feed said, these hold of every forecast handed on."""
    assert (np.diff(got.times) == np.timedelta64(600, "s")).all()
    with np.errstate(invalid="ignore"):
        for values, low, high in (
            (got.temp_c, -70.0, 60.0),
            (got.wind_ms, 0.0, 120.0),
            (got.rain_mm_h, 0.0, 420.0),
            (got.cloud_frac, 0.0, 1.0),
            (got.sun_w_m2, 0.0, 1600.0),
        ):
            assert not ((values < low) | (values > high)).any()
        full = np.asarray(saturation_pressure(got.temp_c))
        assert not (got.vapour_pa > full * (1 + 1e-9)).any()


def one_line(caught: pytest.ExceptionInfo[WeatherError]) -> str:
    text = str(caught.value)
    assert "\n" not in text
    assert len(text) < 500
    assert text.startswith("no forecast from ")
    return text


def put(feed: str, body: Body, row: int, value: Any) -> None:
    """Another temperature in a row (of the control run, where there are members)."""
    if feed.startswith("open-meteo"):
        body["hourly"]["temperature_2m"][row] = value
    elif feed == "met-norway":
        body["properties"]["timeseries"][row]["data"]["instant"]["details"]["air_temperature"] = (
            value
        )
    else:
        body["properties"]["temperature"]["values"][row]["value"] = value


def tables(feed: str, body: Body) -> list[list[Any]]:
    """The lists whose items are rows of one time each."""
    if feed.startswith("open-meteo"):
        return list(body["hourly"].values())
    if feed == "met-norway":
        return [body["properties"]["timeseries"]]
    return [v["values"] for v in body["properties"].values() if isinstance(v, dict)]


def stamps(feed: str, body: Body, change: Callable[[Any], Any]) -> None:
    """Change each row's time."""
    if feed.startswith("open-meteo"):
        body["hourly"]["time"] = [change(t) for t in body["hourly"]["time"]]
        return
    key = "time" if feed == "met-norway" else "validTime"
    for table in tables(feed, body):
        for row in table:
            row[key] = change(row[key])


def unit(feed: str, body: Body, temperature: str, wind: str, rain: str) -> None:
    if feed.startswith("open-meteo"):
        names = ("temperature_2m", "wind_speed_10m", "precipitation")
        table = body["hourly_units"]
    elif feed == "met-norway":
        names = ("air_temperature", "wind_speed", "precipitation_amount")
        table = body["properties"]["meta"]["units"]
    else:
        for name, new in (("temperature", temperature), ("windSpeed", wind)):
            body["properties"][name]["uom"] = new or body["properties"][name]["uom"]
        body["properties"]["quantitativePrecipitation"]["uom"] = rain or "wmoUnit:mm"
        return
    for name, new in zip(names, (temperature, wind, rain), strict=True):
        if new:
            table[name] = new


def all_temps(value: Any) -> Callable[[str, Body], None]:
    def change(feed: str, body: Body) -> None:
        rows = len(tables(feed, body)[0])
        for row in range(rows):
            put(feed, body, row, value)
        for name in list(body.get("hourly", {})):
            if name.startswith("temperature_2m_member"):
                body["hourly"][name] = [value] * rows

    return change


def local_times(feed: str, body: Body) -> None:
    """The zone left off, as an answer in local time would have it."""
    stamps(
        feed,
        body,
        lambda t: (
            "2025-01-07T08:00" if isinstance(t, int) else t.replace("Z", "").replace("+00:00", "")
        ),
    )


def moved(step: timedelta) -> Callable[[str, Body], None]:
    def one(t: Any) -> Any:
        if isinstance(t, int):
            return t + int(step.total_seconds())
        begin, slash, span = t.partition("/")
        return (datetime.fromisoformat(begin) + step).isoformat() + slash + span

    def change(feed: str, body: Body) -> None:
        stamps(feed, body, one)

    return change


def each_table(act: Callable[[list[Any]], None]) -> Callable[[str, Body], None]:
    def change(feed: str, body: Body) -> None:
        for table in tables(feed, body):
            act(table)

    return change


def rearranged(act: Callable[[list[Any]], list[Any]]) -> Callable[[str, Body], None]:
    return each_table(lambda table: table.__setitem__(slice(None), act(table)))


def nulls(*rows: int) -> Callable[[str, Body], None]:
    def change(feed: str, body: Body) -> None:
        for row in rows:
            put(feed, body, row, None)

    return change


def _last_row_cut(feed: str, body: Body) -> None:
    if feed.startswith("open-meteo"):
        body["hourly"]["temperature_2m"].pop()
    elif feed == "met-norway":
        body["properties"]["timeseries"][-1] = {"time": "2025-01-13T0"}
    else:
        body["properties"]["temperature"]["values"][-1] = {"validTime": "2025-01-13T0"}


def _bad_key(feed: str, body: Body) -> None:
    if feed.startswith("open-meteo"):
        body["hourly"]["temperature_2m"] = {"0": 5}
        return
    tables(feed, body)[0][3] = "a row"


def _no_units(feed: str, body: Body) -> None:
    body.pop("hourly_units", None)
    properties = body.get("properties", {})
    properties.get("meta", {}).pop("units", None)
    for layer in properties.values():
        if isinstance(layer, dict):
            layer.pop("uom", None)


REFUSED: dict[str, tuple[Callable[[str, Body], None], str]] = {
    "all temperatures null": (all_temps(None), "no temperatures"),
    "all temperatures 451 °C": (all_temps(451.0), "no temperatures"),
    "the text 'NaN'": (lambda f, b: put(f, b, 3, "NaN"), "'NaN' is no number"),
    "a number as text": (lambda f, b: put(f, b, 3, "5.5"), "'5.5' is no number"),
    "true for a number": (lambda f, b: put(f, b, 3, True), "'True' is no number"),
    "a list for a number": (lambda f, b: put(f, b, 3, [5]), "is no number"),
    "fahrenheit without being asked": (
        lambda f, b: unit(f, b, "°F" if f != "nws" else "wmoUnit:degRa", "", ""),
        "°F|degRa",
    ),
    "wind in knots": (lambda f, b: unit(f, b, "", "kn", ""), "kn"),
    "rain in inches": (lambda f, b: unit(f, b, "", "", "inch"), "inch"),
    "units left out": (_no_units, "units|'None'"),
    "times as local": (local_times, "UNIX|zone|no start"),
    "times in milliseconds": (
        lambda f, b: stamps(f, b, lambda t: t * 1000 if isinstance(t, int) else 1736236800000),
        "times run from|readable|no start",
    ),
    "a time that is none": (
        lambda f, b: stamps(f, b, lambda t: None),
        "UNIX|readable|no start",
    ),
    "all times the same": (
        lambda f, b: stamps(
            f,
            b,
            lambda t: (
                1736236800
                if isinstance(t, int)
                else "2025-01-07T08:00:00+00:00" + ("/PT1H" if "/" in t else "")
            ),
        ),
        "fewer than two",
    ),
    "times over a thousand years": (
        lambda f, b: put_time(f, b, 2, "3025-01-07T08:00:00+00:00"),
        "times run",
    ),
    "one row alone": (
        each_table(lambda t: t.__delitem__(slice(1, None))),
        "fewer|timeseries|no temperatures",
    ),
    "no rows": (each_table(lambda t: t.clear()), "fewer|timeseries|temperatures"),
    "the last row cut off": (_last_row_cut, "does not fit|readable|no start"),
    "a row that is none": (_bad_key, "fit|readable|no object"),
    "last year's answer": (moved(timedelta(days=-365)), "nothing is known of it"),
}


def put_time(feed: str, body: Body, row: int, moment: str) -> None:
    if feed.startswith("open-meteo"):
        body["hourly"]["time"][row] = int(datetime.fromisoformat(moment).timestamp())
    elif feed == "met-norway":
        body["properties"]["timeseries"][row]["time"] = moment
    else:
        body["properties"]["temperature"]["values"][row]["validTime"] = f"{moment}/PT1H"


MARKED: dict[str, Callable[[str, Body], None]] = {
    "one temperature of 451 °C": lambda f, b: put(f, b, 30, 451.0),
    "one temperature of -999": lambda f, b: put(f, b, 30, -999.0),
    "infinity": lambda f, b: put(f, b, 30, float("inf")),
    "the bare word NaN": lambda f, b: put(f, b, 30, float("nan")),
    "a whole number of 300 digits": lambda f, b: put(f, b, 30, 10**300),
    "null here and there": nulls(30, 33, 34),
    "ten hours null": nulls(*range(20, 30)),
    "two hours missing": each_table(lambda t: t.__delitem__(slice(20, 22))),
    "ten hours missing": each_table(lambda t: t.__delitem__(slice(20, 30))),
    "only every third hour": rearranged(lambda t: t[::3]),
    "changing steps": rearranged(lambda t: t[:40] + t[40:70:3] + t[70::6]),
    "rows twice": rearranged(lambda t: t + t[10:20]),
    "rows backwards": each_table(lambda t: t.reverse()),
    "rows in no order": rearranged(lambda t: t[1::2] + t[::2]),
    "more than was asked for": lambda f, b: b.update({"extra": {"deep": [None] * 10}}),
}
