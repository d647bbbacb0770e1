"""Every way a feed is known to fail, against every feed, mostly through real sockets.

Each ends in one line of WeatherError or in data that are marked for what they are:
never a traceback, a wrong unit, an unmarked wrong value or an old forecast as if new.
"""

from __future__ import annotations

import copy
import gzip
import json
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
import respx

from curewindow.boat.schema import Boat
from curewindow.errors import WeatherError
from curewindow.physics.air import saturation_pressure
from curewindow.weather import ask, get_forecast, http
from curewindow.weather.forecast import Forecast

NOW = datetime(2025, 1, 7, 8, 20, tzinfo=UTC)
LATER = NOW + timedelta(hours=3)
FEEDS = ("open-meteo", "open-meteo-ensemble", "met-norway", "nws")
TIMEOUT_S = 0.15
Body = dict[str, Any]


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(http, "_sleep", lambda seconds: None)


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


# --- the line and the envelope -------------------------------------------------------------

Scripts = Callable[[Any, str], list[Any]]


def _http(body: bytes, *headers: str, length: int | None = None, status: str = "200 OK") -> bytes:
    size = len(body) if length is None else length
    lines = [f"HTTP/1.1 {status}", f"Content-Length: {size}", "Connection: close", *headers]
    return "\r\n".join(lines).encode() + b"\r\n\r\n" + body


