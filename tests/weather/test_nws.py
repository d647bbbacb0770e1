"""The US National Weather Service: point, grid, spans, units, old grids."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from curewindow.boat.schema import Boat, Place, WeatherChoice
from curewindow.errors import WeatherError
from curewindow.physics.air import saturation_pressure
from curewindow.weather import get_forecast, http, nws
from curewindow.weather.rows import to_forecast
from tests.voiced import said

NOW = datetime(2025, 1, 7, 8, 20, tzinfo=UTC)


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(http, "_sleep", lambda seconds: None)


def boat(replay: Any, feed: str = "nws", **place: Any) -> Boat:
    where = {"latitude": 38.978412, "longitude": -76.492198, "time_zone": "America/New_York"}
    return Boat(
        name="Test",
        place=Place.model_validate(where | place),
        weather=WeatherChoice.model_validate(
            {"feed": feed, "base_address": replay.base_address, "timeout": "1 s"}
        ),
    )


def at(forecast: Any, moment: datetime) -> int:
    wanted = np.datetime64(moment.replace(tzinfo=None), "s")
    return int(np.flatnonzero(forecast.times == wanted)[0])


def test_point_then_grid(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    got = get_forecast(boat(replay), tmp_path, NOW)
    point, grid = replay.asked
    # No more than four decimals: weather-gov.github.io/api/general-faqs.
    assert point.path == "/points/38.9784,-76.4921"
    assert grid.path == replay_module.NWS_GRID
    for asked in replay.asked:
        assert asked.headers["user-agent"].startswith("curewindow/")
        assert asked.headers["accept"] == "application/geo+json"
    assert got.source == "the US National Weather Service"
    assert got.issued_at == NOW.replace(minute=0) - timedelta(hours=1)
    assert "sunshine is estimated from the cloud cover" in said(got.notes)
    assert np.isfinite(got.temp_c).all()
    assert np.isfinite(got.rain_mm_h).all()
    # The point is kept for a month, the grid for its own life.
    get_forecast(boat(replay), tmp_path, NOW + timedelta(days=2))
    assert [asked.path[:7] for asked in replay.asked] == ["/points", "/gridpo", "/gridpo"]


def body(**layers: Any) -> dict[str, Any]:
    first = datetime(2025, 1, 7, 6, tzinfo=UTC)

    def spans(*values: tuple[str, float | None]) -> list[dict[str, Any]]:
        return [{"validTime": f"{when}", "value": value} for when, value in values]

    plain = {
        "temperature": {
            "uom": "wmoUnit:degC",
            "values": spans(
                ("2025-01-07T06:00:00+00:00/PT3H", 4.4), ("2025-01-07T09:00:00+00:00/P1DT6H", 1.0)
            ),
        },
        "dewpoint": {
            "uom": "wmoUnit:degC",
            "values": spans(("2025-01-07T06:00:00+00:00/P1DT9H", 0.0)),
        },
    }
    return {"properties": {"updateTime": first.isoformat()} | plain | layers}


def test_spans_are_held_over_their_hours() -> None:
    rows = nws.read(body())
    hours = (rows.times - rows.times[0]) / np.timedelta64(3600, "s")
    assert hours.tolist() == list(range(33))
    temp = rows.columns["temp_c"].values
    assert temp[:3].tolist() == [4.4] * 3
    assert temp[3:].tolist() == [1.0] * 30
    grid = to_forecast(rows, source="x", attribution="", fetched_at=NOW)
    assert grid.vapour_pa[0] == pytest.approx(np.full(grid.times.size, saturation_pressure(0.0)))


@pytest.mark.parametrize(
    ("layer", "uom", "value", "column", "want"),
    [
        # 36 km/h is 10 m/s; 41 °F is 5 °C; 278.15 K is 5 °C: by definition of the units.
        ("windSpeed", "wmoUnit:km_h-1", 36.0, "wind_ms", 10.0),
        ("windSpeed", "wmoUnit:m_s-1", 10.0, "wind_ms", 10.0),
        ("temperature", "wmoUnit:degF", 41.0, "temp_c", 5.0),
        ("temperature", "wmoUnit:K", 278.15, "temp_c", 5.0),
        ("temperature", "unit:degC", 5.0, "temp_c", 5.0),
        ("skyCover", "wmoUnit:percent", 85.0, "cloud_frac", 0.85),
        ("quantitativePrecipitation", "wmoUnit:mm", 12.0, "rain_mm_h", 2.0),
    ],
)
def test_units(layer: str, uom: str, value: float, column: str, want: float) -> None:
    span = [{"validTime": "2025-01-07T06:00:00+00:00/PT6H", "value": value}]
    rows = nws.read(body(**{layer: {"uom": uom, "values": span}}))
    assert rows.columns[column].values[0] == pytest.approx(want)


@pytest.mark.parametrize(
    ("layers", "says"),
    [
        ({"temperature": {"uom": "wmoUnit:degRe", "values": [{}]}}, "in 'wmoUnit:degRe', not degC"),
        ({"windSpeed": {"uom": "wmoUnit:kt", "values": [{}]}}, "'windSpeed' in 'wmoUnit:kt'"),
        ({"windSpeed": {"values": [{}]}}, "'windSpeed' in 'None'"),
        ({"temperature": None}, "no 'properties.temperature'"),
        (
            {"skyCover": {"uom": "wmoUnit:percent", "values": [{"validTime": "soon", "value": 1}]}},
            "'soon' in 'skyCover' is no start",
        ),
        (
            {
                "skyCover": {
                    "uom": "wmoUnit:percent",
                    "values": [{"validTime": "2025-01-07T06:00:00/PT1H", "value": 1}],
                }
            },
            "is no start and duration",
        ),
        (
            {
                "skyCover": {
                    "uom": "wmoUnit:percent",
                    "values": [{"validTime": "2025-01-07T06:00:00+00:00/PT1H", "value": "NaN"}],
                }
            },
            "'NaN' is no number",
        ),
    ],
)
def test_what_is_no_grid(layers: dict[str, Any], says: str) -> None:
    with pytest.raises(WeatherError, match=says):
        nws.read(body(**layers))


def test_an_old_grid_is_said(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    old = replay_module.nws_grid_body(NOW)
    old["properties"]["updateTime"] = (NOW - timedelta(hours=30)).isoformat()
    replay.script(replay_module.NWS_GRID, replay_module.Scripted(old))
    got = get_forecast(boat(replay), tmp_path, NOW)
    assert any("made this forecast 30 h ago" in note for note in said(got.notes))
    # Of several feeds a fresh one is better.
    replay.script(replay_module.OPEN_METEO, replay_module.Scripted("", 400))
    other = get_forecast(boat(replay, "auto"), tmp_path, NOW)
    assert other.source == "MET Norway"
    assert any("its grid is 30 h old" in note for note in said(other.notes))


def test_500_and_503_are_tried_again_within_bounds(
    replay: Any, replay_module: Any, tmp_path: Path
) -> None:
    scripted = replay_module.Scripted
    replay.weather(NOW)
    problem = '{"title": "Unexpected Problem", "status": 500, "detail": "An unexpected\\nproblem"}'
    kind = {"Content-Type": "application/problem+json"}
    good = scripted(replay_module.nws_grid_body(NOW))
    replay.script(replay_module.NWS_GRID, scripted(problem, 500, kind), scripted("", 503), good)
    assert np.isfinite(get_forecast(boat(replay), tmp_path, NOW).temp_c).all()
    replay.script(replay_module.NWS_GRID, scripted(problem, 500, kind))
    asked = len(replay.asked)
    later = NOW + timedelta(hours=3)
    stale = get_forecast(boat(replay), tmp_path, later)
    assert len(replay.asked) == asked + http.ATTEMPTS
    assert any("3 h old" in n and "500: An unexpected problem" in n for n in said(stale.notes))


def test_squares_laid_out_anew(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    scripted = replay_module.Scripted
    replay.weather(NOW)
    get_forecast(boat(replay), tmp_path, NOW)
    replay.script(replay_module.NWS_GRID, scripted('{"title": "Not Found"}', 404))
    elsewhere = "/gridpoints/LWX/110,92"
    replay.script(replay_module.NWS_POINT, scripted(replay_module.nws_point_body(elsewhere)))
    later = NOW + timedelta(hours=3)
    replay.script(elsewhere, scripted(replay_module.nws_grid_body(later)))
    got = get_forecast(boat(replay), tmp_path, later)
    assert replay.asked[-1].path == elsewhere
    assert not any("old" in note for note in said(got.notes))


def test_outside_its_land(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    problem = '{"title": "Data Unavailable For Requested Point", "status": 404}'
    replay.script(replay_module.NWS_POINT, replay_module.Scripted(problem, 404))
    with pytest.raises(WeatherError, match=r"404: Data Unavailable For Requested Point\)$"):
        get_forecast(boat(replay), tmp_path, NOW)


@pytest.mark.parametrize(
    "named",
    ["https://elsewhere.example/collect", "/gridpoints/LWX/1,2/forecast", "", None, 7, "file:///x"],
)
def test_only_a_grid_s_path_is_believed(
    replay: Any, replay_module: Any, named: Any, tmp_path: Path
) -> None:
    point = {"properties": {"forecastGridData": named}}
    replay.script(replay_module.NWS_POINT, replay_module.Scripted(point))
    with pytest.raises(WeatherError, match="names no forecast grid"):
        get_forecast(boat(replay), tmp_path, NOW)
    assert len(replay.asked) == 1


@pytest.mark.parametrize(
    ("latitude", "longitude", "second"),
    [
        (38.98, -76.49, "nws"),  # Annapolis
        (61.22, -149.9, "nws"),  # Anchorage
        (21.31, -157.86, "nws"),  # Honolulu
        (51.88, 179.9, "nws"),  # the Aleutians west of the date line
        (51.88, -176.6, "nws"),  # and east of it
        (52.37, 4.9, "met-norway"),  # Amsterdam
        (-36.84, 174.76, "met-norway"),  # Auckland
    ],
)
def test_who_is_asked_where(latitude: float, longitude: float, second: str) -> None:
    from curewindow.weather.choose import auto_order

    order = auto_order(Place(latitude=latitude, longitude=longitude, time_zone="UTC"))
    assert order[0] == "open-meteo"
    assert order[1] == second
    assert order[-1] == "met-norway"


def test_auto_in_the_united_states(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    replay.script(replay_module.OPEN_METEO, replay_module.Scripted("", 400))
    assert get_forecast(boat(replay, "auto"), tmp_path, NOW).source.startswith("the US")
