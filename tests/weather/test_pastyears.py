"""Past years from the archive and from files: the same days, on this year's calendar."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from curewindow.boat.schema import Boat, Place, WeatherChoice
from curewindow.errors import BoatError, InputFileError, WeatherError
from curewindow.weather import http
from curewindow.weather.pastyears import past_years
from tests.voiced import said

NOW = datetime(2026, 11, 25, 8, 30, tzinfo=UTC)
UNTIL = NOW + timedelta(days=60)
PLACE = Place(latitude=52.3702, longitude=4.9, time_zone="Europe/Amsterdam")


@pytest.fixture(autouse=True)
def no_pauses(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(http, "_sleep", lambda seconds: None)
    monkeypatch.delenv("CUREWINDOW_OPEN_METEO_KEY", raising=False)


def boat(base: str | None = None, feed: str = "auto", **more: Any) -> Boat:
    weather = {"feed": feed, "base_address": base, "timeout": "20 s"} | more
    return Boat(name="Test", place=PLACE, weather=WeatherChoice.model_validate(weather))


def year_of(replay_module: Any, first: date, last: date) -> dict[str, Any]:
    """An archive's answer in which each hour's temperature tells its year and day.

    Hundredths: the day of the year; whole degrees: the year less 2015.
    """
    start = datetime(first.year, first.month, first.day, tzinfo=UTC)
    days = (last - first).days + 1
    body: dict[str, Any] = replay_module.open_meteo_body(start, past_days=0, days=days)
    hourly = body["hourly"]
    moments = [datetime.fromtimestamp(at, UTC) for at in hourly["time"]]
    hourly["temperature_2m"] = [m.year - 2015 + m.timetuple().tm_yday / 100 for m in moments]
    hourly["dew_point_2m"] = [-2.0 for _ in moments]
    return body


def serve(replay: Any, replay_module: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each span the archive is asked for is answered with that span."""

    def answer(path: str) -> Any:
        query = replay.asked[-1].query
        first, last = (date.fromisoformat(query[key]) for key in ("start_date", "end_date"))
        return replay_module.Scripted(year_of(replay_module, first, last))

    monkeypatch.setattr(replay, "_answer", answer)


