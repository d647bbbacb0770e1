"""What the two feeds say, row by row, becomes a Forecast.

The awkward answers beside this file are invented; their shape is that of the
services' documentation (open-meteo.com/en/docs; api.met.no/doc/ForecastJSON).
"""

from __future__ import annotations

import copy
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from curewindow.boat.schema import Place
from curewindow.errors import WeatherError
from curewindow.physics.air import saturation_pressure
from curewindow.weather import metnorway, openmeteo
from curewindow.weather.forecast import Forecast
from curewindow.weather.rows import Rows, estimated_sun, to_forecast
from tests.voiced import said

DATA = Path(__file__).parent / "data"
PLACE = Place(latitude=59.9, longitude=10.7, time_zone="Europe/Oslo")
NOW = datetime(2025, 1, 8, 1, 0, tzinfo=UTC)


def body(name: str) -> dict[str, Any]:
    data: dict[str, Any] = json.loads((DATA / name).read_text(encoding="utf-8"))
    return data


def forecast(rows: Rows, place: Place | None = None) -> Forecast:
    return to_forecast(rows, source="test", attribution="", fetched_at=NOW, place=place)


def index(fc: Forecast, moment: str) -> int:
    found = np.flatnonzero(fc.times == np.datetime64(moment, "s"))
    assert found.size == 1, moment
    return int(found[0])


@pytest.fixture
def awkward() -> Forecast:
    return forecast(openmeteo.read(body("openmeteo_awkward.json")))


def test_open_meteo_nulls_and_missing_hours(awkward: Forecast) -> None:
    # 03:00 is null between 2.6 and the later of two values for 04:00, 2.4.
    assert awkward.temp_c[0, index(awkward, "2025-01-08T03:00")] == pytest.approx(2.5)
    assert awkward.gap_h[index(awkward, "2025-01-08T03:00")] == 2.0
    # 06:00 is not there at all, between 2.1 and 2.0.
    assert awkward.temp_c[0, index(awkward, "2025-01-08T06:00")] == pytest.approx(2.05)
    # The last hour has nothing: the forecast ends before it.
    assert awkward.times[-1] == np.datetime64("2025-01-08T10:00")
    assert np.isfinite(awkward.temp_c).all()
    assert awkward.members == 1
    assert awkward.step_h == pytest.approx(1 / 6)


def test_open_meteo_vapour(awkward: Forecast) -> None:
    # Saturation over water at 1.0 °C is 657 Pa, at 1.4 °C 676 Pa (WMO-No. 8,
    # annex 4.B, Magnus formula: 611.2 exp(17.62 t / (243.12 + t))).
    assert awkward.vapour_pa[0, 0] == pytest.approx(657.0, abs=0.7)
    # 05:00: the dew point 2.2 stands above the air's 2.1: rounding; saturated, not more.
    at5 = index(awkward, "2025-01-08T05:00")
    assert awkward.vapour_pa[0, at5] == pytest.approx(saturation_pressure(2.1))
    # 08:00 has no dew point: 95 % of saturation at 2.6 °C (736 Pa).
    at8 = index(awkward, "2025-01-08T08:00")
    assert awkward.vapour_pa[0, at8] == pytest.approx(0.95 * 736.5, abs=1.0)


def test_open_meteo_rain_fell_in_the_hour_before(awkward: Forecast) -> None:
    def rain(clock: str) -> float:
        return float(awkward.rain_mm_h[0, index(awkward, f"2025-01-08T{clock}")])

    assert rain("01:50") == 0.0
    assert rain("02:00") == rain("02:50") == 0.3  # the sum at 03:00
    assert rain("03:00") == 0.6  # the sum at 04:00
    assert rain("04:00") == 0.0
    assert np.isnan(rain("07:30"))  # the sum at 08:00 is null
    assert np.isnan(rain("05:30"))  # the row of 06:00 is missing


