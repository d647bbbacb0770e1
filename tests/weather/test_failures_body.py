"""Every way a feed is known to fail, against every feed: body, calendar, globe and clock."""

from __future__ import annotations

import copy
import json
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from curewindow.errors import WeatherError
from curewindow.weather import ask, get_forecast, http
from tests.voiced import said
from tests.weather.conftest import (
    FEEDS,
    MARKED,
    NOW,
    REFUSED,
    boat,
    body_of,
    moved,
    path_of,
    sound,
)


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(http, "_sleep", lambda seconds: None)


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
        assert any("no weather known from" in note for note in said(got.notes))
    if "451" in kind or "999" in kind or kind == "infinity" or "digits" in kind:
        assert "1 value of temperature beyond anything measured is left out" in said(got.notes)


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
    assert any("the weather begins only " in note for note in said(got.notes)), said(got.notes)


def test_a_forecast_long_made_is_said(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    for feed in ("met-norway", "nws"):
        body = body_of(replay_module, feed, NOW - timedelta(hours=50))
        replay.weather(NOW)
        replay.script(path_of(replay_module, feed), replay_module.Scripted(body))
        got = get_forecast(boat(replay.base_address, feed), tmp_path, NOW)
        assert any("has not renewed it since" in note for note in said(got.notes)), feed


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
    state = "ahead" if days > 0 else "behind"
    # Where the answer does not reach the day our clock shows, that is an error at once.
    if abs(days) > 3:
        with pytest.raises(WeatherError, match="nothing is known of it"):
            get_forecast(own, tmp_path, wrong)
        assert f"clock is {abs(days) * 24} h off" in caplog.text
        assert state in caplog.text
        return
    got = get_forecast(own, tmp_path, wrong)
    (clock,) = [note for note in got.notes if note.kind == "clock wrong"]
    assert clock.number("hours") == pytest.approx(abs(days) * 24, abs=1)
    assert clock.text("state") == state
    late = any("the weather begins only " in note for note in said(got.notes))
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
    assert not [note for note in said(what_if.notes) if "clock" in note]


def test_dates_of_no_use_in_the_headers(replay: Any, replay_module: Any, tmp_path: Path) -> None:
    body = body_of(replay_module, "met-norway")
    for i, value in enumerate(["", "yesterday", "Tue, 99 Jan 2025 99:00:00 GMT", "0", "9" * 99]):
        headers = {"Expires": value, "Date": value, "Age": value, "Last-Modified": value}
        replay.script(replay_module.MET_NORWAY, replay_module.Scripted(body, headers=headers))
        own = boat(replay.base_address, "met-norway")
        got = get_forecast(own, tmp_path, NOW, cache_dir=tmp_path / str(i))
        sound(got)
