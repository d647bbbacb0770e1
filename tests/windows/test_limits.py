"""Each limit of a sheet is held against the right quantity, from the right side."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.sheets.schema import Limits
from curewindow.windows import limit_tracks

EVERYTHING = Limits.model_validate(
    {
        "air": {"min": "8 °C", "max": "30 °C"},
        "surface": {"min": "9 °C", "max": "28 °C"},
        "product": {"min": "12 °C"},
        "mixed": {"max": "25 °C"},
        "humidity": {"min": "35 %", "max": "80 %"},
        "above_dew_point": "3 K",
        "wood_moisture": {"max": "15 %"},
        "wind_max": "8 m/s",
        "direct_sun": False,
    }
)


def test_margins_have_the_right_sign_and_size(cabin) -> None:
    series = cabin(
        hours=1,
        wood_moisture_pct=17.0,
        wind_ms=5.0,
        rain_mm_h=0.2,
        sun_w_m2=100.0,
        outdoors=True,
    )
    tracks = limit_tracks(series, EVERYTHING, "applying", bare_wood=True)
    margins = {(track.name, track.bound): float(track.margin[0, 0]) for track in tracks}
    assert margins == pytest.approx(
        {
            ("air temperature", "min"): 2.0,
            ("air temperature", "max"): 20.0,
            ("surface temperature", "min"): 1.0,
            ("surface temperature", "max"): 18.0,
            ("tin temperature", "min"): -2.0,  # as warm as the air
            ("mixed product temperature", "max"): 15.0,
            ("relative humidity", "min"): 22.5,
            ("relative humidity", "max"): 22.5,
            ("surface above dew point", "min"): 5.0,
            ("wood moisture", "max"): -2.0,
            ("wind", "max"): 3.0,
            ("rain", "max"): -0.2,
            ("direct sun", "max"): 20.0,
        }
    )


def test_indoors_on_coated_wood_nobody_asks_for_wind_or_wood(cabin) -> None:
    names = {track.name for track in limit_tracks(cabin(hours=1), EVERYTHING, "applying")}
    assert names.isdisjoint({"wood moisture", "wind", "rain", "direct sun"})


def test_the_tin_does_not_matter_once_the_coat_is_on(cabin) -> None:
    names = {track.name for track in limit_tracks(cabin(hours=1), EVERYTHING, "setting")}
    assert names.isdisjoint({"tin temperature", "mixed product temperature"})


def test_what_the_series_does_not_have_is_not_known(cabin) -> None:
    tracks = limit_tracks(cabin(hours=1, outdoors=True), EVERYTHING, "applying", bare_wood=True)
    dark = {track.name for track in tracks if np.isnan(track.margin).all()}
    assert dark == {"wood moisture", "wind", "rain", "direct sun"}
