"""A place's difference from its grid: recovered within its stated doubt, and not from bad readings.

Truth and forecasts are drawn here by hand; nothing of the code under test makes them.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np
import pytest

from curewindow.boat.schema import Place
from curewindow.calibration.place import PlaceLesson, learn_place
from curewindow.physics.air import relative_humidity
from curewindow.record.entries import Reading
from curewindow.weather.kept_forecasts import KeptForecast
from curewindow.weather.local import (
    Difference,
    PlaceDifference,
    as_finding,
    corrected,
    shares,
)
from curewindow.weather.packed import Packed
from tests.voiced import said

PLACE = Place(latitude=52.0, longitude=5.0, time_zone="UTC")
START = datetime(2026, 1, 1, tzinfo=UTC)


@dataclass
class Winter:
    """Forecasts every six hours with errors of their own, and readings in a cold valley."""

    seed: int
    days: int = 40
    clear_k: float = -3.0
    dull_k: float = -0.5
    day_k: float = 0.0
    error_k: float = 1.0
    every_h: float = 4.0

    def __post_init__(self) -> None:
        rng = np.random.default_rng(self.seed)
        hours = np.arange(self.days * 24 + 48)
        self.times = np.datetime64("2026-01-01", "s") + hours * np.timedelta64(3600, "s")
        self.cloud = np.clip(np.repeat(rng.choice([0.05, 0.95], self.days + 2), 24), 0, 1)
        self.grid = 4.0 + 2.0 * np.cos((hours % 24 - 14) / 24 * 2 * np.pi)
        self.grid = self.grid + np.repeat(rng.normal(0, 3, self.days + 2), 24)
        weight = shares(PLACE, self.times, self.cloud)
        self.true = self.grid + self.day_k * weight[0] + self.clear_k * weight[1]
        self.true = self.true + self.dull_k * weight[2]
        self.rng = rng

    def forecasts(self) -> Iterator[KeptForecast]:
        for made in range(0, self.days * 24, 6):
            inside = slice(made, made + 30)
            count = self.times[inside].size
            # errs alike for half a day or so
            wrong = self.rng.normal(0.0, self.error_k) * np.exp(-np.arange(count) / 48.0)
            temp = (self.grid[inside] + wrong)[None]
            columns = {
                "temp_c": temp,
                "dew_point_c": temp - 2.0,
                "wind_ms": np.full(temp.shape, 2.0),
                "rain_mm_h": np.zeros(temp.shape),
                "cloud_frac": self.cloud[inside][None],
                "sun_w_m2": np.zeros(temp.shape),
            }
            yield KeptForecast(
                "feed",
                START + timedelta(hours=made),
                Packed(self.times[inside], columns),
            )

    def readings(self, count: int | None = None) -> list[Reading]:
        found = []
        seconds = self.times.astype(np.int64)
        for step in np.arange(1.0, self.days * 24.0, self.every_h)[:count]:
            at = START + timedelta(hours=float(step))
            air = float(np.interp(at.timestamp(), seconds, self.true)) + self.rng.normal(0.0, 0.3)
            # the dew point lies two degrees below the grid's temperature, wherever read
            dew = float(np.interp(at.timestamp(), seconds, self.grid)) - 2.0
            rh = float(relative_humidity(air, min(dew, air)))
            found.append(Reading("outdoors", at, air_c=air, rh_pct=min(rh, 100.0)))
        return found

    def learn(self, count: int | None = None) -> PlaceLesson:
        lesson = learn_place(PLACE, list(self.forecasts()), self.readings(count))
        assert lesson is not None
        return lesson


def test_a_known_difference_is_recovered_within_its_stated_doubt() -> None:
    """Of 30 winters the truth lies within two standard errors in nearly all, as it should."""
    inside, off = 0, []
    for seed in range(30):
        winter = Winter(seed)
        found = winter.learn().found.parts["on clear nights"]
        inside += abs(found.temp_k - winter.clear_k) <= 2.0 * found.temp_doubt_k
        off.append(found.temp_k - winter.clear_k)
        assert found.temp_doubt_k < 1.0
        assert found.used_temp_k < -1.5
    assert inside >= 27
    assert abs(float(np.mean(off))) < 0.4  # drawn towards none a little, and that is meant


def test_a_place_like_its_grid_is_left_alone() -> None:
    used = [Winter(seed, clear_k=0.0, dull_k=0.0).learn().found.is_used for seed in range(30)]
    assert sum(used) <= 3


def test_few_readings_teach_little() -> None:
    few = Winter(1).learn(count=6)
    assert not few.found.is_used
    many = Winter(1).learn()
    for times, part in few.found.parts.items():
        assert part.temp_doubt_k > many.found.parts[times].temp_doubt_k


def test_what_looks_better_needs_more_proof() -> None:
    colder = Difference(-1.0, 0.4, 0.0, 1.0, 50, 20)
    warmer = replace(colder, temp_k=1.0)
    assert colder.used_temp_k == -1.0
    assert warmer.used_temp_k == 0.0
    damper = Difference(0.0, 1.0, 1.0, 0.4, 50, 20)
    assert damper.used_dew_k == 1.0
    assert replace(damper, dew_k=-1.0).used_dew_k == 0.0


def _bad(reading: Reading, air_c: float) -> Reading:
    return replace(reading, air_c=air_c)


def test_a_sensor_in_the_sun_teaches_nothing() -> None:
    """Readings 6 K too warm whenever the sun is out: the forecast says when that is."""
    winter = Winter(2, clear_k=0.0, dull_k=0.0)
    clock = winter.times.astype(np.int64) // 3600 % 24
    sunny = (clock >= 10) & (clock <= 15) & (winter.cloud < 0.5)
    sun = np.where(sunny, 300.0, 0.0)
    forecasts = []
    for kept in winter.forecasts():
        at = np.searchsorted(winter.times, kept.hours.times)
        columns = {**kept.hours.columns, "sun_w_m2": sun[at][None]}
        forecasts.append(replace(kept, hours=Packed(kept.hours.times, columns)))
    readings = [
        _bad(r, r.air_c + 6.0) if 10 <= r.at.hour <= 15 and _at(winter, sun, r.at) > 0 else r
        for r in winter.readings()
        if r.air_c is not None
    ]
    lesson = learn_place(PLACE, forecasts, readings)
    assert lesson is not None
    assert lesson.left_out["sun"] > 20
    assert not lesson.found.is_used


def _at(winter: Winter, values: Any, at: datetime) -> float:
    return float(np.interp(at.timestamp(), winter.times.astype(np.int64), values))


def test_fahrenheit_and_stuck_sensors_teach_nothing() -> None:
    winter = Winter(3, clear_k=0.0, dull_k=0.0)
    readings = winter.readings()
    wrong = [_bad(r, r.air_c * 1.8 + 32.0) for r in readings[:10] if r.air_c is not None]
    stuck = [_bad(r, 7.77) for r in readings[10:40]]
    lesson = learn_place(PLACE, list(winter.forecasts()), [*wrong, *stuck, *readings[40:]])
    assert lesson is not None
    assert lesson.left_out["wrong degrees"] >= 8
    assert lesson.left_out["stuck"] >= 25
    assert not lesson.found.is_used


def test_a_sensor_indoors_is_said_and_not_used() -> None:
    winter = Winter(4, clear_k=9.0, dull_k=9.0, day_k=9.0)
    lesson = winter.learn()
    assert not lesson.found.is_used
    assert lesson.remark is not None
    assert lesson.remark.kind == "place too far off"


def test_readings_indoors_are_not_of_the_place() -> None:
    winter = Winter(5)
    aboard = [replace(r, space="saloon") for r in winter.readings()]
    assert learn_place(PLACE, list(winter.forecasts()), aboard) is None


def test_put_on_the_forecast_and_said(history: Callable[..., Any]) -> None:
    found = PlaceDifference(
        {
            "on clear nights": Difference(-2.0, 0.3, 0.0, 0.5, 60, 30),
            "by day": Difference(1.0, 0.5, 0.0, 0.5, 60, 30),
        }
    )
    boat = history()
    forecast = boat.forecast(boat.now)
    clear = replace(forecast, cloud_frac=np.zeros_like(forecast.cloud_frac))
    off = corrected(clear, boat.boat.place, found).temp_c - clear.temp_c
    hour = clear.times.astype(np.int64) // 3600 % 24
    assert off[0, hour == 1] == pytest.approx(-2.0)
    assert off[0, hour == 12] == pytest.approx(0.0)
    dull = corrected(replace(forecast, cloud_frac=np.ones_like(off)), boat.boat.place, found)
    assert dull.temp_c == pytest.approx(forecast.temp_c)
    text = said(as_finding(found))
    assert "on clear nights 2 °C colder (give or take 0.6 °C)" in text
    assert "by day" not in text
    assert "local_correction = false" in text
    # never more vapour than the air can hold
    assert (corrected(clear, boat.boat.place, found).vapour_pa <= clear.vapour_pa + 1e-9).all()


def test_used_where_the_weather_is_got_and_switched_off_in_boat_toml(
    history: Callable[..., Any],
) -> None:
    from curewindow.calibration.look_back import look_back
    from curewindow.weather.local import as_known_here

    boat = history()
    boat.keep(off_k=2.0)
    boat.read_outdoors(0.0)  # a place 2 K colder than this feed has it, day and night
    look_back(boat.folder, boat.boat, boat.work, boat.now, offline=True)
    raw = boat.forecast(boat.now, off_k=2.0)
    known = as_known_here(boat.boat, boat.folder, raw, boat.now)
    assert (known.temp_c - raw.temp_c).mean() == pytest.approx(-2.0, abs=0.4)
    assert any("corrected for this place" in note for note in said(known.notes))
    off = history("local_correction = false")
    assert off.boat.weather.local_correction is False
    assert as_known_here(off.boat, off.folder, raw, off.now).temp_c is raw.temp_c
    # another feed's grid is another matter
    other = replace(raw, source="another feed")
    assert as_known_here(boat.boat, boat.folder, other, boat.now).temp_c is raw.temp_c