def test_each_year_lies_on_the_days_asked_about(
    replay: Any, replay_module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    serve(replay, replay_module, monkeypatch)
    got = past_years(boat(replay.base_address), tmp_path, 3, now=NOW, until=UNTIL)
    assert got.years == ("2025-26", "2024-25", "2023-24")
    assert got.missing == ()
    assert got.weather.members == 3
    assert got.weather.times[0] == np.datetime64("2026-11-11T08:30:00")
    assert got.weather.times[-1] == np.datetime64("2027-01-24T08:30:00")
    at = int(np.flatnonzero(got.weather.times == np.datetime64("2026-11-25T09:00:00"))[0])
    # 25 November is day 329 of a common year and day 330 of 2024.
    want = [2025 - 2015 + 3.29, 2024 - 2015 + 3.30, 2023 - 2015 + 3.29]
    assert got.weather.temp_c[:, at] == pytest.approx(want)
    # Over the new year without a seam: the answers overlap by a day.
    assert np.isfinite(got.weather.temp_c).all()
    assert [one.members for one in got.each()] == [1, 1, 1]
    assert got.each()[1].temp_c[0, at] == pytest.approx(want[1])
    assert "not what comes" in " ".join(said(got.weather.notes))


def test_a_calendar_year_is_asked_for_once(
    replay: Any, replay_module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    serve(replay, replay_module, monkeypatch)
    own = boat(replay.base_address)
    past_years(own, tmp_path, 3, now=NOW, until=UNTIL)
    spans = [(asked.query["start_date"], asked.query["end_date"]) for asked in replay.asked]
    assert spans == [
        ("2025-01-01", "2026-01-01"),
        ("2026-01-01", "2026-10-31"),  # whole months that are past: the same for a month
        ("2024-01-01", "2025-01-01"),
        ("2023-01-01", "2024-01-01"),
    ]
    for days in (0, 2):
        past_years(own, tmp_path, 3, now=NOW + timedelta(days=days), until=UNTIL)
    assert len(replay.asked) == 4
    replay.asked.clear()
    past_years(own, tmp_path, 3, now=NOW, until=UNTIL, offline=True)
    assert replay.asked == []


def test_a_year_not_yet_over_is_not_a_past_year(
    replay: Any, replay_module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    serve(replay, replay_module, monkeypatch)
    until = NOW + timedelta(days=364)
    got = past_years(boat(replay.base_address), tmp_path, 2, now=NOW, until=until)
    assert got.years == ("2024-25", "2023-24")


def test_the_leap_day_has_a_place(
    replay: Any, replay_module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    serve(replay, replay_module, monkeypatch)
    now = datetime(2028, 2, 29, 12, 0, tzinfo=UTC)
    got = past_years(boat(replay.base_address), tmp_path, 5, now=now, until=now + timedelta(days=9))
    assert got.years == ("2027", "2026", "2025", "2024", "2023")
    assert np.isfinite(got.weather.temp_c).all()


def test_nothing_to_be_had_is_one_clear_line(
    replay: Any, replay_module: Any, tmp_path: Path
) -> None:
    replay.script(replay_module.ARCHIVE, replay_module.Scripted("", 503))
    with pytest.raises(WeatherError, match=r"no weather of past years: .*503.*past = ") as caught:
        past_years(boat(replay.base_address), tmp_path, 10, now=NOW, until=UNTIL)
    assert "\n" not in str(caught.value)
    assert str(caught.value).count("503") == 1
    # After one refusal the service is left alone: not ten times three tries.
    assert len({asked.query["start_date"] for asked in replay.asked}) == 1
    with pytest.raises(WeatherError, match=r"no weather of past years: .*working offline"):
        past_years(boat("http://127.0.0.1:1"), tmp_path, 2, now=NOW, until=UNTIL, offline=True)


def test_years_that_failed_are_named(
    replay: Any, replay_module: Any, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    own = boat(replay.base_address)
    with monkeypatch.context() as served:
        serve(replay, replay_module, served)
        past_years(own, tmp_path, 1, now=NOW, until=UNTIL)
    replay.script(replay_module.ARCHIVE, replay_module.Scripted("", 500))
    got = past_years(own, tmp_path, 3, now=NOW, until=UNTIL)
    assert got.years == ("2025-26",)
    assert [each.label for each in got.missing] == ["2024-25", "2023-24"]


def test_by_hand_and_from_a_file_nothing_is_asked(tmp_path: Path) -> None:
    with pytest.raises(WeatherError, match=r"nothing is asked of a network.*'open-meteo'"):
        past_years(boat(feed="by-hand"), tmp_path, 5, now=NOW)
    with pytest.raises(InputFileError, match="no such file"):
        past_years(boat(feed="file", file="weather.csv"), tmp_path, 5, now=NOW)
    with pytest.raises(BoatError, match="the one or the others"):
        past_years(boat(past=["open-meteo", "a.csv"]), tmp_path, 5, now=NOW)
    with pytest.raises(InputFileError, match=r"\.epw or \.csv"):
        past_years(boat(past=["a.xls"]), tmp_path, 5, now=NOW)


def lines(first: datetime, last: datetime) -> list[str]:
    hours = int((last - first) / timedelta(hours=1))
    moments = [first + timedelta(hours=hour) for hour in range(hours + 1)]
    return [f"{m:%Y-%m-%dT%H:%MZ},{m.year - 2015},-5" for m in moments]


def test_own_years_from_a_csv(tmp_path: Path) -> None:
    rows = lines(datetime(2022, 6, 1, tzinfo=UTC), datetime(2023, 6, 1, tzinfo=UTC))
    rows += lines(datetime(2023, 12, 20, tzinfo=UTC), datetime(2026, 6, 1, tzinfo=UTC))
    (tmp_path / "years.csv").write_text("\n".join(["time,temp_c,dew_point_c", *rows]))
    own = boat(past=["years.csv"])
    got = past_years(own, tmp_path, 9, now=NOW, until=UNTIL)
    # Of winter 2023-24 the first half is missing.
    assert got.years == ("2025-26", "2024-25", "2022-23")
    assert any(each.label == "2023-24" and each.why.startswith("only") for each in got.missing)
    assert got.weather.temp_c[:, 0] == pytest.approx([10.0, 9.0, 7.0])
    assert past_years(own, tmp_path, 1, now=NOW, until=UNTIL).years == ("2025-26",)


def test_a_file_of_the_present_has_no_past_year(tmp_path: Path) -> None:
    rows = lines(NOW - timedelta(days=7), NOW + timedelta(days=14))
    (tmp_path / "weather.csv").write_text("\n".join(["time,temp_c,dew_point_c", *rows]))
    with pytest.raises(WeatherError, match="does not reach back to these days a year ago"):
        past_years(boat(feed="file", file="weather.csv"), tmp_path, 5, now=NOW, until=UNTIL)


def test_a_wish_without_sense() -> None:
    for years in (0, 61):
        with pytest.raises(ValueError, match="years must be"):
            past_years(boat(), Path(), years, now=NOW)
    with pytest.raises(ValueError, match="days"):
        past_years(boat(), Path(), 1, now=NOW, until=NOW + timedelta(days=500))
    with pytest.raises(ValueError, match="aware"):
        past_years(boat(), Path(), 1, now=NOW.replace(tzinfo=None))
