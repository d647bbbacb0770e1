"""A small made-up boat and simple made-up weather, shared by the tests of this folder."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

import numpy as np

from curewindow.boat.schema import Boat, Job
from curewindow.physics.air import vapour_pressure
from curewindow.weather.forecast import Forecast

NOW = datetime(2025, 1, 15, 12, tzinfo=UTC)
STEEL = [{"material": "steel", "thickness": "4 mm"}]
LINED = [
    {"material": "plywood", "thickness": "9 mm"},
    {"material": "mineral wool", "thickness": "50 mm"},
    {"material": "steel", "thickness": "4 mm"},
]


def boat(spaces: list[dict[str, Any]] | None = None, **place: Any) -> Boat:
    """A boat with a saloon of bare and lined sides, unless told otherwise."""
    return Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC", **place},
            "space": spaces if spaces is not None else [saloon()],
        }
    )


def saloon(**changes: Any) -> dict[str, Any]:
    return {
        "name": "saloon",
        "volume": "20 m³",
        "air_change": "0.4 /h",
        "interior_mass": "300 kJ/K",
        "moisture": "60 g/h",
        "panel": [
            {"name": "locker side", "area": "4 m²", "sky": False, "layers": STEEL},
            {"name": "panelled side", "area": "16 m²", "sky": False, "layers": LINED},
        ],
        **changes,
    }


def heating(setpoint: str = "18 °C", **changes: Any) -> dict[str, Any]:
    return {
        "kind": "diesel",
        "power": "5 kW",
        "vented": True,
        "open_flame": False,
        "routine": [{"from": "00:00", "setpoint": setpoint}],
        **changes,
    }


def weather(
    temp_c: Any = 2.0,
    rh_pct: float = 85.0,
    *,
    wind_ms: float = 4.0,
    cloud_frac: float = 1.0,
    sun_w_m2: float = 0.0,
    past_days: float = 5.0,
    days: float = 3.0,
    members: int = 1,
    step_min: int = 30,
) -> Forecast:
    """Weather from ``past_days`` before NOW to ``days`` after; temp_c may be a function of hours.

    Hours count from NOW, a noon.
    """
    step = np.timedelta64(step_min, "m").astype("timedelta64[s]")
    start = np.datetime64(NOW.replace(tzinfo=None), "s")
    begin = -round(past_days * 1440 / step_min)
    steps = np.arange(begin, round(days * 1440 / step_min) + 1)
    hours = steps * step_min / 60.0
    temp = temp_c(hours) if callable(temp_c) else np.full(hours.shape, float(temp_c))
    temp = np.tile(temp, (members, 1))
    humid = np.asarray(vapour_pressure(temp, rh_pct), dtype=np.float64)

    def flat(value: float) -> np.ndarray:
        return np.full(temp.shape, value)

    return Forecast(
        times=start + steps * step,
        temp_c=temp,
        vapour_pa=humid,
        wind_ms=flat(wind_ms),
        rain_mm_h=flat(0.0),
        cloud_frac=flat(cloud_frac),
        sun_w_m2=flat(sun_w_m2),
        gap_h=np.ones(hours.size),
        source="made up",
        attribution="",
        issued_at=None,
        fetched_at=NOW,
    )


def job(**where: Any) -> Job:
    return Job.model_validate({"name": "a job", "step": [{"do": "sand"}], **where})


def at(forecast: Forecast, hours: float) -> int:
    """Index of the grid point so many hours from NOW."""
    moment = np.datetime64(NOW.replace(tzinfo=None), "s") + np.timedelta64(round(hours * 3600), "s")
    return int(np.searchsorted(forecast.times, moment))
