"""What each figure of boat.toml, work.toml and a sheet can plausibly be: one table for all.

A figure outside its range is a slip of the pen (mm for m, °F for °C, a lost decimal point) or
something no boat has; what is inside is something the physics can take. All bounds are common
practice or what the material tables end at, no source, but where one is named.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from pydantic import BaseModel

from curewindow.handwritten import values_in, without_numbers
from curewindow.quantity.kinds import (
    AIR_CHANGE,
    AREA,
    CONDUCTIVITY,
    DENSITY,
    DURATION,
    FILM,
    HEAT_CAPACITY,
    LENGTH,
    LIQUID,
    MASS,
    MOISTURE_FLOW,
    PERCENT,
    POWER,
    RATE_PER_AREA,
    SPACE_VOLUME,
    SPEED,
    SPREADING,
    TEMP_DIFFERENCE,
    TEMPERATURE,
    VOC,
    QuantityKind,
    fold,
)
from curewindow.quantity.written import parse


@dataclass(frozen=True, slots=True)
class PlausibleRange:
    """From where to where a figure can be, as written; both ends included.

    Attributes
    ----------
    kind : QuantityKind or None
        None: a plain number.
    least, most : str
    slips : tuple of str
        Units it may have been meant in.
    """

    kind: QuantityKind | None
    least: str
    most: str
    slips: tuple[str, ...] = ()

    def bounds(self) -> tuple[float, float]:
        """Both ends in the unit inside."""
        return _inside(self.least, self.kind), _inside(self.most, self.kind)

    def problem(self, value: float) -> str | None:
        """What is wrong with a figure, what would be right and the likely slip; or None."""
        least, most = self.bounds()
        if math.isfinite(value) and least <= value <= most:
            return None
        unit = "" if self.kind is None else f" {self.kind.unit}"
        text = f"{value:g}{unit} is not likely; from {self.least} to {self.most} it can be"
        meant = self._meant(value)
        return f"{text}; did you mean '{meant}'?" if meant else text

    def _meant(self, value: float) -> str:
        if not math.isfinite(value):
            return ""
        least, most = self.bounds()
        if self.kind is not None:
            for unit in self.slips:
                written = f"{value:g} {unit}"
                factor, offset = self.kind.units[fold(unit)]
                if least <= (value + offset) * factor <= most:
                    return written
        unit = "" if self.kind is None else f" {self.kind.unit}"
        for power in (10.0, 100.0):
            if least < value / power <= most:
                return f"{value / power:g}{unit}"
        return ""


_READ: dict[tuple[str, str], float] = {}


def _inside(text: str, kind: QuantityKind | None) -> float:
    """An end of a range in the unit inside; read once."""
    key = (text, "" if kind is None else kind.name)
    if key not in _READ:
        _READ[key] = float(text) if kind is None else parse(text, kind)
    return _READ[key]


def _temp(least: str, most: str) -> PlausibleRange:
    return PlausibleRange(TEMPERATURE, least, most, ("°F",))


def _hours(least: str, most: str) -> PlausibleRange:
    return PlausibleRange(DURATION, least, most, ("min", "d"))


_SHARE = PlausibleRange(PERCENT, "0 %", "100 %")

# Water at its coldest and warmest: sea water freezes at -1.9 °C; no harbour is warmer than 36 °C.
BOAT: dict[str, PlausibleRange] = {
    "place.latitude": PlausibleRange(None, "-90", "90"),
    "place.longitude": PlausibleRange(None, "-180", "180"),
    "place.elevation_m": PlausibleRange(None, "-430", "6000"),
    "place.water_temp": _temp("-2 °C", "36 °C"),
    "weather.timeout": PlausibleRange(DURATION, "0.1 s", "10 min", ("s", "min")),
    "space.volume": PlausibleRange(SPACE_VOLUME, "0.01 m³", "3000 m³", ("L", "ft³")),
    "space.air_change": PlausibleRange(AIR_CHANGE, "0 /h", "60 /h"),
    "space.interior_mass": PlausibleRange(HEAT_CAPACITY, "0 J/K", "200 MJ/K", ("kJ/K",)),
    "space.moisture": PlausibleRange(MOISTURE_FLOW, "0 kg/h", "10 kg/h", ("g/h",)),
    "space.heating.power": PlausibleRange(POWER, "20 W", "60 kW", ("kW",)),
    "space.heating.min_power": PlausibleRange(POWER, "0 W", "60 kW"),
    "space.heating.swing": PlausibleRange(TEMP_DIFFERENCE, "0 K", "15 K", ("°F",)),
    "space.heating.warm_up": _hours("0 h", "12 h"),
    "space.heating.efficiency": PlausibleRange(PERCENT, "5 %", "100 %"),
    "space.heating.fuel_price": PlausibleRange(None, "0", "100000"),
    "space.heating.routine.setpoint": _temp("0 °C", "40 °C"),
    "space.heating.routine.charge": PlausibleRange(MASS, "0.05 kg", "50 kg", ("g",)),
    "space.dehumidifier.rated": PlausibleRange(MOISTURE_FLOW, "0.1 L/d", "200 L/d", ("g/h",)),
    "space.dehumidifier.power": PlausibleRange(POWER, "0 W", "10 kW", ("kW",)),
    "space.dehumidifier.humidity": PlausibleRange(PERCENT, "10 %", "100 %"),
    "space.dehumidifier.rated_temp": _temp("10 °C", "40 °C"),
    "space.dehumidifier.rated_humidity": PlausibleRange(PERCENT, "10 %", "100 %"),
    "space.panel.area": PlausibleRange(AREA, "1 cm²", "3000 m²", ("cm²", "ft²")),
    "space.panel.layers.thickness": PlausibleRange(LENGTH, "0.01 mm", "1 m", ("mm",)),
    "space.panel.layers.conductivity": PlausibleRange(CONDUCTIVITY, "0.004 W/mK", "430 W/mK"),
    "space.panel.layers.density": PlausibleRange(DENSITY, "0.001 kg/L", "23 kg/L", ("kg/m³",)),
    "door.width": PlausibleRange(LENGTH, "1 cm", "5 m", ("cm", "mm")),
    "door.height": PlausibleRange(LENGTH, "1 cm", "5 m", ("cm", "mm")),
    "service.refresh": PlausibleRange(DURATION, "1 min", "2 d", ("min",)),
    "service.reading_every": PlausibleRange(DURATION, "1 min", "60 d", ("h",)),
    "service.before_window": PlausibleRange(DURATION, "1 min", "7 d", ("min",)),
    "tin.size": PlausibleRange(LIQUID, "1 ml", "500 L", ("ml",)),
    "sensor.every": PlausibleRange(DURATION, "1 min", "6 h", ("min",)),
}

WORK: dict[str, PlausibleRange] = {
    "job.area": PlausibleRange(AREA, "1 cm²", "5000 m²", ("cm²", "ft²")),
    "job.wood_thickness": PlausibleRange(LENGTH, "0.1 mm", "1 m", ("mm",)),
    "job.amount": PlausibleRange(LIQUID, "1 ml", "2000 L", ("ml",)),
    "job.step.hands_on": PlausibleRange(DURATION, "0 h", "500 h", ("min",)),
    "job.step.rate": PlausibleRange(RATE_PER_AREA, "0 h/m²", "100 h/m²", ("min/m²",)),
}

_LIMIT = _temp("-30 °C", "60 °C")
_CURING = _hours("10 s", "20000 h")
_PHASE: dict[str, PlausibleRange] = {
    **{
        f"{name}.{bound}": _LIMIT
        for name in ("air", "surface", "product", "mixed")
        for bound in ("min", "max")
    },
    **{
        f"{name}.{bound}": _SHARE
        for name in ("humidity", "wood_moisture")
        for bound in ("min", "max")
    },
    "above_dew_point": PlausibleRange(TEMP_DIFFERENCE, "0 K", "30 K", ("°F",)),
    "wind_max": PlausibleRange(SPEED, "0 m/s", "60 m/s", ("km/h", "kn")),
}
SHEET: dict[str, PlausibleRange] = {
    **{f"applying.{key}": each for key, each in _PHASE.items()},
    **{f"setting.{key}": each for key, each in _PHASE.items()},
    "working.temps": _LIMIT,
    "working.pot_life": _hours("1 s", "10000 h"),
    "working.pot_life_mass": PlausibleRange(MASS, "1 g", "500 kg", ("g",)),
    "working.open_time": _hours("1 s", "10000 h"),
    "working.induction": _hours("0 h", "48 h"),
    "working.clamp": _hours("0 h", "2000 h"),
    "cure.temps": _LIMIT,
    "cure.humidity": _SHARE,
    "cure.film": PlausibleRange(FILM, "1 µm", "100000 µm", ("mm",)),
    **{
        f"cure.{row}": _CURING
        for row in (
            "touch_dry",
            "tack_free",
            "sandable",
            "handling",
            "light_use",
            "closed_up",
            "immersion",
            "full_cure",
        )
    },
    "cure.stops_below": _LIMIT,
    "cure.stops_above_humidity": _SHARE,
    "recoat.temps": _LIMIT,
    "recoat.from": _hours("0 h", "20000 h"),
    "recoat.until": _hours("0 h", "100000 h"),
    "depth_cure.depth": PlausibleRange(LENGTH, "0.01 mm", "0.1 m", ("mm",)),
    "depth_cure.time": _hours("1 min", "2000 h"),
    "depth_cure.temp": _LIMIT,
    "depth_cure.humidity": PlausibleRange(PERCENT, "1 %", "100 %"),
    "depth_cure.bead": PlausibleRange(LENGTH, "0.1 mm", "0.2 m", ("mm",)),
    "amounts.volume_solids": PlausibleRange(PERCENT, "1 %", "100 %"),
    "amounts.wet_film": PlausibleRange(FILM, "1 µm", "100000 µm", ("mm",)),
    "amounts.dry_film": PlausibleRange(FILM, "0.1 µm", "100000 µm", ("mm",)),
    "amounts.spreading_rate": PlausibleRange(SPREADING, "0.01 m²/L", "200 m²/L"),
    "amounts.loss": PlausibleRange(PERCENT, "0 %", "95 %"),
    "amounts.mix_by_volume": PlausibleRange(None, "0.0001", "10000"),
    "amounts.mix_by_mass": PlausibleRange(None, "0.0001", "10000"),
    "amounts.thinning_max": _SHARE,
    "amounts.density": PlausibleRange(DENSITY, "0.2 kg/L", "6 kg/L", ("kg/m³",)),
    "amounts.solvent": PlausibleRange(VOC, "0 g/L", "1200 g/L"),
    "amounts.water": PlausibleRange(VOC, "0 g/L", "1000 g/L"),
    "storage.min": _temp("-60 °C", "60 °C"),
    "storage.max": _temp("-30 °C", "100 °C"),
    "storage.shelf_life": _hours("1 d", "40 years"),
    "storage.shelf_life_opened": _hours("1 min", "40 years"),
    # Heavy white spirit has 0.6 %, methanol 6 %, dichloromethane 12 % (safety data sheets, from
    # memory): 60 % is 0.6 %, and 0 or 100 % is none.
    "solvent.lower_explosive_limit": PlausibleRange(PERCENT, "0.3 %", "20 %"),
    "solvent.vapour_per_litre": PlausibleRange(None, "0.01", "5"),
}


def implausible(
    described: BaseModel, ranges: dict[str, PlausibleRange]
) -> Iterator[tuple[str, str]]:
    """Each figure of a file that cannot be: its key and what is wrong, one line.

    Parameters
    ----------
    described : BaseModel
        What was read.
    ranges : dict of str to PlausibleRange
        By the key without the numbers of lists: ``BOAT``, ``WORK`` or ``SHEET``.
    """
    for key, value in values_in(described, float):
        allowed = ranges.get(without_numbers(key))
        problem = None if allowed is None else allowed.problem(value)
        if problem is not None:
            yield key, problem
        elif not math.isfinite(value):
            yield key, f"{value:g} is no figure; write a number"
