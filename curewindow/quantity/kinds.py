"""The kinds of quantity, the unit each has inside, and the units it may be written in."""

from __future__ import annotations

import re
from dataclasses import dataclass

_ZERO_CELSIUS_F = 32.0


@dataclass(frozen=True, slots=True)
class QuantityKind:
    """One kind of quantity: its name for messages, its unit inside, the units it is written in.

    ``units`` maps a folded unit text to (factor, offset): inside = (written + offset) * factor.
    """

    name: str
    unit: str
    example: str
    units: dict[str, tuple[float, float]]
    minimum: float | None = None
    maximum: float | None = None  # far beyond any boat: what is above it is a slip of the pen


def _table(*pairs: tuple[str, float]) -> dict[str, tuple[float, float]]:
    return {fold(unit): (factor, 0.0) for unit, factor in pairs}


def fold(unit: str) -> str:
    """Spell a unit one way: no spaces, no degree sign, ASCII powers, µ as u."""
    text = unit.strip().replace("°", "").replace("º", "").replace("˚", "")
    for written, meant in (
        ("℃", "C"),
        ("℉", "F"),
        ("²", "2"),
        ("³", "3"),
        ("^", ""),
        ("µ", "u"),
        ("μ", "u"),
        ("·", ""),
        ("⁻¹", "-1"),
    ):
        text = text.replace(written, meant)
    return re.sub(r"\s+", "", text).replace("per", "/")