def test_open_meteo_sun_is_a_mean_of_the_hour_before(awkward: Forecast) -> None:
    # 60 W/m² stands at 09:00: the mean from 08:00, so at 08:30.
    assert awkward.sun_w_m2[0, index(awkward, "2025-01-08T08:30")] == 60.0
    assert awkward.cloud_frac[0, 0] == 1.0


def test_vapour_never_above_saturation_between_rows() -> None:
    got = body("openmeteo_awkward.json")
    hourly = got["hourly"]
    count = len(hourly["time"])
    hourly["temperature_2m"] = hourly["dew_point_2m"] = [0.0, 12.0] * (count // 2)
    fc = forecast(openmeteo.read(got))
    full = saturation_pressure(fc.temp_c)
    assert (fc.vapour_pa <= full + 1e-9).all()
    assert fc.vapour_pa[0, 3] == pytest.approx(full[0, 3])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda b: b.pop("hourly"), "no 'hourly' table"),
        (lambda b: b["hourly"].pop("time"), "no 'hourly' table"),
        (lambda b: b["hourly"].update(time=["2025-01-08T00:00"] * 12), "UNIX time"),
        (lambda b: b["hourly"].update(time=[None] * 12), "UNIX time"),
        (lambda b: b["hourly"].update(time=[10**17 + i for i in range(12)]), "times run from"),
        (lambda b: b["hourly"].update(time=[0, *range(10**9, 10**9 + 11)]), "400 days"),
        (lambda b: b["hourly"].update(time=[], temperature_2m=[]), "two different times"),
        (lambda b: b["hourly"].update(temperature_2m=[1.0]), "does not fit its 12 times"),
        (lambda b: b["hourly"].update(temperature_2m=["warm"] * 12), "no number"),
        (lambda b: b["hourly"].update(temperature_2m=[None] * 12), "no temperatures"),
        (lambda b: b["hourly"].pop("temperature_2m"), "no temperatures"),
        (lambda b: b["hourly_units"].update(wind_speed_10m="km/h"), "km/h, not m/s"),
    ],
)
def test_open_meteo_answers_of_another_shape(change: Any, says: str) -> None:
    got = body("openmeteo_awkward.json")
    change(got)
    with pytest.raises(WeatherError, match=says):
        openmeteo.read(got)


def test_values_beyond_anything_measured_are_missing() -> None:
    got = body("openmeteo_awkward.json")
    got["hourly"]["temperature_2m"][1] = 999.0
    got["hourly"]["wind_speed_10m"] = [-9999.0] * 12
    got["hourly"]["relative_humidity_2m"] = [0] * 12
    fc = forecast(openmeteo.read(got))
    assert fc.temp_c[0, index(fc, "2025-01-08T01:00")] == pytest.approx(2.8)
    assert np.isnan(fc.wind_ms).all()
    assert "test has no wind" in said(fc.notes)


def test_met_norway_over_the_turn_of_the_year() -> None:
    fc = forecast(metnorway.read(body("metnorway_year_end.json")), PLACE)
    assert fc.times[0] == np.datetime64("2025-12-31T20:00")
    assert fc.times[-1] == np.datetime64("2026-01-01T18:00")
    assert fc.issued_at == datetime(2025, 12, 31, 19, 38, 11, tzinfo=UTC)
    assert fc.temp_c[0, index(fc, "2026-01-01T03:00")] == pytest.approx(-2.0)
    assert fc.gap_h[index(fc, "2025-12-31T22:30")] == 1.0
    assert fc.gap_h[index(fc, "2026-01-01T03:00")] == 6.0
    # Vapour runs straight between the ends; e(-1) 96 % = 545 Pa, e(-3) 93 % = 456 Pa over
    # water (Magnus, WMO-No. 8): humidity in the middle is not the mean of 96 and 93.
    assert fc.vapour_pa[0, index(fc, "2026-01-01T03:00")] == pytest.approx(500.6, abs=1.0)
    # One wind is missing and bridged.
    assert fc.wind_ms[0, index(fc, "2025-12-31T23:00")] == pytest.approx(2.5)


