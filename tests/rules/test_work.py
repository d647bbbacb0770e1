"""Work without a product goes by the sky alone."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.rules.work import SHARE_OF_MEMBERS, dry_overhead
from curewindow.series import SurfaceSeries


def deck(rain_mm_h: np.ndarray | None) -> SurfaceSeries:
    members, points = (1, 3) if rain_mm_h is None else rain_mm_h.shape
    level = np.ones((members, points))
    return SurfaceSeries(
        space="outdoors",
        surface="deck",
        times=np.datetime64("2026-01-12T00:00", "s") + np.arange(points) * np.timedelta64(600, "s"),
        air_c=level,
        rh_pct=level,
        dew_point_c=level,
        surface_c=level,
        wood_moisture_pct=None,
        wind_ms=None,
        rain_mm_h=rain_mm_h,
        sun_w_m2=None,
        measured=np.zeros(points, np.bool_),
        lead_h=np.zeros(points),
    )


@pytest.mark.parametrize(
    ("wet_of_ten", "dry"), [(0, True), (round(10 * (1 - SHARE_OF_MEMBERS)), True), (10, False)]
)
def test_no_rain_at_all_is_dry_and_a_drop_is_not(wet_of_ten: int, dry: bool) -> None:
    rain = np.zeros((10, 3))
    rain[:wet_of_ten, 1] = 0.1
    assert dry_overhead(deck(rain)).tolist() == [True, dry, True]


def test_one_member_more_than_may_be_wet_is_wet() -> None:
    rain = np.zeros((10, 3))
    rain[: round(10 * (1 - SHARE_OF_MEMBERS)) + 1, 1] = 0.1
    assert dry_overhead(deck(rain)).tolist() == [True, False, True]


def test_where_no_rain_is_followed_it_is_dry() -> None:
    assert dry_overhead(deck(None)).all()
