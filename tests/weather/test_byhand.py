"""Weather written down by hand: days, readings, and what is wrong with them."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from curewindow.boat.hours import sun_altitude
from curewindow.boat.schema import Boat, Place, WeatherChoice
from curewindow.errors import InputFileError, WeatherError
from curewindow.physics.air import dew_point_from_pressure
from curewindow.weather import get_forecast
from curewindow.weather.byhand import read_by_hand
from curewindow.weather.dailycourse import daily_course, turning_points
from curewindow.weather.forecast import Forecast
from curewindow.weather.persistence import OutdoorAir, same_weather
from tests.voiced import said

PLACE = Place(latitude=52.37, longitude=4.9, time_zone="Europe/Amsterdam")
NOW = datetime(2026, 12, 1, 9, 0, tzinfo=UTC)
DAYS = """
written = 2026-12-01T08:00:00+01:00
[[day]]
date = 2026-12-01
low = "2 °C"
high = "6 °C"
dew_point = "1 °C"
rain = "0 mm"
wind = "5 m/s"
cloud = "80 %"
[[day]]
date = 2026-12-02
low = "30.2 °F"
high = "4 °C"
rain = "12 mm"
"""


def write(folder: Path, text: str, name: str = "weather.toml") -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def local(forecast: Forecast, day: int) -> np.ndarray:
    """Which instants lie within a day of December, Amsterdam winter time."""
    begin = np.datetime64(f"2026-12-{day:02d}T00:00:00") - np.timedelta64(3600, "s")
    inside: np.ndarray = (forecast.times >= begin) & (
        forecast.times < begin + np.timedelta64(1, "D")
    )
    return inside


def test_days(tmp_path: Path) -> None:
    got = read_by_hand(write(tmp_path, DAYS), NOW, place=PLACE)
    first, second = local(got, 1), local(got, 2)
    # The next night begins before midnight and is colder.
    assert got.temp_c[0, first][: 6 * 14].min() == pytest.approx(2.0, abs=0.01)
    assert got.temp_c[0, first].max() == pytest.approx(6.0, abs=0.01)
    assert got.temp_c[0, second].min() == pytest.approx(-1.0, abs=0.01)
    assert got.temp_c[0, second].max() == pytest.approx(4.0, abs=0.01)
    noon = int(np.flatnonzero(got.times == np.datetime64("2026-12-01T11:00:00"))[0])
    assert dew_point_from_pressure(got.vapour_pa[0, noon]) == pytest.approx(1.0, abs=0.05)
    # No dew point written: the low (FAO Irrigation and Drainage Paper 56, eq. 48).
    noon += 144
    assert dew_point_from_pressure(got.vapour_pa[0, noon]) == pytest.approx(-1.0, abs=0.05)
    assert (got.rain_mm_h[0, first] == 0.0).all()
    assert got.rain_mm_h[0, noon] == pytest.approx(0.5)  # 12 mm over 24 h
    assert got.wind_ms[0, first][6] == 5.0
    assert np.isnan(got.wind_ms[0, second][6:]).all()
    assert got.sun_w_m2[0, first].max() > 0.0
    assert got.source == "by hand (weather.toml)"
    assert got.fetched_at == NOW.replace(hour=7)
    assert said(got.notes)[0].startswith("weather by hand (weather.toml), written 2 h ago")
    assert got.gap_h.min() > 6.0


def test_doubt_grows_from_when_it_was_written(tmp_path: Path) -> None:
    days = "".join(
        f'[[day]]\ndate = 2026-12-{day:02d}\nlow = "2 °C"\nhigh = "6 °C"\n' for day in range(1, 9)
    )
    fresh = read_by_hand(
        write(tmp_path, f"written = 2026-12-01T00:00:00Z\n{days}"), NOW, place=PLACE
    )
    old = read_by_hand(write(tmp_path, f"written = 2026-11-27T00:00:00Z\n{days}"), NOW, place=PLACE)
    spread = fresh.temp_c.std(axis=0)
    assert fresh.members > 1
    assert spread[-144:].mean() > 1.5 * spread[:144].mean()
    assert old.temp_c.std(axis=0)[:144].mean() > 1.3 * spread[:144].mean()
    assert "4 d ago" in said(old.notes)[0]


def test_a_csv_of_days(tmp_path: Path) -> None:
    text = "# off the radio\ndate,low_c,high_c,dew_point_c,rain_mm\n2026-12-01,2,6,1,0\n"
    got = read_by_hand(write(tmp_path, text, "days.csv"), NOW, place=PLACE)
    same = read_by_hand(write(tmp_path, DAYS), NOW, place=PLACE)
    first = local(got, 1)
    # Up to the evening, where the other table has a colder night before it.
    early = np.flatnonzero(first)[: 6 * 14]
    assert got.temp_c[0, early] == pytest.approx(same.temp_c[0, early])
    assert "not said when" in said(got.notes)[0]


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "no \\[\\[day\\]\\] yet"),
        ('[[day]]\ndate = 2026-12-01\nlow = "7 °C"\nhigh = "6 °C"', "low, 7 °C, is above the high"),
        ('[[day]]\ndate = 2026-12-01\nlow = "7"\nhigh = "9 °C"', "low"),
        ('[[day]]\ndate = 2026-12-01\nlow = "7 °C"\nhihg = "9 °C"', "high"),
        (
            '[[day]]\ndate = 2026-12-01\nlow="1 °C"\nhigh="9 °C"\ndew_point="12 °C"',
            "above the high",
        ),
        ('[[day]]\ndate = 2026-12-01\nlow="1 °C"\nhigh="9 °C"\n' * 2, "two days of 2026-12-01"),
        (
            'written = 2026-12-09T00:00:00Z\n[[day]]\ndate=2026-12-01\nlow="1 °C"\nhigh="9 °C"',
            "still",
        ),
        ('[[reading]]\nat=2026-12-01T08:00:00Z\ntemperature="3 °C"', "'humidity' or 'dew_point'"),
        ('[[reading]]\nat=2026-12-01T08:00:00\ntemperature="3 °C"\nhumidity="9 %"', "at"),
        ('[[reading]]\nat=2026-12-03T08:00:00Z\ntemperature="3 °C"\nhumidity="9 %"', "to come"),
        ('[[reading]]\nat=2026-11-28T08:00:00Z\ntemperature="3 °C"\nhumidity="90 %"', "73 h old"),
    ],
)
def test_what_is_wrong_with_it(text: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(InputFileError, match=says) as caught:
        read_by_hand(write(tmp_path, text), NOW, place=PLACE)
    assert "weather.toml" in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "must name date"),
        ("date,low_c,high_c,colour\n", "not 'colour'"),
        ("date,low_c,high_c\n", "no rows"),
        ("date,low_c,high_c\n2026-12-01,1\n", "as many cells"),
        ("date,low_c,high_c\n2026-12-01,1,2,3\n", "as many cells"),
        ("date,low_c,high_c\n2026-12-01,cold,2\n", "day 1: low"),
        ("date,low_c,high_c\n1 Dec,1,2\n", "day 1: date"),
    ],
)
def test_what_is_wrong_with_a_csv(text: str, says: str, tmp_path: Path) -> None:
    with pytest.raises(InputFileError, match=says) as caught:
        read_by_hand(write(tmp_path, text, "days.csv"), NOW, place=PLACE)
    assert "\n" not in str(caught.value)


def test_by_the_boat_s_choice(tmp_path: Path) -> None:
    own = Boat(name="Test", place=PLACE, weather=WeatherChoice(feed="by-hand"))
    with pytest.raises(InputFileError, match=r"weather\.toml: there is no such file"):
        get_forecast(own, tmp_path, NOW)
    write(tmp_path, DAYS)
    assert get_forecast(own, tmp_path, NOW).source == "by hand (weather.toml)"
    with pytest.raises(WeatherError, match="nothing is known of it"):
        get_forecast(own, tmp_path, NOW + timedelta(days=3))


def test_a_missing_day_is_unknown(tmp_path: Path) -> None:
    days = "".join(
        f'[[day]]\ndate = 2026-12-{day:02d}\nlow = "2 °C"\nhigh = "6 °C"\n' for day in (1, 2, 4)
    )
    got = read_by_hand(write(tmp_path, days), NOW, place=PLACE)
    inside = local(got, 3)
    assert np.isnan(got.temp_c[:, inside][:, 6:-6]).all()
    assert np.isfinite(got.temp_c[:, local(got, 4)]).all()


def test_low_at_sunrise_high_in_the_afternoon() -> None:
    low, high = turning_points(PLACE, date(2026, 3, 20))
    # Royal tables of the equinox: at 4.9° E the sun rises about 06:44 CET and is highest about
    # 12:48 CET (05:44 and 11:48 UTC; from the equation of time, -7.5 min on this day).
    assert abs(low - np.datetime64("2026-03-20T05:44:00")) < np.timedelta64(4, "m")
    assert abs(high - np.datetime64("2026-03-20T14:18:00")) < np.timedelta64(4, "m")


@pytest.mark.parametrize("day", [date(2026, 6, 21), date(2026, 12, 21)])
@pytest.mark.parametrize("latitude", [78.2, -77.8, 0.0])
def test_polar_day_and_night_have_a_course_too(latitude: float, day: date) -> None:
    place = Place(latitude=latitude, longitude=15.6, time_zone="Arctic/Longyearbyen")
    low, high = turning_points(place, day)
    assert np.timedelta64(5, "h") <= high - low <= np.timedelta64(11, "h")
    sun = sun_altitude(latitude, 15.6, np.array([low, high]))
    assert sun[1] >= sun[0] - 1e-9


def test_days_the_clocks_change() -> None:
    for first, hours in ((date(2026, 3, 28), 71), (date(2026, 10, 24), 73)):
        days = [first + timedelta(days=i) for i in range(3)]
        times, temp, _ = daily_course(PLACE, days, np.zeros(3), np.full(3, 10.0))
        assert (times[-1] - times[0]) / np.timedelta64(3600, "s") == hours
        assert np.isfinite(temp).all()


def test_the_course_against_a_textbook() -> None:
    """Campbell and Norman (1998), equation 2.2, hours from the sun's midnight."""
    place = Place(latitude=40.0, longitude=0.0, time_zone="UTC")
    days = [date(2026, 3, 20) + timedelta(days=i) for i in range(3)]
    times, temp, _ = daily_course(place, days, np.zeros(3), np.ones(3))
    middle = (times >= np.datetime64("2026-03-21")) & (times < np.datetime64("2026-03-22"))
    hour = (times[middle] - np.datetime64("2026-03-21T00:07:30")) / np.timedelta64(3600, "s")
    turn = np.pi / 12.0 * hour
    book = 0.44 - 0.46 * np.sin(turn + 0.9) + 0.11 * np.sin(2.0 * turn + 0.9)
    apart = temp[middle] - book
    assert abs(float(apart.mean())) < 0.02
    assert float(np.abs(apart).max()) < 0.10  # of the day's swing


