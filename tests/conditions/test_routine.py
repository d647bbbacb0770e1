"""The heating routine by the clock on the wall."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np
import pytest

from curewindow.boat.hours import WEEKDAYS
from curewindow.boat.schema import Boat, HeaterOverride, Heating
from curewindow.conditions.routine import VENTILATION, setpoints_c, vents_open


def _boat(zone: str = "UTC", hours: list[dict[str, Any]] | None = None) -> Boat:
    return Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": zone},
            "hours": hours or [],
        }
    )


def _heating(**more: Any) -> Heating:
    return Heating.model_validate(
        {
            "kind": "diesel",
            "power": "2 kW",
            "vented": True,
            "open_flame": False,
            "routine": [
                {"from": "07:30", "setpoint": "17 °C"},
                {"from": "18:00", "setpoint": "8 °C"},
            ],
            **more,
        }
    )


def _at(boat: Boat, heating: Heating, *times: str) -> list[float]:
    return setpoints_c(heating, boat, np.array(times, dtype="datetime64[s]")).tolist()


def test_each_entry_holds_until_the_next_and_through_the_night() -> None:
    got = _at(_boat(), _heating(), "2025-01-15T07:29", "2025-01-15T07:30", "2025-01-15T18:00")
    assert got == [8.0, 17.0, 8.0]


def test_summer_time_moves_it() -> None:
    """Europe/London is an hour ahead from 30 March 2025 (IANA time zone database)."""
    london = _boat("Europe/London")
    got = _at(london, _heating(), "2025-03-29T06:45", "2025-03-30T06:45")
    assert got == [8.0, 17.0]


def test_days_it_does_not_run() -> None:
    weekend = _heating(days=["Sat", "Sun"])
    boat = _boat()
    # 17 January 2025 was a Friday.
    got = _at(
        boat,
        weekend,
        "2025-01-17T12:00",
        "2025-01-18T03:00",
        "2025-01-18T12:00",
        "2025-01-19T03:00",
        "2025-01-20T03:00",
    )
    assert got == pytest.approx([np.nan, np.nan, 17.0, 8.0, np.nan], nan_ok=True)


def test_without_days_it_runs_on_the_days_aboard() -> None:
    boat = _boat(hours=[{"days": ["Sat"], "from": "09:00", "until": "17:00"}])
    got = _at(boat, _heating(), "2025-01-17T12:00", "2025-01-18T12:00")
    assert got == pytest.approx([np.nan, 17.0], nan_ok=True)


def test_no_heater_or_no_routine_is_off() -> None:
    times = np.array(["2025-01-17T12:00"], dtype="datetime64[s]")
    assert np.isnan(setpoints_c(None, _boat(), times)).all()
    assert np.isnan(setpoints_c(_heating(routine=[]), _boat(), times)).all()


def test_out_of_order_by_the_boats_clock() -> None:
    """Amsterdam is an hour ahead of UTC in winter: 08:00 there is 07:00."""
    boat = _boat("Europe/Amsterdam")
    spans = [{"from": "2026-11-27T08:00:00", "until": "2026-11-27T10:00:00"}]
    heating = _heating(out_of_order=spans, days=list(WEEKDAYS))
    found = _at(
        boat,
        heating,
        "2026-11-27T06:50",
        "2026-11-27T07:00",
        "2026-11-27T08:50",
        "2026-11-27T09:00",
    )
    assert np.isnan(found).tolist() == [False, True, True, False]


def _held(heating: Heating, *stretches: tuple[str, str, float | None]) -> Heating:
    def utc(text: str) -> datetime:
        return datetime.fromisoformat(text).replace(tzinfo=UTC)

    return heating.with_held(tuple(HeaterOverride(utc(a), utc(b), c) for a, b, c in stretches))


def test_what_the_log_says_goes_before_the_routine() -> None:
    """Never cooler than the routine while lit; off is off; afterwards the routine again."""
    held = _held(
        _heating(),
        ("2025-01-15T05:00", "2025-01-15T09:00", 12.0),
        ("2025-01-15T12:00", "2025-01-15T14:00", None),
        ("2025-01-15T20:00", "2025-01-16T02:00", 21.0),
    )
    hours = ("04:50", "05:00", "08:00", "11:50", "12:00", "13:50", "14:00", "20:00")
    got = _at(_boat(), held, *(f"2025-01-15T{hour}" for hour in hours), "2025-01-16T02:00")
    assert got[:4] == [8.0, 12.0, 17.0, 17.0]
    assert np.isnan(got[4:6]).all()
    assert got[6:] == [17.0, 21.0, 8.0]


def test_lit_without_a_routine_and_not_while_out_of_order() -> None:
    broken = [{"from": "2025-01-15T06:00:00", "until": "2025-01-15T07:00:00"}]
    held = _held(
        _heating(routine=[], out_of_order=broken), ("2025-01-15T05:00", "2025-01-15T09:00", 12.0)
    )
    got = _at(_boat(), held, *(f"2025-01-15T{hour:02}:30" for hour in (4, 5, 6, 7, 9)))
    assert [got[1], got[3]] == [12.0, 12.0]
    assert np.isnan([got[0], got[2], got[4]]).all()


def test_vents_stand_as_the_log_has_them() -> None:
    times = np.array([f"2025-01-15T{hour:02}:00" for hour in range(4)], dtype="datetime64[s]")
    begin, end = (datetime(2025, 1, 15, hour, tzinfo=UTC) for hour in (1, 3))
    for ventilation, factor in VENTILATION.items():
        held = _heating().with_held((HeaterOverride(begin, end, 20.0, ventilation),))
        factors = vents_open(held, times)
        if ventilation == "normal":
            assert factors is None
        else:
            assert factors is not None
            assert factors.tolist() == [1.0, factor, factor, 1.0]
    assert vents_open(None, times) is None
