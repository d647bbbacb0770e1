"""What stands on a tin, and how its film truly hardens: read apart from curewindow.sheets."""

from __future__ import annotations

import functools
import math
import re
import tomllib
from dataclasses import dataclass
from pathlib import Path

SHELF = Path(__file__).parents[3] / "products"
_NUMBER = re.compile(r"^\s*(-?[\d.]+)\s*(.*?)\s*$")
_HOURS = {"min": 1 / 60.0, "h": 1.0, "d": 24.0}
HELD = 1e-9


def number(text: str) -> float:
    """The figure of '3.5 h' (in hours), '8 °C', '80 %', '3 K' or '580 g/L'."""
    found = _NUMBER.match(text)
    assert found is not None, text
    return float(found[1]) * _HOURS.get(found[2], 1.0)


@dataclass(frozen=True)
class Bounds:
    """Limits while applying, or while setting."""

    air: tuple[float, float]
    surface: tuple[float, float]
    humidity: tuple[float, float]
    above_dew: float

    def broken(
        self, air_c: float, surface_c: float, rh_pct: float, dew_c: float, k: float, pct: float
    ) -> str | None:
        """Which is broken by more than so many K and %, and by what; None: none."""
        for name, value, (low, high), slack in (
            ("air temperature", air_c, self.air, k),
            ("surface temperature", surface_c, self.surface, k),
            ("humidity", rh_pct, self.humidity, pct),
        ):
            if value < low - slack - HELD or value > high + slack + HELD:
                return f"{name} {value:.1f}, allowed {low:g} to {high:g}"
        spread = surface_c - dew_c
        if spread < self.above_dew - k - HELD:
            return f"surface above dew point {spread:.1f} K, least {self.above_dew:g}"
        return None


@dataclass(frozen=True)
class Tin:
    """A tin's sheet."""

    name: str
    applying: Bounds
    setting: Bounds
    setting_until: str
    temps: tuple[float, ...]
    times: dict[str, tuple[float, ...]]
    recoat: dict[str, tuple[tuple[float, ...], tuple[float, ...]]]
    stops_below: float
    solvent: bool
    water_g_m2: float
    kind: str

    def hours(self, milestone: str, temp_c: float) -> float:
        """Hours to a milestone at a temperature as printed; between rows by logarithm."""
        return _between(self.temps, self.times[milestone], temp_c)

    def recoat_hours(self, over: Tin, temp_c: float) -> tuple[float, float]:
        """Least and most hours before a coat of another tin, or of this one, goes on it."""
        low, high = self.recoat_rows(over)
        return _between(self.temps, low, temp_c), _between(self.temps, high, temp_c)

    def recoat_rows(self, over: Tin) -> tuple[tuple[float, ...], tuple[float, ...]]:
        key = "self" if over.name == self.name else over.name
        if key not in self.recoat:
            key = over.kind if over.kind in self.recoat else "self"
        return self.recoat.get(key) or (self.times["handling"], tuple([1e9] * len(self.temps)))

    def milestone(self, *wanted: str) -> str:
        """The first of these the tin has times for."""
        return next(name for name in wanted if name in self.times)


def _between(temps: tuple[float, ...], hours: tuple[float, ...], temp_c: float) -> float:
    """Between rows a straight line in the logarithm; outside them the end rows' slope."""
    last = len(temps) - 1
    i = 0
    while i < last - 1 and temp_c > temps[i + 1]:
        i += 1
    part = (temp_c - temps[i]) / (temps[i + 1] - temps[i])
    part = min(part, 1.0 + 10.0 / (temps[i + 1] - temps[i]))
    return math.exp(math.log(hours[i]) + part * (math.log(hours[i + 1]) - math.log(hours[i])))


def _bounds(table: dict[str, object]) -> Bounds:
    def span(key: str, low: float, high: float) -> tuple[float, float]:
        got = table.get(key)
        if not isinstance(got, dict):
            return low, high
        return (
            number(got["min"]) if "min" in got else low,
            number(got["max"]) if "max" in got else high,
        )

    dew = table.get("above_dew_point")
    return Bounds(
        span("air", -99.0, 99.0),
        span("surface", -99.0, 99.0),
        span("humidity", -99.0, 999.0),
        number(dew) if isinstance(dew, str) else 0.0,
    )


@functools.cache
def tin(name: str) -> Tin:
    """A tin off the shelf."""
    got = tomllib.loads((SHELF / f"{name}.toml").read_text("utf-8"))
    cure = got["cure"]
    times = {
        key.replace("_", " "): tuple(number(cell) for cell in cells)
        for key, cells in cure.items()
        if isinstance(cells, list) and key != "temps"
    }
    recoat = {
        rule["next"]: (
            tuple(number(cell) for cell in rule["from"]),
            tuple(number(cell) for cell in rule.get("until", ["9999 d"] * len(cure["temps"]))),
        )
        for rule in got.get("recoat", [])
        if "from" in rule
    }
    amounts = got.get("amounts", {})
    spread = number(amounts["spreading_rate"]) if "spreading_rate" in amounts else 10.0
    water = number(amounts["water"]) / spread if "water" in amounts else 0.0
    return Tin(
        name,
        _bounds(got["applying"]),
        _bounds(got["setting"]),
        got["setting"]["until"],
        tuple(number(cell) for cell in cure["temps"]),
        times,
        recoat,
        number(cure.get("stops_below", "-99 °C")),
        "flammable solvent" in got.get("hazards", []),
        water,
        got["kind"],
    )