def reading(hours_ago: float, temp: float, vapour: float = 600.0) -> OutdoorAir:
    return OutdoorAir(NOW - timedelta(hours=hours_ago), temp, vapour)


def test_the_same_weather_goes_on() -> None:
    got = same_weather([reading(0, 8.0), reading(12, 4.0)], NOW)
    lead = (got.times - np.datetime64("2026-12-01T09:00:00")) / np.timedelta64(3600, "s")
    # The mean of the readings is 6 °C; 2 K above it die away by a factor e in 24 hours.
    for hours, want in [(0, 8.0), (24, 6.0 + 2.0 / np.e), (72, 6.0 + 2.0 / np.e**3)]:
        assert got.temp_c[0, np.flatnonzero(lead == hours)[0]] == pytest.approx(want, abs=1e-6)
    assert lead[-1] == 72.0
    spread = got.temp_c.std(axis=0)
    assert spread[lead > 60].mean() > spread[(lead >= 0) & (lead < 6)].mean()
    assert np.isnan(got.rain_mm_h).all()
    assert "by hand: the weather of 2 readings outdoors is taken to go on" in said(got.notes)[0]
    assert "no forecast stands behind it" in said(got.notes)[0]


def test_a_day_of_readings_shows_the_day_s_swing() -> None:
    found = [reading(h, 5.0 + 3.0 * np.cos(2 * np.pi * (h + 5.0) / 24.0)) for h in range(0, 25, 3)]
    got = same_weather(found, NOW)
    ahead = got.times > np.datetime64("2026-12-02T09:00:00")
    assert np.ptp(got.temp_c[0, ahead]) == pytest.approx(6.0, abs=0.3)
    flat = same_weather(found[:2], NOW)
    assert np.ptp(flat.temp_c[0, flat.times > np.datetime64("2026-12-02T09:00:00")]) < 1.0
    begin = int(np.flatnonzero(flat.times == np.datetime64("2026-12-01T09:00:00"))[0])
    # Not knowing the swing is an error of its own.
    assert flat.temp_c[:, begin].std() > 1.5


@pytest.mark.parametrize("count", [1, 2, 5])
def test_few_readings_never_invent(count: int) -> None:
    found: list[Any] = [reading(0.5 * i, 3.0 + 0.2 * i) for i in range(count)]
    got = same_weather(found, NOW)
    assert np.ptp(got.temp_c[0]) < 1.0
    assert np.isfinite(got.vapour_pa).all()
