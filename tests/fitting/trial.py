"""Made-up cabins whose true values are known, in made-up winter weather.

The truth is drawn about the description with spreads of its own (SPREADS), and runs on
ten minutes; the fit sees only what an owner has: the description, six readings a
day with a cheap sensor's noise, and the weather. ``rough`` adds what no fit can know:
insulation that is off panel by panel, water given off in the evening, a sensor and a
weather station with a fault of their own, joinery that follows faster or slower.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from curewindow.boat.schema import Boat, Space
from curewindow.conditions.learned import tuned
from curewindow.conditions.model import describe
from curewindow.conditions.routine import setpoints_c
from curewindow.conditions.run import run_space
from curewindow.conditions.weather_around import weather_around
from curewindow.fitting.unknowns import described_with, unknowns_of
from curewindow.physics.air import saturation_pressure
from curewindow.record.entries import Reading
from curewindow.weather.forecast import Forecast

# How far off the truth lies from what an owner describes or nobody knows, as a factor
# either way (one standard deviation of the logarithm; estimates): where the owner
# gave a figure, where none was given.
SPREADS = {
    "air_change": (1.93, 2.64),
    "heat_loss": (1.52, 1.52),
    "interior_mass": (1.76, 2.28),
    "held_water": (2.28, 2.28),
    "moisture": (1.93, 3.61),
    "heater": (1.37, 1.37),
}
DAYS_READ, DAYS_AHEAD, DAYS_BEFORE = 7, 3, 3
AIR_NOISE_K, RH_NOISE_PCT = 0.3, 3.0
START = datetime(2026, 1, 5, 0, 0, tzinfo=UTC)


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """One made-up cabin: what its owner knows, and what is true."""

    boat: Boat
    space: Space
    forecast: Forecast
    readings: list[Reading]
    now: datetime
    true_values: dict[str, float]
    air_c: np.ndarray  # (T,) on the forecast's grid
    dew_point_c: np.ndarray
    surface_c: dict[str, np.ndarray]


def winter(rng: np.random.Generator, days: float, start: datetime) -> Forecast:
    """Ten-minute weather: fronts that come and go, a daily course that cloud flattens."""
    count = round(days * 144) + 1
    hours = np.arange(count) / 6.0

    def wandering(spread: float, hold_h: float) -> np.ndarray:
        """First-order noise with this spread, correlated over this time, smoothed over 3 h."""
        keep = np.exp(-1.0 / 6.0 / hold_h)
        steps = rng.normal(0.0, spread * np.sqrt(1.0 - keep**2), count + 17)
        out = np.empty(count + 17)
        out[0] = rng.normal(0.0, spread)
        for k in range(1, out.size):
            out[k] = keep * out[k - 1] + steps[k]
        return np.convolve(out, np.ones(18) / 18.0, "valid")

    cloud = np.clip(0.6 + wandering(0.45, 15.0), 0.0, 1.0)
    daily = np.cos(2.0 * np.pi * (hours - 14.5) / 24.0)
    temp = rng.uniform(-2.0, 7.0) + wandering(3.0, 40.0) + (3.5 - 2.5 * cloud) * daily
    spread = np.maximum(2.5 - 1.5 * cloud + (1.5 - cloud) * daily + wandering(0.8, 12.0), 0.2)
    vapour = np.asarray(saturation_pressure(temp - spread), dtype=np.float64)
    wind = np.maximum(4.0 + wandering(2.5, 10.0), 0.3)
    height = np.maximum(np.cos(2.0 * np.pi * (hours - 12.2) / 24.0) - 0.5, 0.0)
    sun = 500.0 * height * (1.0 - 0.75 * cloud**3.4)  # Kasten and Czeplak's cloud factor
    begin = np.datetime64(start.replace(tzinfo=None), "s")

    def row(values: np.ndarray) -> np.ndarray:
        return values[None].copy()

    return Forecast(
        times=begin + (np.arange(count) * 600).astype("timedelta64[s]"),
        temp_c=row(temp),
        vapour_pa=row(vapour),
        wind_ms=row(wind),
        rain_mm_h=row(np.zeros(count)),
        cloud_frac=row(cloud),
        sun_w_m2=row(sun),
        gap_h=np.ones(count),
        source="made up",
        attribution="",
        issued_at=None,
        fetched_at=start,
    )


def description(rng: np.random.Generator) -> dict[str, Any]:
    """A cabin as its owner describes it: steel or laminate, lined or bare, heated or not."""
    volume = float(rng.uniform(5.0, 35.0))
    skin = 5.5 * volume ** (2.0 / 3.0)
    shell = (
        {"material": "steel", "thickness": "5 mm"}
        if rng.random() < 0.5
        else {"material": "solid GRP", "thickness": f"{rng.uniform(6, 12):.0f} mm"}
    )
    lined = [
        {"material": "plywood", "thickness": "9 mm"},
        {"material": "mineral wool", "thickness": f"{rng.uniform(20, 60):.0f} mm"},
        shell,
    ]
    bare = float(rng.uniform(0.05, 0.3))

    def panel(name: str, share: float, layers: list[Any], **more: Any) -> dict[str, Any]:
        return {"name": name, "area": f"{share * skin:.1f} m²", "layers": layers, **more}

    panels = [
        panel("side", 0.4 * (1.0 - bare), lined),
        panel("locker side", 0.4 * bare, [shell]),
        panel("deck", 0.3, lined, facing="overhead", sky=bool(rng.random() < 0.5)),
        panel(
            "bottom",
            0.3,
            [{"material": "plywood", "thickness": "15 mm"}, shell],
            outside="water",
            facing="sole",
        ),
    ]
    space: dict[str, Any] = {
        "name": "saloon",
        "volume": f"{volume:.1f} m³",
        "slept_in": bool(rng.random() < 0.6),
        "panel": panels,
    }
    if rng.random() < 0.3:
        space["air_change"] = f"{rng.uniform(0.3, 1.0):.1f} /h"
    routines = [
        [{"from": "07:00", "setpoint": "17 °C"}, {"from": "22:00"}],
        [{"from": "08:30", "setpoint": "15 °C"}, {"from": "17:00"}],
        [{"from": "17:00", "setpoint": "19 °C"}, {"from": "23:00"}],
        [{"from": "06:30", "setpoint": "16 °C"}, {"from": "09:30"}],
        [],
    ]
    space["heating"] = {
        "kind": "diesel",
        "power": f"{volume * rng.uniform(60.0, 160.0):.0f} W",
        "vented": True,
        "open_flame": False,
        "routine": routines[int(rng.integers(len(routines)))],
        "days": ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"],
    }
    return space


def _guessed(space: Space, key: str) -> bool:
    """Is it a value the owner gave none of?"""
    given = {
        "air_change": space.air_change,
        "interior_mass": space.interior_mass,
        "moisture": space.moisture,
    }
    return given.get(key) is None


def make(seed: int, *, rough: bool = False) -> Trial:
    """One cabin, by its number."""
    rng = np.random.default_rng(seed)
    boat = Boat.model_validate(
        {
            "name": "Made Up",
            "place": {
                "latitude": 52.0,
                "longitude": 5.0,
                "time_zone": "UTC",
                "water_temp": f"{rng.uniform(3.0, 8.0):.1f} °C",
            },
            "space": [description(rng)],
        }
    )
    space = boat.space[0]
    begin = START - timedelta(days=DAYS_BEFORE)
    forecast = winter(rng, DAYS_BEFORE + DAYS_READ + DAYS_AHEAD, begin)
    described = describe(space)
    unknowns = unknowns_of(space, described)
    drawn = rng.normal(0.0, 1.0, len(unknowns))
    values = {
        unknown.key: unknown.median * SPREADS[unknown.key][_guessed(space, unknown.key)] ** away
        for unknown, away in zip(unknowns, drawn.tolist(), strict=True)
    }
    true = described_with(described, values)
    around = weather_around(boat.place, forecast, START + timedelta(days=DAYS_READ))
    outside, moisture = around.outside, np.full(around.times.size, true.moisture_kg_h)
    if rough:
        off = np.exp(rng.normal(0.0, 0.25, len(true.model.panels)))
        panels = tuple(
            tuned(
                replace(true.model, panels=(panel,)),
                air_changes_h=1.0,
                heat_loss=float(times),
                mass_j_k=1.0,
                buffer_kg=0.0,
            ).panels[0]
            for panel, times in zip(true.model.panels, off, strict=True)
        )
        model = replace(
            true.model,
            panels=panels,
            mass_coupling_w_k=true.model.mass_coupling_w_k * np.exp(rng.normal(0.0, 0.5)),
            buffer_hours=true.model.buffer_hours * np.exp(rng.normal(0.0, 0.5)),
        )
        true = replace(true, model=model)
        clock = (np.arange(around.times.size) / 6.0) % 24.0
        moisture = moisture * np.where((clock >= 17.0) & (clock < 22.0), 2.9, 0.5)
        outside = replace(outside, temp_c=outside.temp_c + rng.normal(0.0, 0.5))
    result = run_space(
        true,
        outside,
        around.step_h,
        setpoints_c(space.heating, boat, around.times)[None],
        moisture_kg_h=moisture[None],
    )
    cut = slice(around.run_up, None)
    air, dew = result.air_c[0, cut], result.dew_point_c[0, cut]
    humidity = 100.0 * result.vapour_pa[0, cut] / saturation_pressure(air)
    bias = (rng.normal(0.0, 0.3), rng.normal(0.0, 2.0)) if rough else (0.0, 0.0)
    readings = []
    for day in range(DAYS_READ):
        for hour in (7.0, 9.5, 12.0, 15.0, 18.5, 22.0):
            at = START + timedelta(hours=24.0 * day + hour + float(rng.uniform(-0.7, 0.7)))
            since_h = (at - begin).total_seconds() / 3600.0
            temp = np.interp(since_h * 6.0, np.arange(air.size), air)
            damp = np.interp(since_h * 6.0, np.arange(air.size), humidity)
            temp += bias[0] + rng.normal(0.0, AIR_NOISE_K)
            damp += bias[1] + rng.normal(0.0, RH_NOISE_PCT)
            readings.append(
                Reading(
                    "saloon",
                    at,
                    round(float(temp), 1),
                    float(np.clip(round(float(damp)), 1.0, 100.0)),
                )
            )
    return Trial(
        boat=boat,
        space=space,
        forecast=forecast,
        readings=readings,
        now=readings[-1].at,
        true_values=values,
        air_c=air,
        dew_point_c=dew,
        surface_c={
            name: result.surface_c[index, 0, cut] for index, name in enumerate(result.panel_names)
        },
    )


@dataclass(frozen=True, slots=True)
class Errors:
    """Root mean squares over the days ahead, K: air; height above dew point, all panels."""

    air_k: float
    above_dew_k: float


def errors_ahead(trial: Trial, conditions: Any) -> Errors:
    """Hold predicted conditions against the truth after the last reading."""
    ahead = trial.forecast.times > np.datetime64(trial.now.replace(tzinfo=None), "s")
    air = conditions.air_c[0, ahead] - trial.air_c[ahead]
    above = np.concatenate(
        [
            (course[0] - conditions.dew_point_c[0] - (trial.surface_c[name] - trial.dew_point_c))[
                ahead
            ]
            for name, course in conditions.surface_c.items()
        ]
    )
    return Errors(float(np.sqrt(np.mean(air**2))), float(np.sqrt(np.mean(above**2))))
