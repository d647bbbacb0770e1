"""A small cold boat, steady winter weather and two products, for the tests of heating."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from types import ModuleType
from typing import Any
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.hours import hours_mask
from curewindow.boat.schema import Boat, Job, Space
from curewindow.cautions.airflow import solvent_airflow_m3_h
from curewindow.conditions import boat_conditions, surface_series
from curewindow.heating import HeatedCoat, Room, room_from
from curewindow.physics.air import vapour_pressure
from curewindow.sheets.schema import Sheet
from curewindow.weather.forecast import Forecast
from curewindow.wording import Wording

NOW = datetime(2025, 1, 15, 6, tzinfo=UTC)
ZONE = ZoneInfo("UTC")
WORDS = Wording(ZONE, NOW)
DAYS = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]


def checker() -> ModuleType:
    """The second opinion of tests/checker.py: tests are no package, so it is loaded by its path."""
    if "checker" not in sys.modules:
        path = Path(__file__).parents[1] / "checker.py"
        spec = importlib.util.spec_from_file_location("checker", path)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        sys.modules["checker"] = module
        spec.loader.exec_module(module)
    return sys.modules["checker"]


def heater(**changes: Any) -> dict[str, Any]:
    """A heater that may be left alone, where one may."""
    made = {"kind": "diesel", "power": "3 kW", "vented": True, "open_flame": False, **changes}
    if made["kind"] == "electric" or (made["vented"] and made["kind"] != "solid fuel"):
        made.setdefault("unattended", "yes")
    return made


def boat(heating: dict[str, Any] | None = None, **changes: Any) -> Boat:
    """A cabin of 15 m³ between steel and lining, off until told otherwise."""
    space: dict[str, Any] = {
        "name": "cabin",
        "volume": "15 m³",
        "air_change": "0.6 /h",
        "interior_mass": "200 kJ/K",
        "moisture": "20 g/h",
        "panel": [
            {
                "name": "locker side",
                "area": "4 m²",
                "sky": False,
                "layers": [{"material": "steel", "thickness": "4 mm"}],
            },
            {
                "name": "panelled side",
                "area": "20 m²",
                "sky": False,
                "layers": [
                    {"material": "plywood", "thickness": "9 mm"},
                    {"material": "mineral wool", "thickness": "50 mm"},
                    {"material": "steel", "thickness": "4 mm"},
                ],
            },
        ],
        **changes,
    }
    if heating is not None:
        space["heating"] = heating
    return Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC"},
            "hours": [{"days": DAYS, "from": "08:00", "until": "18:00"}],
            "space": [space],
        }
    )


def weather(
    temp_c: Any = 3.0, dew_point_c: float = 0.0, *, days: float = 7.0, step_min: int = 30
) -> Forecast:
    """Four days before NOW and some after; temp_c may be a function of hours since NOW."""
    steps = np.arange(-4 * 1440 // step_min, round(days * 1440 / step_min) + 1)
    hours = steps * step_min / 60.0
    temp = np.atleast_2d(temp_c(hours) if callable(temp_c) else np.full(hours.shape, temp_c))
    vapour = np.minimum(
        np.asarray(vapour_pressure(dew_point_c, 100.0)), np.asarray(vapour_pressure(temp, 100.0))
    )
    flat = np.zeros(temp.shape)
    start = np.datetime64(NOW.replace(tzinfo=None), "s")
    return Forecast(
        times=start + steps * np.timedelta64(step_min * 60, "s"),
        temp_c=temp.astype(np.float64),
        vapour_pa=vapour,
        wind_ms=flat + 4.0,
        rain_mm_h=flat,
        cloud_frac=flat + 1.0,
        sun_w_m2=flat,
        gap_h=np.ones(hours.size),
        source="made up",
        attribution="",
        issued_at=None,
        fetched_at=NOW,
    )


VARNISH: dict[str, Any] = {
    "name": "test varnish",
    "kind": "varnish",
    "chemistry": "epoxy amine",
    "basis": "data sheet of January 2025",
    "applying": {
        "air": {"min": "10 °C", "max": "28 °C"},
        "surface": {"min": "8 °C"},
        "humidity": {"max": "80 %"},
        "above_dew_point": "3 K",
    },
    "setting": {
        "air": {"min": "8 °C"},
        "surface": {"min": "7 °C"},
        "humidity": {"max": "85 %"},
        "above_dew_point": "2 K",
        "until": "handling",
    },
    "cure": {
        "temps": ["10 °C", "20 °C"],
        "touch_dry": ["5 h", "3 h"],
        "handling": ["10 h", "6 h"],
    },
    "recoat": [{"from": ["8 h", "5 h"], "until": ["60 h", "40 h"], "after": "sand"}],
}
SOLVENT: dict[str, Any] = {
    "hazards": ["flammable solvent"],
    "amounts": {"solvent": "300 g/L", "spreading_rate": "10 m²/L"},
    "solvent": {
        "name": "xylene",
        "lower_explosive_limit": "1 %",
        "vapour_per_litre": 0.2,
        "source": "made up, near xylene's",
    },
}


def sheet(**changes: Any) -> Sheet:
    return Sheet.model_validate(VARNISH | changes)


def printed(of: Sheet) -> Any:
    """The same sheet for the second opinion."""

    def limits(given: Any) -> dict[str, float]:
        rows = {
            "air min": given.air.min,
            "air max": given.air.max,
            "surface min": given.surface.min,
            "surface max": given.surface.max,
            "rh max": given.humidity.max,
            "above dew point min": given.above_dew_point,
        }
        return {name: value for name, value in rows.items() if value is not None}

    rows = {"touch dry": of.cure.touch_dry, "handling": of.cure.handling}
    return checker().Printed(
        chemistry=of.chemistry,
        basis="data sheet",
        temps=of.cure.temps,
        rows={name: hours for name, hours in rows.items() if hours is not None},
        until=of.setting.until,
        applying=limits(of.applying),
        setting=limits(of.setting),
    )


def job(**changes: Any) -> Job:
    return Job.model_validate(
        {
            "name": "side",
            "space": "cabin",
            "panel": "panelled side",
            "area": "3 m²",
            "step": [{"do": "coat", "sheet": "x", "coats": 2, "hands_on": "1 h"}],
            **changes,
        }
    )


def made(
    on: Boat, forecast: Forecast, of: Sheet | None = None, **changes: Any
) -> tuple[Space, HeatedCoat, Room]:
    """The space, a task in it and the room from NOW on; keywords change the task."""
    of = sheet() if of is None else of
    here = changes.pop("job", None) or job()
    space = on.find_space("cabin")
    assert space is not None
    conditions = boat_conditions(on, forecast, [], NOW)
    base = surface_series(on, here, of, forecast, [], NOW, spaces=conditions)
    flow = solvent_airflow_m3_h(of, here, here.step[0])
    task = HeatedCoat(
        job=here,
        step=here.step[0],
        sheet=of,
        hands_on_h=hands_on_h(here.step[0], here),
        base=base,
        hours_ok=hours_mask(on, base.times),
        zone=ZONE,
        earliest=NOW,
        airing_m3_h=0.0 if flow is None else flow,
    )
    return space, replace(task, **changes), room_from(on, space, forecast, conditions, NOW)