TEMPERATURE = QuantityKind(
    "temperature",
    "°C",
    "10 °C",
    {
        **_table(("C", 1.0), ("degC", 1.0), ("c", 1.0), ("Celsius", 1.0)),
        **dict.fromkeys(
            ("F", "degF", "f", "Fahrenheit", "fahrenheit"), (5.0 / 9.0, -_ZERO_CELSIUS_F)
        ),
        "celsius": (1.0, 0.0),
    },
    minimum=-273.15,
    maximum=2000.0,
)
TEMP_DIFFERENCE = QuantityKind(
    "temperature difference",
    "K",
    "3 K",
    {
        **_table(("K", 1.0), ("C", 1.0), ("degC", 1.0), ("k", 1.0), ("c", 1.0)),
        **_table(("F", 5.0 / 9.0), ("degF", 5.0 / 9.0), ("f", 5.0 / 9.0), ("R", 5.0 / 9.0)),
    },
    maximum=2000.0,
)
DURATION = QuantityKind(
    "time span",
    "h",
    "24 h",
    _table(
        ("h", 1.0),
        ("hr", 1.0),
        ("hrs", 1.0),
        ("hour", 1.0),
        ("hours", 1.0),
        ("min", 1.0 / 60.0),
        ("mins", 1.0 / 60.0),
        ("minute", 1.0 / 60.0),
        ("minutes", 1.0 / 60.0),
        ("s", 1.0 / 3600.0),
        ("sec", 1.0 / 3600.0),
        ("d", 24.0),
        ("day", 24.0),
        ("days", 24.0),
        ("week", 168.0),
        ("weeks", 168.0),
        ("wk", 168.0),
        ("month", 730.5),
        ("months", 730.5),
        ("year", 8766.0),
        ("years", 8766.0),
    ),
    minimum=0.0,
    maximum=1e6,
)
LENGTH = QuantityKind(
    "length",
    "m",
    "22 mm",
    _table(
        ("m", 1.0),
        ("cm", 0.01),
        ("mm", 1e-3),
        ("in", 0.0254),
        ("inch", 0.0254),
        ("inches", 0.0254),
        ('"', 0.0254),
        ("ft", 0.3048),
    ),
    minimum=0.0,
    maximum=100.0,
)
FILM = QuantityKind(
    "film thickness",
    "µm",
    "60 µm",
    _table(
        ("um", 1.0),
        ("micron", 1.0),
        ("microns", 1.0),
        ("mil", 25.4),
        ("mils", 25.4),
        ("mm", 1000.0),
    ),
    minimum=0.0,
    maximum=1e6,
)
AREA = QuantityKind(
    "area",
    "m²",
    "6 m²",
    _table(("m2", 1.0), ("cm2", 1e-4), ("ft2", 0.09290304), ("sqft", 0.09290304)),
    minimum=0.0,
    maximum=1e5,
)
SPACE_VOLUME = QuantityKind(
    "volume of a space",
    "m³",
    "14 m³",
    _table(("m3", 1.0), ("l", 1e-3), ("L", 1e-3), ("ft3", 0.028316846592)),
    minimum=0.0,
    maximum=1e5,
)
LIQUID = QuantityKind(
    "amount of liquid",
    "L",
    "2.5 L",
    _table(("L", 1.0), ("l", 1.0), ("ml", 1e-3), ("mL", 1e-3), ("litre", 1.0), ("litres", 1.0)),
    minimum=0.0,
    maximum=1e5,
)
MASS = QuantityKind(
    "mass",
    "kg",
    "1 kg",
    _table(("kg", 1.0), ("g", 1e-3), ("lb", 0.45359237), ("oz", 0.028349523125)),
    minimum=0.0,
    maximum=1e5,
)
PERCENT = QuantityKind("percentage", "%", "85 %", _table(("%", 1.0), ("pct", 1.0)))
POWER = QuantityKind(
    "power",
    "W",
    "1.5 kW",
    _table(("W", 1.0), ("kW", 1e3), ("w", 1.0), ("kw", 1e3)),
    maximum=1e6,
)
SPEED = QuantityKind(
    "wind speed",
    "m/s",
    "8 m/s",
    _table(
        ("m/s", 1.0),
        ("ms-1", 1.0),
        ("km/h", 1.0 / 3.6),
        ("kn", 1852.0 / 3600.0),
        ("kt", 1852.0 / 3600.0),
        ("knots", 1852.0 / 3600.0),
        ("mph", 0.44704),
    ),
    minimum=0.0,
    maximum=300.0,
)
AIR_CHANGE = QuantityKind(
    "air change",
    "/h",
    "0.5 /h",
    _table(("/h", 1.0), ("1/h", 1.0), ("h-1", 1.0), ("ach", 1.0), ("ACH", 1.0)),
    minimum=0.0,
    maximum=1e4,
)
SPREADING = QuantityKind(
    "spreading rate",
    "m²/L",
    "10 m²/L",
    _table(("m2/L", 1.0), ("m2/l", 1.0)),
    minimum=0.0,
    maximum=1e4,
)
DENSITY = QuantityKind(
    "density",
    "kg/L",
    "1.3 kg/L",
    _table(("kg/L", 1.0), ("kg/l", 1.0), ("g/ml", 1.0), ("g/cm3", 1.0), ("kg/m3", 1e-3)),
    minimum=0.0,
    maximum=30.0,
)
CONDUCTIVITY = QuantityKind(
    "thermal conductivity",
    "W/mK",
    "0.035 W/mK",
    _table(("W/mK", 1.0), ("W/(mK)", 1.0), ("W/m/K", 1.0)),
    minimum=0.0,
    maximum=500.0,
)
MOISTURE_FLOW = QuantityKind(
    "moisture flow",
    "kg/h",
    "50 g/h",
    _table(
        ("kg/h", 1.0),
        ("g/h", 1e-3),
        ("kg/d", 1.0 / 24.0),
        ("g/d", 1e-3 / 24.0),
        # Dehumidifiers are sold by litres of water a day, in the US by pints.
        ("L/d", 1.0 / 24.0),
        ("l/d", 1.0 / 24.0),
        ("L/day", 1.0 / 24.0),
        ("l/day", 1.0 / 24.0),
        ("L/24h", 1.0 / 24.0),
        ("l/24h", 1.0 / 24.0),
        ("pt/day", 0.473176473 / 24.0),
        ("pints/day", 0.473176473 / 24.0),
    ),
    minimum=0.0,
    maximum=1e4,
)
RATE_PER_AREA = QuantityKind(
    "working rate",
    "h/m²",
    "20 min/m²",
    _table(("h/m2", 1.0), ("min/m2", 1.0 / 60.0)),
    minimum=0.0,
)
HEAT_CAPACITY = QuantityKind(
    "heat capacity",
    "J/K",
    "200 kJ/K",
    _table(("J/K", 1.0), ("kJ/K", 1e3), ("MJ/K", 1e6), ("Wh/K", 3600.0)),
    minimum=0.0,
)
VOC = QuantityKind(
    "solvent content",
    "g/L",
    "420 g/L",
    _table(("g/L", 1.0), ("g/l", 1.0), ("kg/L", 1000.0)),
    minimum=0.0,
)
