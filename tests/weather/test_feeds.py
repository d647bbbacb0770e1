"""Real requests to a scripted service on this machine: cache, staleness, past hours, both feeds."""

from __future__ import annotations

import json
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from curewindow.boat.schema import Boat, Place, WeatherChoice
from curewindow.errors import BoatError, InputFileError, WeatherError
from curewindow.weather import ask, get_forecast, http
from tests.voiced import said

NOW = datetime(2025, 1, 7, 8, 20, tzinfo=UTC)
DATA = Path(__file__).parent / "data"
FEEDS = ("open-meteo", "met-norway")


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(http, "_sleep", lambda seconds: None)


def boat(replay: Any, feed: str = "auto", **weather: Any) -> Boat:
    choice = {"feed": feed, "base_address": replay.base_address, "timeout": "1 s"} | weather
    return Boat(
        name="Test",
        place=Place(
            latitude=52.370219, longitude=-4.900099, elevation_m=1.6, time_zone="Europe/London"
        ),
        weather=WeatherChoice.model_validate(choice),
    )


def hour(moment: datetime) -> np.datetime64:
    return np.datetime64(moment.replace(tzinfo=None), "s")


@pytest.mark.parametrize("feed", FEEDS)
def test_one_request_serves_while_fresh(replay: Any, feed: str, tmp_path: Path) -> None:
    replay.weather(NOW, life=timedelta(minutes=30))
    first = get_forecast(boat(replay, feed), tmp_path, NOW)
    again = get_forecast(boat(replay, feed), tmp_path, NOW + timedelta(minutes=29))
    assert len(replay.asked) == 1
    assert first.times[0] <= hour(NOW.replace(minute=0))
    assert np.isfinite(first.temp_c).all()
    assert np.array_equal(first.temp_c, again.temp_c)
    assert again.fetched_at == NOW
    assert "CC BY 4.0" in first.attribution


