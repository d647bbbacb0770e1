"""Ensemble, percentiles, archive and the paid key."""

from __future__ import annotations

import logging
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import numpy as np
import pytest
import respx

from curewindow.boat.schema import Boat, Place, WeatherChoice
from curewindow.errors import WeatherError
from curewindow.weather import get_forecast, http
from curewindow.weather.archive import fill_holes, past_weather
from curewindow.weather.cache import Cache
from tests.voiced import said

NOW = datetime(2025, 1, 7, 8, 20, tzinfo=UTC)
PLACE = Place(latitude=52.3702, longitude=4.9, time_zone="Europe/Amsterdam")


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(http, "_sleep", lambda seconds: None)
    monkeypatch.delenv("CUREWINDOW_OPEN_METEO_KEY", raising=False)


def choice(base: str | None, feed: str, **more: Any) -> WeatherChoice:
    return WeatherChoice.model_validate(
        {"feed": feed, "base_address": base, "timeout": "1 s"} | more
    )


def boat(replay: Any, feed: str, **more: Any) -> Boat:
    return Boat(name="Test", place=PLACE, weather=choice(replay.base_address, feed, **more))


def test_the_members_of_an_ensemble(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    got = get_forecast(boat(replay, "open-meteo-ensemble"), tmp_path, NOW)
    assert replay.asked[0].path == replay_module.ENSEMBLE
    assert replay.asked[0].query["models"] == "ecmwf_ifs025"
    assert got.members == 5
    # The control run is a member itself (open-meteo.com/en/docs/ensemble-api), then -0.5 ... 1 K.
    shift = got.temp_c - got.temp_c[0]
    for member, want in enumerate([0.0, -0.5, 0.0, 0.5, 1.0]):
        assert shift[member] == pytest.approx(np.full(shift.shape[1], want), abs=1e-9)
    other = get_forecast(
        boat(replay, "open-meteo-ensemble", ensemble_model="icon_seamless"), tmp_path, NOW
    )
    assert replay.asked[-1].query["models"] == "icon_seamless"
    assert "icon_seamless" in other.source


def test_members_of_unequal_length(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    body = replay_module.ensemble_body(NOW)
    hourly = body["hourly"]
    hourly["temperature_2m_member02"][60:] = [None] * (len(hourly["time"]) - 60)
    body["hourly_units"]["shortwave_radiation_member03"] = "undefined"
    hourly["shortwave_radiation_member03"] = [None] * len(hourly["time"])
    replay.script(replay_module.ENSEMBLE, replay_module.Scripted(body))
    got = get_forecast(boat(replay, "open-meteo-ensemble"), tmp_path, NOW)
    assert np.isfinite(got.temp_c[[0, 1, 3, 4]]).all()
    assert np.isnan(got.temp_c[2, -1])
    assert np.isnan(got.sun_w_m2[3]).all()


def test_an_ensemble_without_members(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    replay.script(
        replay_module.ENSEMBLE, replay_module.Scripted(replay_module.open_meteo_body(NOW))
    )
    with pytest.raises(WeatherError, match="has no members"):
        get_forecast(boat(replay, "open-meteo-ensemble"), tmp_path, NOW)


def test_past_hours_stand_before_every_member(replay: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW)
    replay.weather(NOW + timedelta(days=5))
    got = get_forecast(boat(replay, "open-meteo-ensemble"), tmp_path, NOW + timedelta(days=5))
    assert got.times[0] == np.datetime64("2025-01-04T00:00:00")
    assert (got.temp_c[:, 0] == got.temp_c[0, 0]).all()


def with_percentiles(replay_module: Any) -> dict[str, Any]:
    body: dict[str, Any] = replay_module.met_norway_body(NOW)
    for row in body["properties"]["timeseries"]:
        details = row["data"]["instant"]["details"]
        details["dew_point_temperature"] = details["air_temperature"] - 3.0
        details["air_temperature_percentile_10"] = details["air_temperature"] - 2.0
        details["air_temperature_percentile_90"] = details["air_temperature"] + 3.0
    return body


def test_met_norway_s_percentiles_and_dew_point(
    replay: Any, replay_module: Any, tmp_path: Path
) -> None:
    replay.script(replay_module.MET_NORWAY, replay_module.Scripted(with_percentiles(replay_module)))
    one = get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    # Magnus over water, WMO-No. 8 annex 4.B: the dew point given, not the humidity, counts.
    dew = one.temp_c[0, 0] - 3.0
    assert one.vapour_pa[0, 0] == pytest.approx(
        611.2 * np.exp(17.62 * dew / (243.12 + dew)), rel=2e-3
    )
    got = get_forecast(boat(replay, "met-norway-spread"), tmp_path, NOW)
    assert len(replay.asked) == 1
    assert got.members == 20
    assert any("percentiles" in note for note in said(got.notes))
    off = got.temp_c[1:] - got.temp_c[0]
    low, high = np.quantile(off, [0.1, 0.9])
    assert low == pytest.approx(-2.0, abs=0.35)
    assert high == pytest.approx(3.0, abs=0.5)


def test_no_percentiles_given(replay: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    with pytest.raises(WeatherError, match="gives no percentiles here"):
        get_forecast(boat(replay, "met-norway-spread"), tmp_path, NOW)


def test_past_years_are_asked_for_once(replay: Any, replay_module: Any, own_cache: Path) -> None:
    body = replay_module.open_meteo_body(datetime(2023, 1, 4, tzinfo=UTC), past_days=3, days=5)
    replay.script(replay_module.ARCHIVE, replay_module.Scripted(body))
    own, cache = choice(replay.base_address, "open-meteo"), Cache(own_cache)
    span = (date(2023, 1, 1), date(2023, 1, 8))
    got = past_weather(PLACE, own, cache, NOW, *span)
    assert replay.asked[0].query["start_date"] == "2023-01-01"
    assert replay.asked[0].query["end_date"] == "2023-01-08"
    assert got.times[0] == np.datetime64("2023-01-01T00:00:00")
    assert any("what was, not what comes" in note for note in said(got.notes))
    past_weather(PLACE, own, cache, NOW + timedelta(days=300), *span)
    assert len(replay.asked) == 1
    with pytest.raises(ValueError, match="400 days"):
        past_weather(PLACE, own, cache, NOW, date(2020, 1, 1), date(2023, 1, 1))


def test_the_last_weeks_before_a_first_forecast(
    replay: Any, replay_module: Any, tmp_path: Path, own_cache: Path
) -> None:
    replay.weather(NOW)
    # The archive is behind: its last day is null.
    body = replay_module.open_meteo_body(NOW, past_days=30, days=1)
    for name, values in body["hourly"].items():
        if name != "time":
            values[-48:] = [None] * 48
    replay.script(replay_module.ARCHIVE, replay_module.Scripted(body))
    own, cache = choice(replay.base_address, "met-norway"), Cache(own_cache)
    assert fill_holes(PLACE, own, cache, NOW) > 24 * 27  # nothing was seen yet
    asked = len(replay.asked)
    assert fill_holes(PLACE, own, cache, NOW) == 0
    assert len(replay.asked) == asked, "filled already"
    got = get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    assert got.times[0] == np.datetime64("2024-12-08T00:00:00")
    known = np.isfinite(got.temp_c[0])
    assert known[got.times <= np.datetime64("2025-01-05T23:00:00")].all()
    assert not known[got.times == np.datetime64("2025-01-06T12:00:00")].any()


KEY = "s3cret+key/&"


@respx.mock
def test_the_key_goes_on_the_wire_and_nowhere_else(
    replay_module: Any,
    monkeypatch: pytest.MonkeyPatch,
    tmp_path: Path,
    own_cache: Path,
    caplog: pytest.LogCaptureFixture,
) -> None:
    monkeypatch.setenv("CUREWINDOW_OPEN_METEO_KEY", KEY)
    caplog.set_level(logging.DEBUG)
    route = respx.get(host="customer-api.open-meteo.com").mock(
        side_effect=[
            httpx.Response(400, json={"reason": f"The key {KEY} s3cret%2Bkey%2F%26 is worn out"}),
            httpx.Response(200, json=replay_module.open_meteo_body(NOW)),
        ]
    )
    own = Boat(name="Test", place=PLACE, weather=choice(None, "open-meteo"))
    with pytest.raises(WeatherError) as caught:
        get_forecast(own, tmp_path, NOW)
    get_forecast(own, tmp_path, NOW, refresh=True)
    sent = route.calls.last.request.url
    assert sent.params["apikey"] == KEY
    kept = "".join(path.read_text() for path in own_cache.rglob("*") if path.is_file())
    for text in (caplog.text, str(caught.value), repr(caught.value), kept):
        assert "s3cret" not in text
    assert "HTTP Request" in caplog.text  # the network library does log the address


def test_a_self_hosted_service_is_not_sent_the_key(
    replay: Any, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("CUREWINDOW_OPEN_METEO_KEY", KEY)
    replay.weather(NOW)
    for feed in ("open-meteo", "open-meteo-ensemble"):
        get_forecast(boat(replay, feed), tmp_path, NOW)
    assert not [asked for asked in replay.asked if "apikey" in asked.query]


def test_a_model_s_name_is_no_address() -> None:
    with pytest.raises(ValueError, match="ensemble_model"):
        choice(None, "open-meteo-ensemble", ensemble_model="x&apikey=1")


def test_ensemble_answers_are_kept_like_any_other(replay: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    first = get_forecast(boat(replay, "open-meteo-ensemble"), tmp_path, NOW)
    replay.fail(503)
    later = NOW + timedelta(hours=6)
    stale = get_forecast(boat(replay, "open-meteo-ensemble"), tmp_path, later)
    assert np.array_equal(first.temp_c, stale.temp_c)
    assert any(note.startswith("the forecast is 6 h old") for note in said(stale.notes))