def _gzip_kinds(s: Any, text: str) -> dict[str, list[Any]]:
    packed = gzip.compress(text.encode())
    return {
        "said to be gzip and is not": [
            s(raw=_http(text.encode(), "Content-Encoding: gzip")),
        ],
        "gzip broken off": [s(raw=_http(packed[: len(packed) // 2], "Content-Encoding: gzip"))],
        "gzip with a wrong byte": [
            s(raw=_http(packed[:40] + b"\x00\xff\x00" + packed[43:], "Content-Encoding: gzip"))
        ],
    }


def line_faults(s: Any, text: str) -> dict[str, list[Any]]:
    """Kind -> what is answered, one after the other (the last one for ever)."""
    login = "\n <!DOCTYPE html><html><title>Harbour WiFi</title><form>Log in</form></html>"
    problem = json.dumps({"title": "Service Unavailable", "status": 503, "detail": "Grid\nexpired"})
    return {
        "body cut off": [s(text[: len(text) // 2])],
        "less than announced": [s(raw=_http(text.encode()[:400], length=len(text)))],
        "log-in page with 200": [s(login)],
        "redirect to a log-in page": [s("", 302, {"Location": "/login"})],
        "redirects in a circle": [s("", 301, {"Location": "/round"})],
        "redirect to another protocol": [s("", 302, {"Location": "ftp://feed.example/x"})],
        "redirect to a closed door": [s("", 302, {"Location": "http://127.0.0.1:9/x"})],
        "redirect to what is no address": [s("", 302, {"Location": "http://127.0.0.1:99999/"})],
        "empty": [s("")],
        "204": [s("", 204)],
        "null": [s("null")],
        "a list": [s("[1, 2, 3]")],
        "a word": [s('"sunny"')],
        "a number": [s("451")],
        "no data": [s("{}")],
        "other data": [s({"type": "FeatureCollection", "features": []})],
        "the tables are lists": [s({"hourly": [], "properties": []})],
        "nested beyond reason": [s("[" * 200_000)],
        "a number of 6000 digits": [s('{"hourly": ' + "9" * 6000 + "}")],
        "bytes of no text": [s(raw=_http(b"\xff\xfe\x00\x80" * 20))],
        "NUL bytes": [s("\x00" * 64)],
        "not HTTP": [s(raw=b"220 mail.example ESMTP ready\r\n")],
        "hung up without a word": [s(raw=b"")],
        "line broken": [s(text, reset=True)],
        "status of no meaning": [s(raw=_http(b"?", status="999 Odd"))],
        "header of no length": [s(raw=b"HTTP/1.1 200 OK\r\nContent-Length: x\r\n\r\n{}")],
        "not modified, of nothing": [s("", 304)],
        "bad request": [s('{"error": true, "reason": "Bad\\nlatitude"}', 400)],
        "unauthorised": [s("", 401)],
        "refused": [s("", 403)],
        "not there": [s("<h1>404</h1>", 404)],
        "gone": [s("", 410)],
        "too many, wait 30 min": [s("", 429, {"Retry-After": "1800"})],
        "too many, wait until": [s("", 429, {"Retry-After": "Wed, 01 Jan 2099 00:00:00 GMT"})],
        "too many, wait 'soon'": [s("", 429, {"Retry-After": "soon"})],
        "too many, wait -5": [s("", 429, {"Retry-After": "-5"})],
        "too many, wait for ever": [s("", 429, {"Retry-After": "9" * 400})],
        "too many, wait 1.5": [s("", 429, {"Retry-After": "1.5"})],
        "500": [s("", 500)],
        "502 with a page": [s("<html>Bad gateway</html>", 502)],
        "503 with a problem": [s(problem, 503, {"Content-Type": "application/problem+json"})],
        "503, wait": [s("", 503, {"Retry-After": "600"})],
        "silent": [s(text, delay_s=3 * TIMEOUT_S)],
        **_gzip_kinds(s, text),
    }


class _Recorder:
    """Stands in for Scripted where only the names of the kinds are wanted."""

    def __init__(self, *args: Any, **kwargs: Any):
        pass


LINE_KINDS = sorted(line_faults(_Recorder, "{}"))


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("kind", LINE_KINDS)
def test_the_line_and_the_envelope(
    replay: Any, replay_module: Any, feed: str, kind: str, tmp_path: Path
) -> None:
    scripted, path = replay_module.Scripted, path_of(replay_module, feed)
    replay.weather(NOW)
    replay.script("/login", scripted("<html>Log in</html>"))
    replay.script("/round", scripted("", 301, {"Location": "/round"}))
    text = json.dumps(body_of(replay_module, feed))
    own = boat(replay.base_address, feed)
    replay.script(path, *line_faults(scripted, text)[kind])
    with pytest.raises(WeatherError) as caught:
        get_forecast(own, tmp_path, NOW)
    one_line(caught)
    # Then it answers well, then fails again: the good answer stays, and its age is said.
    replay.weather(NOW)
    good = get_forecast(own, tmp_path / "other", NOW, cache_dir=tmp_path / "other")
    replay.script(path, *line_faults(scripted, text)[kind])
    stale = get_forecast(own, tmp_path, LATER, cache_dir=tmp_path / "other")
    sound(stale)
    if kind == "not modified, of nothing":  # now it is of something, and the good answer stands
        assert stale.fetched_at == LATER
        return
    assert stale.fetched_at == NOW
    assert any(note.startswith("the forecast is 3 h old: ") for note in stale.notes), stale.notes
    assert np.array_equal(stale.temp_c, good.temp_c, equal_nan=True)
    if replay.asked[-1].path == path:
        assert sum(asked.path == path for asked in replay.asked) <= 2 * http.ATTEMPTS + 3


@pytest.mark.parametrize(
    "fault",
    [
        httpx.ConnectError("no route to host"),
        httpx.ConnectTimeout("slow"),
        httpx.ReadTimeout("slow"),
        httpx.PoolTimeout("busy"),
        httpx.ReadError("reset\nby peer"),
        httpx.WriteError(""),
        httpx.RemoteProtocolError("peer closed"),
        httpx.DecodingError("bad gzip"),
        httpx.TooManyRedirects("too many"),
        httpx.ProxyError("407"),
        httpx.UnsupportedProtocol("x"),
        httpx.InvalidURL("x"),
    ],
    ids=lambda fault: type(fault).__name__,
)
@pytest.mark.parametrize("feed", FEEDS)
@respx.mock
def test_faults_of_the_network_library(fault: Exception, feed: str, tmp_path: Path) -> None:
    respx.route().mock(side_effect=fault)
    with pytest.raises(WeatherError) as caught:
        get_forecast(boat("https://feed.example", feed), tmp_path, NOW)
    one_line(caught)


@pytest.mark.parametrize("feed", FEEDS)
def test_nobody_there(feed: str, tmp_path: Path) -> None:
    with pytest.raises(WeatherError) as caught:
        get_forecast(boat("http://127.0.0.1:9", feed), tmp_path, NOW)
    one_line(caught)


def test_a_body_in_drips_is_left(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    """Each drip comes in time, the whole of it never would."""
    body = body_of(replay_module, "met-norway")
    drip = replay_module.Scripted(body, trickle_s=0.8 * TIMEOUT_S)
    replay.script(replay_module.MET_NORWAY, drip)
    began = time.monotonic()
    with pytest.raises(WeatherError, match="not whole after") as caught:
        get_forecast(boat(replay.base_address, "met-norway"), tmp_path, NOW)
    one_line(caught)
    assert time.monotonic() - began < 10 * TIMEOUT_S


def test_a_body_without_end_is_left(
    replay: Any, replay_module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    from curewindow.weather import wire

    monkeypatch.setattr(wire, "MOST_BYTES", 1 << 16)
    packed = gzip.compress(b" " * (1 << 24))  # 16 MB of nothing in 16 kB
    replay.script(
        replay_module.MET_NORWAY,
        replay_module.Scripted(raw=_http(packed, "Content-Encoding: gzip")),
    )
    with pytest.raises(WeatherError, match="is longer than"):
        get_forecast(boat(replay.base_address, "met-norway"), tmp_path, NOW)


# --- what stands in the body ----------------------------------------------------------------


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


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("kind", sorted(REFUSED))
def test_what_is_refused(
    replay: Any, replay_module: Any, feed: str, kind: str, tmp_path: Path
) -> None:
    change, says = REFUSED[kind]
    replay.weather(NOW)
    own = boat(replay.base_address, feed)
    body = body_of(replay_module, feed)
    change(feed, body)
    replay.script(path_of(replay_module, feed), replay_module.Scripted(body))
    with pytest.raises(WeatherError, match=says) as caught:
        get_forecast(own, tmp_path, NOW)
    assert "\n" not in str(caught.value)


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


@pytest.mark.parametrize("feed", FEEDS)
@pytest.mark.parametrize("kind", sorted(MARKED))
def test_what_is_taken_with_a_mark(
    replay: Any, replay_module: Any, feed: str, kind: str, tmp_path: Path
) -> None:
    replay.weather(NOW)
    own = boat(replay.base_address, feed)
    good = get_forecast(own, tmp_path, NOW, cache_dir=tmp_path / "good")
    body = copy.deepcopy(body_of(replay_module, feed))
    MARKED[kind](feed, body)
    replay.script(path_of(replay_module, feed), replay_module.Scripted(json.dumps(body)))
    got = get_forecast(own, tmp_path, NOW)
    sound(got)
    common, mine, theirs = np.intersect1d(got.times, good.times, return_indices=True)
    assert common.size > 100
    # No value differs from the good answer's without a gap, a NaN or a note on it.
    apart = np.abs(got.temp_c[:, mine] - good.temp_c[:, theirs]).max(axis=0)
    gap_grew = got.gap_h[mine] > good.gap_h[theirs]
    unmarked = (apart > 0.11) & ~gap_grew
    assert not unmarked.any(), common[unmarked]
    if kind in ("ten hours null", "ten hours missing") and feed != "nws":
        assert np.isnan(got.temp_c[0]).sum() >= 50
        assert any("no weather known from" in note for note in got.notes)
    if "451" in kind or "999" in kind or kind == "infinity" or "digits" in kind:
        assert "1 value of temperature beyond anything measured left out" in got.notes


# --- the calendar, the globe and the clock ---------------------------------------------------


@pytest.mark.parametrize(
    ("moment", "place"),
    [
        ("2024-12-30T20:20:00+00:00", {}),  # over the year's end
        ("2024-02-27T08:20:00+00:00", {}),  # over a leap day
        ("2026-03-07T08:20:00+00:00", {}),  # clocks go forward in the United States
        ("2026-10-31T08:20:00+00:00", {}),  # and back
        ("2026-03-28T23:20:00+00:00", {"time_zone": "Europe/London"}),
        ("2025-06-20T08:20:00+00:00", {"latitude": 78.2, "longitude": 15.6}),  # no night
        ("2025-12-20T08:20:00+00:00", {"latitude": 78.2, "longitude": 15.6}),  # no day
        ("2025-12-20T08:20:00+00:00", {"latitude": 90.0, "longitude": 0.0}),
        ("2025-01-07T08:20:00+00:00", {"latitude": -16.8, "longitude": 180.0}),  # date line
        ("2025-01-07T08:20:00+00:00", {"latitude": -16.8, "longitude": -180.0}),
        ("2025-01-07T08:20:00+14:00", {"latitude": 1.9, "longitude": -157.4}),
    ],
)
@pytest.mark.parametrize("feed", FEEDS)
def test_calendar_and_globe(
    replay: Any, moment: str, place: dict[str, Any], feed: str, tmp_path: Path
) -> None:
    now = datetime.fromisoformat(moment)
    replay.weather(now)
    got = get_forecast(boat(replay.base_address, feed, **place), tmp_path, now)
    sound(got)
    assert np.isfinite(got.temp_c).all()
    assert np.isfinite(got.sun_w_m2).all()
    at = np.datetime64(now.astimezone(UTC).replace(tzinfo=None), "s")
    assert got.times[0] <= at < got.times[-1]
    if feed in ("met-norway", "nws") and place.get("latitude") == 78.2:
        sunny = got.sun_w_m2.max() > 0.0
        assert sunny == (now.month == 6)


@pytest.mark.parametrize("feed", FEEDS)
def test_an_answer_that_begins_late(
    replay: Any, replay_module: Any, feed: str, tmp_path: Path
) -> None:
    body = body_of(replay_module, feed)
    moved(timedelta(days=6))(feed, body)
    replay.weather(NOW)
    replay.script(path_of(replay_module, feed), replay_module.Scripted(body))
    got = get_forecast(boat(replay.base_address, feed), tmp_path, NOW)
    assert any("the weather begins only at 2025-01-" in note for note in got.notes), got.notes


def test_a_forecast_long_made_is_said(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    for feed in ("met-norway", "nws"):
        body = body_of(replay_module, feed, NOW - timedelta(hours=50))
        replay.weather(NOW)
        replay.script(path_of(replay_module, feed), replay_module.Scripted(body))
        got = get_forecast(boat(replay.base_address, feed), tmp_path, NOW)
        assert any("it has not been renewed since" in note for note in got.notes), feed


@pytest.mark.parametrize("days", [-400, -3, 3, 400])
@pytest.mark.parametrize("feed", FEEDS)
def test_a_clock_aboard_that_is_days_off(
    replay: Any,
    feed: str,
    days: int,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    caplog: pytest.LogCaptureFixture,
) -> None:
    """The service's own Date says what time it is; the answer's life does not depend on ours."""
    wrong = NOW + timedelta(days=days)
    monkeypatch.setattr(ask, "_clock", lambda: wrong)
    replay.weather(NOW)
    own = boat(replay.base_address, feed)
    way = "ahead of" if days > 0 else "behind"
    say = f"clock is {abs(days) * 24} h {way} that of"
    # Where the answer does not reach the day our clock shows, that is an error at once.
    if abs(days) > 3:
        with pytest.raises(WeatherError, match="nothing is known of it"):
            get_forecast(own, tmp_path, wrong)
        assert say in caplog.text
        return
    got = get_forecast(own, tmp_path, wrong)
    assert any(say in note for note in got.notes), got.notes
    late = any("the weather begins only at" in note for note in got.notes)
    assert late == (days == -3 and not feed.startswith("open-meteo"))
    asked = len(replay.asked)
    get_forecast(own, tmp_path, wrong + timedelta(minutes=20))
    assert len(replay.asked) == asked


def test_a_right_clock_and_a_pretended_time_say_nothing(
    replay: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ask, "_clock", lambda: NOW + timedelta(minutes=2))
    replay.weather(NOW)
    own = boat(replay.base_address, "open-meteo")
    assert get_forecast(own, tmp_path, NOW, cache_dir=tmp_path / "a").notes == ()
    what_if = get_forecast(own, tmp_path, NOW + timedelta(days=2), cache_dir=tmp_path / "b")
    assert not [note for note in what_if.notes if "clock" in note]


def test_dates_of_no_use_in_the_headers(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    body = body_of(replay_module, "met-norway")
    for i, value in enumerate(["", "yesterday", "Tue, 99 Jan 2025 99:00:00 GMT", "0", "9" * 99]):
        headers = {"Expires": value, "Date": value, "Age": value, "Last-Modified": value}
        replay.script(replay_module.MET_NORWAY, replay_module.Scripted(body, headers=headers))
        own = boat(replay.base_address, "met-norway")
        got = get_forecast(own, tmp_path, NOW, cache_dir=tmp_path / str(i))
        sound(got)


def test_enough_kinds() -> None:
    assert len(LINE_KINDS) + len(REFUSED) + len(MARKED) >= 75