def test_met_norway_rain_by_the_hour_then_by_six() -> None:
    fc = forecast(metnorway.read(body("metnorway_year_end.json")))

    def rain(moment: str) -> float:
        return float(fc.rain_mm_h[0, index(fc, moment)])

    assert rain("2025-12-31T20:30") == 0.0  # the hour, not a sixth of 1.2
    assert rain("2025-12-31T22:00") == rain("2025-12-31T22:50") == 1.0
    assert rain("2025-12-31T23:00") == 0.0
    assert rain("2026-01-01T00:00") == pytest.approx(0.1)  # 0.6 mm over six hours
    assert rain("2026-01-01T05:50") == pytest.approx(0.1)
    assert rain("2026-01-01T06:00") == 0.0


def test_met_norway_sunshine_is_estimated_from_cloud() -> None:
    fc = forecast(metnorway.read(body("metnorway_year_end.json")), PLACE)
    assert "sunshine is estimated from the cloud cover" in said(fc.notes)
    # Oslo on 1 January, 11:20 UTC: the sun stands 7° high (NREL solar position
    # algorithm by pvlib: 7.1°); 910 sin 7.1° - 30 = 82 W/m² under a clear sky.
    noon = index(fc, "2026-01-01T11:20")
    assert fc.cloud_frac[0, noon] == pytest.approx(0.0139, abs=1e-3)
    assert fc.sun_w_m2[0, noon] == pytest.approx(82.0, abs=3.0)
    assert fc.sun_w_m2[0, index(fc, "2026-01-01T03:00")] == 0.0
    assert "no sunshine" in said(forecast(metnorway.read(body("metnorway_year_end.json"))).notes)[0]


def test_estimated_sun_under_full_cloud_is_a_quarter() -> None:
    # Kasten and Czeplak (1980): 1 - 0.75 = 0.25 of the clear sky under eight oktas,
    # and at four oktas 1 - 0.75 * 0.5^3.4 = 0.929.
    clear, half, full = estimated_sun(np.array([0.0, 0.5, 1.0]), np.full(3, 30.0))
    assert clear == pytest.approx(910 * 0.5 - 30)
    assert half / clear == pytest.approx(0.929, abs=5e-4)
    assert full / clear == pytest.approx(0.25)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        (lambda b: b.pop("properties"), "properties.timeseries"),
        (lambda b: b["properties"].update(timeseries="soon"), "properties.timeseries"),
        (lambda b: b["properties"]["timeseries"].__delitem__(slice(1, None)), "timeseries"),
        (lambda b: b["properties"]["timeseries"][2].update(time="noon"), "readable 'time'"),
        (lambda b: b["properties"]["timeseries"][2].pop("time"), "readable 'time'"),
        (lambda b: [row.pop("data") for row in b["properties"]["timeseries"]], "no temperatures"),
    ],
)
def test_met_norway_answers_of_another_shape(change: Any, says: str) -> None:
    got = body("metnorway_year_end.json")
    change(got)
    with pytest.raises(WeatherError, match=says):
        metnorway.read(got)


def test_met_norway_rows_with_parts_missing() -> None:
    got = copy.deepcopy(body("metnorway_year_end.json"))
    series = got["properties"]["timeseries"]
    series[1]["data"] = None
    series[2]["data"]["instant"]["details"]["air_temperature"] = None
    got["properties"]["meta"]["updated_at"] = "lately"
    fc = forecast(metnorway.read(got))
    assert fc.issued_at is None
    # 20:00 is 1.0, 23:00 is -0.4; the two hours between are bridged.
    assert fc.temp_c[0, index(fc, "2025-12-31T21:30")] == pytest.approx(0.3)
    assert fc.gap_h[index(fc, "2025-12-31T21:30")] == 3.0


def test_a_long_hole_is_said() -> None:
    got = body("metnorway_year_end.json")
    del got["properties"]["timeseries"][5]
    fc = forecast(metnorway.read(got))
    inside = index(fc, "2026-01-01T06:00")
    assert np.isnan(fc.temp_c[0, inside])
    assert any("no weather known from Thu 1 Jan 01:10 for 12 h" in note for note in said(fc.notes))
