"""The tables of what follows a start, on cases worked out by hand.

All at a steady temperature, where the sheet's own column holds: a 'data sheet' basis has a
band of 10 %, so 'from' 4 h is told as 4.4 h after the last stroke and 'until' 24 h as
24 h / 1.1 = 21.82 h after the first. Slots are half hours; 'from' is rounded up, 'until' down.
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta

import numpy as np
import pytest

from curewindow.curing import recoat_bounds
from curewindow.order.slots import Slots, lay_slots
from curewindow.order.tables import coat_mode, recoat_tables
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet

START = datetime(2026, 3, 2, tzinfo=UTC)  # a Monday
DAYS = 5


def sheet(**more: object) -> Sheet:
    return Sheet.model_validate(
        {
            "name": "made up",
            "kind": "paint",
            "chemistry": "oxidation",
            "basis": "data sheet of 2026",
            "applying": {"air": {"min": "5 °C"}},
            "setting": {"until": "touch dry"},
            "cure": {
                "temps": ["20 °C"],
                "touch_dry": ["2 h"],
                "handling": ["10 h"],
                "closed_up": ["40 h"],
            },
            "recoat": [{"from": ["4 h"], "until": ["24 h"], "after": "sand"}],
            **more,
        }
    )


def series(temp_c: float, cold_from_h: float | None = None) -> SurfaceSeries:
    count = DAYS * 144 + 1
    times = np.datetime64(START.replace(tzinfo=None), "s") + np.arange(count) * np.timedelta64(
        600, "s"
    )
    air = np.full((1, count), temp_c)
    if cold_from_h is not None:
        air[:, int(cold_from_h * 6) :] = 1.0
    rh = np.full((1, count), 50.0)
    return SurfaceSeries(
        space="here",
        surface="",
        times=times,
        air_c=air,
        tin_c=air,
        rh_pct=rh,
        dew_point_c=air - 10.0,
        surface_c=air,
        wood_moisture_pct=None,
        wind_ms=None,
        rain_mm_h=None,
        sun_w_m2=None,
        measured=np.zeros(count, np.bool_),
        lead_h=np.zeros(count),
    )


def laid(series: SurfaceSeries, begin: int = 8, end: int = 18) -> tuple[Slots, np.ndarray]:
    hour = (np.arange(len(series.times)) / 6.0) % 24.0
    aboard = (hour >= begin) & (hour <= end)
    slots = lay_slots(
        START + timedelta(hours=8), START + timedelta(days=DAYS), series.times, aboard, "UTC"
    )
    return slots, aboard


def test_from_counts_from_the_last_stroke_and_until_from_the_first() -> None:
    """An hour's work from 08:00: touch dry 2.2 h after 09:00 (11:12, slot 11:30), recoat from
    13:24 (13:30) to tomorrow 05:49 (05:30), hard 11 h after (20:00), covered 44 h after (05:00
    on Wednesday)."""
    here = series(20.0)
    slots, aboard = laid(here)
    made, _ = coat_mode(
        slots, sheet(), 1.0, here, hours_ok=aboard, daylight_ok=np.ones_like(aboard)
    )
    rule = recoat_bounds(sheet())
    assert rule is not None
    opens, closes = recoat_tables(slots, made, rule)
    assert closes is not None

    def hour(slot: int) -> float:
        return 8.0 + slot / 2.0

    assert made.mode.starts[0] == 0
    assert hour(int(made.mode.ends[0])) == 9.0
    assert hour(int(made.mode.set_until[0])) == 11.5
    assert hour(int(made.mode.dust_until[0])) == 11.5
    assert hour(int(opens[0])) == 13.5
    assert hour(int(closes[0])) == 24.0 + 5.5
    assert hour(int(made.mode.hard[0])) == 20.0
    assert hour(int(made.mode.covered[0])) == 48.0 + 5.0


def test_no_start_whose_hands_on_time_runs_beyond_the_hours_aboard() -> None:
    here = series(20.0)
    slots, aboard = laid(here)
    made, _ = coat_mode(
        slots, sheet(), 3.0, here, hours_ok=aboard, daylight_ok=np.ones_like(aboard)
    )
    hours = (made.mode.starts / 2.0 + 8.0) % 24.0
    assert hours.min() == 8.0
    assert hours.max() == 15.0


def test_a_film_stands_still_below_the_sheets_limit() -> None:
    """Warm to 12:00 only: of 4.4 h to recoating from 09:00, 3 h are made; it never opens."""
    here = series(20.0, cold_from_h=12.0)
    slots, aboard = laid(here)
    made, _ = coat_mode(
        slots, sheet(), 1.0, here, hours_ok=aboard, daylight_ok=np.ones_like(aboard)
    )
    rule = recoat_bounds(sheet())
    assert rule is not None
    opens, _ = recoat_tables(slots, made, rule)
    assert made.mode.starts[0] == 0  # it sets (2.2 h) while it is warm
    assert opens[0] == slots.count


def test_heat_that_goes_off_once_it_has_set_leaves_the_rest_to_the_cold() -> None:
    """At 20 °C to touch dry (2.2 of 11 h to hard), then at 10 °C, where the sheet takes twice as
    long: the 8.8 h that are missing take 17.6 h. From 09:00: 11:12 and 17.6 h are 04:48 (05:00)."""
    of = sheet(
        cure={
            "temps": ["10 °C", "20 °C"],
            "touch_dry": ["4 h", "2 h"],
            "handling": ["20 h", "10 h"],
        }
    )
    warm, cool = series(20.0), series(10.0)
    slots, aboard = laid(warm)
    made, _ = coat_mode(
        slots,
        of,
        1.0,
        warm,
        hours_ok=aboard,
        daylight_ok=np.ones_like(aboard),
        level_c=20.0,
        as_is=cool,
    )
    assert made.mode.starts[0] == 0
    # The heat goes off at the grid point after 11:12, so a little more is made in the warm.
    assert 8.0 + made.mode.hard[0] / 2.0 == pytest.approx(24.0 + 5.0, abs=0.5)
    assert 8.0 + made.mode.warm_until[0] / 2.0 == 11.5
    held, _ = coat_mode(
        slots,
        of,
        1.0,
        warm,
        hours_ok=aboard,
        daylight_ok=np.ones_like(aboard),
        level_c=20.0,
        as_is=cool,
        hold=True,
    )
    assert 8.0 + held.mode.hard[0] / 2.0 == 20.0
    assert 8.0 + held.mode.warm_until[0] / 2.0 == 20.0