def test_a_kept_answer_costs_no_network_library(replay: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    get_forecast(boat(replay), tmp_path, NOW)
    code = f"""
import sys
from datetime import datetime
from pathlib import Path
from curewindow.boat.schema import Boat
from curewindow.weather import get_forecast
from tests.voiced import said
boat = Boat.model_validate_json({boat(replay).model_dump_json(by_alias=True)!r})
got = get_forecast(boat, Path("."), datetime.fromisoformat("{NOW.isoformat()}"))
print(got.source, [m for m in ("httpx", "tenacity", "pandas") if m in sys.modules])
"""
    out = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert out.stdout.strip() == "Open-Meteo []"
    assert len(replay.asked) == 1


def test_what_is_asked(replay: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    for feed in FEEDS:
        get_forecast(boat(replay, feed), tmp_path, NOW)
    meteo, norway = replay.asked
    # Cut, not rounded: 52.370219 and -4.900099 to four decimals.
    assert (meteo.query["latitude"], meteo.query["longitude"]) == ("52.3702", "-4.9000")
    assert meteo.query["timeformat"] == "unixtime"
    assert meteo.query["wind_speed_unit"] == "ms"
    assert norway.query == {"lat": "52.3702", "lon": "-4.9000", "altitude": "2"}
    for asked in replay.asked:
        assert asked.headers["user-agent"].startswith("curewindow/")
        assert "gzip" in asked.headers["accept-encoding"]


@pytest.mark.parametrize("feed", FEEDS)
def test_expired_and_not_modified(replay: Any, feed: str, tmp_path: Path) -> None:
    replay.weather(NOW, life=timedelta(minutes=30))
    get_forecast(boat(replay, feed), tmp_path, NOW)
    later = NOW + timedelta(minutes=45)
    second = get_forecast(boat(replay, feed), tmp_path, later)
    assert len(replay.asked) == 2
    # Exactly as it came, as MET Norway's terms ask.
    assert replay.asked[1].headers["if-modified-since"] == "Tue, 07 Jan 2025 08:17:00 GMT"
    assert second.fetched_at == later
    assert not [note for note in said(second.notes) if "old" in note]
    get_forecast(boat(replay, feed), tmp_path, later + timedelta(minutes=20))
    assert len(replay.asked) == 2


@pytest.mark.parametrize("feed", FEEDS)
def test_a_feed_that_fails_leaves_the_last_good_forecast(
    replay: Any, feed: str, tmp_path: Path
) -> None:
    replay.weather(NOW)
    get_forecast(boat(replay, feed), tmp_path, NOW)
    replay.fail(503)
    later = NOW + timedelta(hours=14)
    stale = get_forecast(boat(replay, feed), tmp_path, later)
    assert (
        "the forecast is 14 h old: the feed did not answer (it has a fault (status 503))"
        in said(stale.notes)
    )
    assert stale.fetched_at == NOW
    asked = len(replay.asked)
    assert asked == 1 + http.ATTEMPTS
    # For five minutes it is not asked again, unless the owner insists.
    again = get_forecast(boat(replay, feed), tmp_path, later + timedelta(minutes=2))
    assert len(replay.asked) == asked
    assert any("asked again from " in note for note in said(again.notes))
    get_forecast(boat(replay, feed), tmp_path, later + timedelta(minutes=3), refresh=True)
    assert len(replay.asked) > asked
    replay.weather(later)
    good = get_forecast(boat(replay, feed), tmp_path, later + timedelta(minutes=15))
    assert not [note for note in said(good.notes) if "old" in note]


def test_a_pause_the_service_asks_for_is_kept(
    replay: Any, replay_module: Any, tmp_path: Path
) -> None:
    replay.script(
        replay_module.MET_NORWAY,
        replay_module.Scripted("slow down", 429, {"Retry-After": "1800"}),
    )
    for minutes in (0, 10, 20):
        with pytest.raises(WeatherError, match="no forecast from MET Norway: it asks for fewer"):
            get_forecast(
                boat(replay, "met-norway"),
                tmp_path,
                NOW + timedelta(minutes=minutes),
                refresh=True,
            )
    assert len(replay.asked) == 1
    replay.weather(NOW)
    get_forecast(boat(replay, "met-norway"), tmp_path, NOW + timedelta(minutes=31))
    assert len(replay.asked) == 2


def test_refresh_asks_again_only_where_the_service_has_not_said_when(
    replay: Any, replay_module: Any, tmp_path: Path
) -> None:
    replay.weather(NOW, life=timedelta(minutes=30))
    for minutes in (0, 5):
        at = NOW + timedelta(minutes=minutes)
        get_forecast(boat(replay, "met-norway"), tmp_path, at, refresh=True)
    assert len(replay.asked) == 1
    body = replay_module.open_meteo_body(NOW)
    replay.script(replay_module.OPEN_METEO, replay_module.Scripted(body))  # no Expires
    for minutes in (0, 5):
        at = NOW + timedelta(minutes=minutes)
        get_forecast(boat(replay, "open-meteo"), tmp_path, at, refresh=True)
    assert len(replay.asked) == 3
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW + timedelta(minutes=60))
    assert len(replay.asked) == 3


def test_a_deprecated_version_is_said(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    body = replay_module.met_norway_body(NOW)
    replay.script(replay_module.MET_NORWAY, replay_module.Scripted(body, 203))
    got = get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    again = get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    for forecast in (got, again):
        assert any("soon end the version" in note for note in said(forecast.notes))


def _broken(replay_module: Any) -> dict[str, Any]:
    scripted = replay_module.Scripted
    whole = json.dumps(replay_module.met_norway_body(NOW))
    return {
        "log-in": scripted((DATA / "log_in_first.html").read_text(encoding="utf-8")),
        "cut": scripted(whole[: len(whole) // 2]),
        "other": scripted({"type": "FeatureCollection"}),
        "slow": scripted(whole, delay_s=1.5),
        "bad request": scripted("<h1>Bad request</h1>", 400),
        "outside": scripted("outside", 422),
        "gone": scripted("", 404),
    }


@pytest.mark.parametrize(
    ("fault", "says"),
    [
        ("log-in", "does the network want a log-in first"),
        ("cut", "not whole JSON"),
        ("other", "properties.timeseries"),
        ("slow", "no answer within 0.3 s"),
        ("bad request", "status 400"),
        ("outside", "status 422: outside"),
        ("gone", "status 404"),
    ],
)
def test_a_bad_answer_never_replaces_a_good_one(
    replay: Any, replay_module: Any, fault: str, says: str, tmp_path: Path
) -> None:
    replay.script(replay_module.MET_NORWAY, _broken(replay_module)[fault])
    own = boat(replay, "met-norway", timeout="0.3 s")
    with pytest.raises(WeatherError, match=says) as caught:
        get_forecast(own, tmp_path, NOW)
    assert "\n" not in str(caught.value)
    replay.weather(NOW)
    get_forecast(own, tmp_path, NOW)
    replay.script(replay_module.MET_NORWAY, _broken(replay_module)[fault])
    stale = get_forecast(own, tmp_path, NOW + timedelta(hours=3))
    assert any(
        note.startswith("the forecast is 3 h old") and says[:8] in note
        for note in said(stale.notes)
    )
    offline = get_forecast(own, tmp_path, NOW + timedelta(hours=3, minutes=10), offline=True)
    assert "the forecast is 3 h old: working offline" in said(offline.notes)


def test_offline_makes_no_request(replay: Any, tmp_path: Path) -> None:
    replay.weather(NOW)
    with pytest.raises(WeatherError, match="working offline"):
        get_forecast(boat(replay), tmp_path, NOW, offline=True)
    assert not replay.asked
    get_forecast(boat(replay), tmp_path, NOW)
    fresh = get_forecast(boat(replay), tmp_path, NOW, offline=True)
    assert fresh.notes == ()
    assert len(replay.asked) == 1


def test_a_forecast_that_has_ended_is_none(replay: Any, tmp_path: Path) -> None:
    replay.weather(NOW, days=4)
    get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    replay.fail(500)
    with pytest.raises(WeatherError, match="the last ended 2025-01-11"):
        get_forecast(boat(replay, "met-norway"), tmp_path, NOW + timedelta(days=8))


def test_auto_falls_through_to_the_other_feed(
    replay: Any, replay_module: Any, tmp_path: Path
) -> None:
    replay.weather(NOW)
    assert get_forecast(boat(replay), tmp_path, NOW).source == "Open-Meteo"
    replay.script(replay_module.OPEN_METEO, replay_module.Scripted("", 502))
    later = NOW + timedelta(hours=2)
    other = get_forecast(boat(replay), tmp_path, later)
    assert other.source == "MET Norway"
    assert any(note.startswith("no forecast from Open-Meteo") for note in said(other.notes))
    # What Open-Meteo said of the days before stands in front.
    assert other.times[0] == hour(NOW.replace(hour=0, minute=0) - timedelta(days=3))
    replay.fail(502)
    last = get_forecast(boat(replay), tmp_path, later + timedelta(hours=5))
    assert last.source == "MET Norway"  # the younger of the two
    assert any("the forecast is 5 h old" in note for note in said(last.notes))


def test_auto_with_nothing_is_one_line(replay: Any, tmp_path: Path) -> None:
    replay.fail(500)
    with pytest.raises(WeatherError, match=r"Open-Meteo.*; no forecast from MET Norway") as caught:
        get_forecast(boat(replay), tmp_path, NOW)
    assert "\n" not in str(caught.value)


def test_past_hours_are_put_in_front(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    own = boat(replay, "met-norway")
    starts = [NOW + timedelta(hours=h) for h in (0, 5, 9)]
    for i, start in enumerate(starts):
        body = replay_module.met_norway_body(
            start, weather=lambda _, t=float(i): (t, -2.0, 3.0, 0.4, 1.0)
        )
        replay.script(replay_module.MET_NORWAY, replay_module.Scripted(body))
        got = get_forecast(own, tmp_path, start)
    assert got.times[0] == hour(NOW.replace(minute=0))
    assert (np.diff(got.times) == np.timedelta64(600, "s")).all()

    def temp(moment: datetime) -> float:
        return float(got.temp_c[0, np.flatnonzero(got.times == hour(moment))[0]])

    full = NOW.replace(minute=0)
    # Each hour as the last forecast before it said: 0 °C, then 1, then 2.
    assert temp(full + timedelta(hours=4)) == 0.0
    assert temp(full + timedelta(hours=5)) == 1.0
    assert temp(full + timedelta(hours=8)) == 1.0
    assert temp(full + timedelta(hours=9)) == 2.0
    assert np.isfinite(got.rain_mm_h).all()
    # Unused for ten days: hours forecast up to three days before count, the rest is unknown.
    start = NOW + timedelta(days=10)
    replay.script(
        replay_module.MET_NORWAY, replay_module.Scripted(replay_module.met_norway_body(start))
    )
    got = get_forecast(own, tmp_path, start)
    known = np.isfinite(got.temp_c[0])
    assert known[got.times <= hour(full + timedelta(hours=9 + 71))].all()
    assert not known[
        (got.times > hour(full + timedelta(hours=9 + 73)))
        & (got.times < hour(start.replace(minute=0)))
    ].any()
    assert any("some past hours" in note for note in said(got.notes))


@pytest.mark.parametrize("content", ["", "{", "[]", '{"format": 1}', "\x00\xff", '{"format":9}'])
def test_a_corrupt_cache_is_one_warning_and_a_new_request(
    replay: Any, content: str, tmp_path: Path, own_cache: Path, caplog: pytest.LogCaptureFixture
) -> None:
    replay.weather(NOW)
    get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    (kept,) = own_cache.glob("met-norway-*.json")
    kept.write_text(content, encoding="latin-1")
    caplog.clear()
    got = get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    assert len(replay.asked) == 2
    assert [note.kind for note in got.notes] == ["sun estimated"]
    assert [record.levelname for record in caplog.records if record.levelno >= 30] == ["WARNING"]


def test_a_kept_body_of_another_shape(
    replay: Any, tmp_path: Path, own_cache: Path, caplog: pytest.LogCaptureFixture
) -> None:
    replay.weather(NOW)
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW)
    (kept,) = own_cache.glob("open-meteo-*.json")
    data = json.loads(kept.read_text())
    data["body"] = {"hourly": 3}
    kept.write_text(json.dumps(data))
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW)
    assert len(replay.asked) == 2
    assert "if-modified-since" not in replay.asked[1].headers


@pytest.mark.parametrize("content", ["{", '{"format": 1, "time": [1, 2], "lead_h": [0]}'])
def test_corrupt_past_hours_are_begun_anew(
    replay: Any, content: str, tmp_path: Path, own_cache: Path, caplog: pytest.LogCaptureFixture
) -> None:
    replay.weather(NOW)
    get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    (past,) = own_cache.glob("past-*.json")
    past.write_text(content)
    got = get_forecast(boat(replay, "met-norway"), tmp_path, NOW)
    assert got.times[0] == hour(NOW.replace(minute=0))
    assert len([record for record in caplog.records if record.levelno >= 30]) == 1


def test_a_cache_that_cannot_be_written_is_done_without(
    replay: Any, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    replay.weather(NOW)
    in_the_way = tmp_path / "file"
    in_the_way.write_text("")
    for _ in range(2):
        get_forecast(boat(replay, "met-norway"), tmp_path, NOW, cache_dir=in_the_way / "cache")
    assert len(replay.asked) == 2
    assert caplog.records


def test_a_what_if_ahead_of_the_clock_does_not_stamp_the_future(
    replay: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(ask, "_clock", lambda: NOW)
    replay.weather(NOW)
    got = get_forecast(boat(replay, "open-meteo"), tmp_path, NOW + timedelta(days=2))
    assert got.fetched_at == NOW
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW + timedelta(days=2))
    assert len(replay.asked) == 1
    # And one back in time is answered from what is there.
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW - timedelta(days=1))
    assert len(replay.asked) == 1


def test_an_answer_stamped_by_a_wrong_clock_is_asked_anew(
    replay: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    monkeypatch.setattr(ask, "_clock", lambda: NOW + timedelta(days=3))
    replay.weather(NOW)
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW + timedelta(days=3))
    monkeypatch.setattr(ask, "_clock", lambda: NOW)
    get_forecast(boat(replay, "open-meteo"), tmp_path, NOW)
    assert len(replay.asked) == 2
    assert "stamped in the future" in caplog.text


def test_the_platform_s_folder_is_the_last_choice(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    from curewindow.weather.cache import cache_folder

    assert cache_folder(tmp_path / "a") == tmp_path / "a"
    monkeypatch.setenv("CUREWINDOW_CACHE", str(tmp_path / "b"))
    assert cache_folder() == tmp_path / "b"
    monkeypatch.delenv("CUREWINDOW_CACHE")
    assert cache_folder().name == "curewindow"


def test_weather_from_a_file(replay: Any, tmp_path: Path) -> None:
    (tmp_path / "log.csv").write_text(
        "time,temp_c,rh_pct\n2025-01-07T00:00Z,4,80\n2025-01-07T06:00Z,5,80\n2025-01-08T00:00Z,4,90\n"
        "2025-01-07T12:00Z,7,70\n2025-01-07T18:00Z,5,85\n"
    )
    got = get_forecast(boat(replay, "file", file="log.csv"), tmp_path, NOW)
    assert got.source == "log.csv"
    assert not replay.asked
    with pytest.raises(WeatherError, match=r"ends 2025-01-08 \d\d:00, asked about 2025-01-\d\d"):
        get_forecast(boat(replay, "file", file="log.csv"), tmp_path, NOW + timedelta(days=2))
    with pytest.raises(WeatherError, match=r"begins 2025-01-07 \d\d:00, asked about 2024-"):
        get_forecast(boat(replay, "file", file="log.csv"), tmp_path, NOW - timedelta(days=20))
    with pytest.raises(BoatError, match=r"weather\.file"):
        get_forecast(boat(replay, "file"), tmp_path, NOW)
    with pytest.raises(InputFileError, match="no such file"):
        get_forecast(boat(replay, "file", file="other.csv"), tmp_path, NOW)
    with pytest.raises(InputFileError, match=r"ending '\.xls' is not known"):
        get_forecast(boat(replay, "file", file="log.xls"), tmp_path, NOW)


def test_now_must_be_aware(replay: Any, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="aware"):
        get_forecast(boat(replay), tmp_path, datetime(2025, 1, 7))  # noqa: DTZ001
