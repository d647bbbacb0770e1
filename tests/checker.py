"""A slow second opinion on one start of a coat: minute by minute, in plain arithmetic.

Shares no code with what it checks. It knows a sheet as the printed figures, weather
as straight lines between grid points, and walks through every minute: limits while
applying, limits while setting, and how far the film has come, at the slow (or quick)
edge of the band the sheet's times have.

Sources: time against temperature by the Arrhenius form (ASTM C1074); saturation
pressure by the Magnus form of WMO-No. 8, annex 4.B; drying in proportion to the vapour
pressure deficit (Dalton); depth of a moisture-curing bead with the square root of the
vapour seen (Comyn 1998). Bands and activation energies are the stated estimates.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field

BANDS = {"data sheet": 0.10, "tin label": 0.15, "typical of the kind": 0.25}
OUTSIDE = 0.25
ENERGY = {
    "oxidation": 48e3,
    "epoxy amine": 55e3,
    "two-part urethane": 45e3,
    "moisture curing": 45e3,
    "waterborne": 44e3,
    "peroxide": 50e3,
    "solvent release": 45e3,
}
GAS = 8.314462618
DIRECT_SUN = 120.0
EPS = 1e-9
# Water on a surface: followed in steps of so many minutes; so much is none; so much stays.
FILM_MIN = 10
NO_FILM = 0.1
MOST_FILM = 100.0


@dataclass
class Printed:
    """A sheet as it is printed: °C, hours, %, mm."""

    chemistry: str
    basis: str
    temps: list[float]
    rows: dict[str, list[float]]
    until: str
    applying: dict[str, float]  # such as 'air min', 'surface above dew point min'
    setting: dict[str, float]
    humidity: float | None = None
    stops_below: float | None = None
    stops_above_humidity: float | None = None
    depth: tuple[float, float, float, float, float] | None = None  # mm, h, °C, %, bead mm


@dataclass
class Tin:
    """How a tin gets to the work: °C, hours, minutes; all of it on the grid of its place.

    Kept where the work is (``home`` None) it has the air's past in it. Kept at home it is
    carried for twenty minutes through ``outside``: at grid point ``fetched``, to stand by,
    or right before it is used, and then counts as out for all of the ``hands_on`` time. The
    warmer of the two is used, unless it is above ``most``.
    """

    lags_h: float
    outside: list[float]
    home: float | None = None
    fetched: int = 0
    hands_on: int = 0
    most: float = math.inf


@dataclass
class Place:
    """One member of the weather at a surface, on a grid that starts at a minute of the day."""

    step_min: int
    first_minute: int
    values: dict[str, list[float]]
    outdoors: bool
    hours: list[tuple[int, int]]  # minutes of the day aboard, both ends in
    bare_wood: bool = False
    wiped: tuple[int, ...] = ()  # minutes at which the surface was wiped dry
    tin: Tin | None = None
    _film: list[float] = field(default_factory=list)
    _tin: list[float] = field(default_factory=list)
    _rates: dict[tuple[int, str, str], float] = field(default_factory=dict)

    @property
    def last_minute(self) -> int:
        return (len(self.values["air"]) - 1) * self.step_min

    def at(self, name: str, minute: float) -> float:
        """Straight line between grid points; NaN where either end is."""
        line = self.values[name]
        left = int(minute // self.step_min)
        share = minute / self.step_min - left
        if share == 0.0:
            return line[left]
        return line[left] + share * (line[left + 1] - line[left])

    def film(self, minute: int) -> float:
        """Water lying on the surface, g/m², followed from the first minute on."""
        if not self._film:
            self._film = follow_film(self)
        return self._film[min(minute // FILM_MIN, len(self._film) - 1)]

    def tin_at(self, minute: float) -> float:
        """Temperature of the tin: straight lines between grid points; NaN: nobody knows."""
        if not self._tin:
            self._tin = follow_tin(self)
        left = int(minute // self.step_min)
        share = minute / self.step_min - left
        if share == 0.0:
            return self._tin[left]
        return self._tin[left] + share * (self._tin[left + 1] - self._tin[left])

    def aboard(self, minute: int) -> bool:
        day = (self.first_minute + minute) % 1440
        return any(begin <= day <= end for begin, end in self.hours)


def pressure(temp: float) -> float:
    return 611.2 * math.exp(17.62 * temp / (243.12 + temp))


def ice_pressure(temp: float) -> float:
    """Over ice, the same source."""
    return 611.2 * math.exp(22.46 * temp / (272.62 + temp))


def follow_film(place: Place) -> list[float]:
    """Dew and rain on, evaporation off (Lewis; slowed by its own cooling, Penman 1948)."""
    film, found = 0.0, []
    for minute in range(0, place.last_minute, FILM_MIN):
        if any(minute - FILM_MIN < wiped <= minute for wiped in place.wiped):
            film = 0.0
        found.append(film)
        middle = minute + FILM_MIN / 2.0
        surface, dew = place.at("surface", middle), place.at("dew", middle)
        if not (math.isnan(surface) or math.isnan(dew)):
            held = ice_pressure(surface) if surface < 0.0 else pressure(surface)
            over = pressure(dew) - held
            if over < 0.0:
                slope = 17.62 * 243.12 / (243.12 + surface) ** 2 * pressure(surface)
                over *= 66.0 / (66.0 + slope)
            # g/(m² s Pa) for each W/m²K: air of 1.247 kg/m³ and 1006 J/kgK at 10 °C.
            lewis = 1000.0 / (1.247 * 1006.0 * 461.5 * 283.15 * 0.85 ** (2.0 / 3.0))
            convection = 2.5
            if place.outdoors:
                wind = place.at("wind", middle)
                convection = 4.0 + 2.4 * (0.0 if math.isnan(wind) else wind)
            film += lewis * convection * over * 60.0 * FILM_MIN
        if place.outdoors and not math.isnan(place.at("rain", middle)):
            film += 1000.0 * place.at("rain", middle) * FILM_MIN / 60.0
        film = min(max(film, 0.0), MOST_FILM)
    return found or [0.0]


def follow_tin(place: Place) -> list[float]:
    """Newton's law of cooling in air that runs straight between grid points."""
    tin, air = place.tin, place.values["air"]
    if tin is None:
        return [math.nan] * len(air)
    around = [tin.outside[i] if math.isnan(air[i]) else air[i] for i in range(len(air))]
    hours = place.step_min / 60.0

    def later(warm: float, i: int) -> float:
        """A tin of grid point i at the next: T' = (air - T) / lags, air = a + b t."""
        slope = (around[i + 1] - around[i]) / hours
        settled = around[i] - slope * tin.lags_h
        return settled + slope * hours + (warm - settled) * math.exp(-hours / tin.lags_h)

    def carried(i: int) -> float:
        share = math.exp(-20.0 / 60.0 / tin.lags_h)
        return tin.home * share + tin.outside[i] * (1.0 - share)

    found, stood = [], around[0]
    out = math.ceil(tin.hands_on / place.step_min)
    for i in range(len(air)):
        if i > 0:
            stood = later(stood, i - 1)
        if tin.home is not None and i == tin.fetched:
            stood = carried(i)
        here = stood
        if tin.home is not None:
            used = carried(max(i - out, 0))
            for k in range(max(i - out, 0), i):
                used = later(used, k)
            here = max(stood, used)
            if here > tin.most:
                here = min(stood, used)
        found.append(math.nan if math.isnan(air[i]) else here)
    return found


def density(temp: float, rh: float) -> float:
    return rh / 100.0 * pressure(temp) / (461.523 * (temp + 273.15))


def stop_temperature(sheet: Printed) -> float:
    if sheet.stops_below is not None:
        return sheet.stops_below
    for limits in (sheet.setting, sheet.applying):
        # The film lies on the surface: the air's limit only where the surface has none.
        for name in ("surface min", "air min"):
            if name in limits:
                return limits[name]
    return -math.inf


def hours_needed(temps: list[float], hours: list[float], temp: float, energy: float) -> float:
    """Time at constant temperature: ln t a straight line in 1/T between printed columns."""
    kelvin = temp + 273.15
    if temp <= temps[0]:
        return hours[0] * math.exp(energy / GAS * (1.0 / kelvin - 1.0 / (temps[0] + 273.15)))
    for k in range(len(temps) - 1):
        if temp <= temps[k + 1]:
            cold, warm = 1.0 / (temps[k] + 273.15), 1.0 / (temps[k + 1] + 273.15)
            share = (cold - 1.0 / kelvin) / (cold - warm)
            return math.exp((1.0 - share) * math.log(hours[k]) + share * math.log(hours[k + 1]))
    return hours[-1] * math.exp(energy / GAS * (1.0 / kelvin - 1.0 / (temps[-1] + 273.15)))


def rate(sheet: Printed, place: Place, row: str, minute: float, side: str) -> float:
    """Progress an hour at a moment; NaN where what it runs by is not known."""
    film, air = place.at("surface", minute), place.at("air", minute)
    rh, dew = place.at("rh", minute), place.at("dew", minute)
    band = BANDS[sheet.basis]
    stop = stop_temperature(sheet) if side == "slow" else sheet.stops_below
    table_rh = 50.0 if sheet.humidity is None else sheet.humidity
    if sheet.chemistry == "moisture curing":
        film = film + 0.0 * (air + rh)
    if sheet.chemistry == "waterborne":
        film = film + 0.0 * dew
    if sheet.stops_above_humidity is not None:
        film = film + 0.0 * rh
    if math.isnan(film):
        return math.nan
    if stop is not None and film < stop:
        return 0.0
    if sheet.stops_above_humidity is not None and rh > sheet.stops_above_humidity:
        return 0.0
    if row == "bead":
        assert sheet.depth is not None
        deep, time, temp, humid, bead = sheet.depth
        share = density(air, rh) / density(temp, humid)
        needed = time * (bead / deep) ** 2
        value = (min(share, 1.0) if side == "slow" else share) / needed
    else:
        hottest = sheet.temps[-1]
        table_temp = min(film, hottest) if side == "slow" else film
        value = 1.0 / hours_needed(
            sheet.temps, sheet.rows[row], table_temp, ENERGY[sheet.chemistry]
        )
        if film < sheet.temps[0] or film > hottest:
            band += OUTSIDE
        share = 1.0
        if sheet.chemistry == "waterborne":
            deficit = pressure(film) - pressure(dew)
            share = max(deficit / (pressure(film) * (1.0 - table_rh / 100.0)), 0.0)
        elif sheet.chemistry == "moisture curing":
            share = density(air, rh) / density(film, table_rh)
        value *= min(share, 1.0) if side == "slow" else share
    return value / (1.0 + band) if side == "slow" else value * (1.0 + band)


def rate_in(sheet: Printed, place: Place, row: str, minute: int, side: str) -> float:
    """Rate held through the minute that begins here: that of its middle."""
    key = (minute, row, side)
    if key not in place._rates:
        place._rates[key] = rate(sheet, place, row, minute + 0.5, side)
    return place._rates[key]


def reached(sheet: Printed, place: Place, row: str, begin: int, side: str) -> int | None:
    """First minute at which a film from ``begin`` has come to a milestone; None: not known."""
    rows = [row]
    if sheet.depth is not None and row in ("closed up", "full cure"):
        rows.append("bead")
    latest = begin
    for name in rows:
        progress, minute = 0.0, begin
        while progress < 1.0 - EPS:
            if minute >= place.last_minute:
                return None
            step = rate_in(sheet, place, name, minute, side)
            if math.isnan(step):
                return None
            progress += step / 60.0
            minute += 1
        latest = max(latest, minute)
    return latest


@dataclass(frozen=True)
class Limit:
    """A limit as it is known here: by a name of its own, which the sheets' keys below use.

    ``drawn`` says between which figures, and how often, a random sheet sets each bound;
    a limit with none is wanted of every coat.
    """

    name: str
    value: Callable[[Place, float], float]
    counts: str = ""  # 'applying', 'outdoors', 'bare wood'; else always
    drawn: dict[str, tuple[float, float, float]] = field(default_factory=dict)


_COLD, _HOT = (-5.0, 8.0), (18.0, 35.0)
LIMITS = {
    "air": Limit(
        "air temperature",
        lambda place, minute: place.at("air", minute),
        drawn={"min": (*_COLD, 0.8), "max": (*_HOT, 0.3)},
    ),
    "surface": Limit(
        "surface temperature",
        lambda place, minute: place.at("surface", minute),
        drawn={"min": (*_COLD, 0.8), "max": (*_HOT, 0.3)},
    ),
    "tin": Limit(
        "tin temperature",
        lambda place, minute: place.tin_at(minute),
        counts="applying",
        drawn={"min": (*_COLD, 0.3), "max": (18.0, 30.0, 0.2)},
    ),
    "mixed": Limit(
        "mixed product temperature",
        lambda place, minute: place.tin_at(minute),
        counts="applying",
        drawn={"max": (20.0, 32.0, 0.3)},
    ),
    "rh": Limit(
        "relative humidity",
        lambda place, minute: place.at("rh", minute),
        drawn={"min": (10.0, 50.0, 0.3), "max": (70.0, 99.0, 0.6)},
    ),
    "above dew point": Limit(
        "surface above dew point",
        lambda place, minute: place.at("surface", minute) - place.at("dew", minute),
        drawn={"min": (0.0, 3.0, 0.6)},
    ),
    "film": Limit(
        "water on the surface",
        lambda place, minute: place.film(int(minute)),
        counts="applying",
    ),
    "wood": Limit(
        "wood moisture",
        lambda place, minute: place.at("wood", minute),
        counts="bare wood",
        drawn={"max": (14.0, 20.0, 0.5)},
    ),
    "wind": Limit(
        "wind",
        lambda place, minute: place.at("wind", minute),
        counts="outdoors",
        drawn={"max": (5.0, 12.0, 0.5)},
    ),
    "rain": Limit(
        "rain",
        lambda place, minute: place.at("rain", minute),
        counts="outdoors",
        drawn={"max": (0.0, 0.0, 0.8)},
    ),
    "sun": Limit(
        "direct sun",
        lambda place, minute: place.at("sun", minute),
        counts="outdoors",
        drawn={"max": (DIRECT_SUN, DIRECT_SUN, 0.5)},
    ),
}


def broken(limits: dict[str, float], place: Place, minute: int, applying: bool) -> bool:
    """True where any limit is broken or cannot be told at a minute.

    Nothing is put on a wet surface, whether its sheet says so or not.
    """
    if applying and LIMITS["film"].value(place, minute) > NO_FILM:
        return True
    dew = LIMITS["above dew point"]
    if applying and "above dew point min" not in limits and not dew.value(place, minute) > 0.0:
        return True
    for name, limit in limits.items():
        what, bound = name.rsplit(" ", 1)
        known = LIMITS[what]
        here = {"applying": applying, "outdoors": place.outdoors, "bare wood": place.bare_wood}
        if known.counts and not here[known.counts]:
            continue
        value = known.value(place, minute)
        kept = value >= limit - EPS if bound == "min" else value <= limit + EPS
        if not kept:  # NaN is not kept
            return True
    return False


def why_not(sheet: Printed, place: Place, start: int, hands_on: int) -> str | None:
    """Why a coat may not be started at a minute; None where it may."""
    end = start + hands_on
    if end > place.last_minute:
        return "beyond the forecast"
    for minute in range(start, end + 1):
        if not place.aboard(minute):
            return "nobody aboard"
        if broken(sheet.applying, place, minute, True):
            return f"applying, minute {minute}"
    progress, minute = 0.0, start
    while True:
        if broken(sheet.setting, place, minute, False):
            return f"setting, minute {minute}"
        if minute >= end and progress >= 1.0 - EPS:
            break
        if minute >= place.last_minute:
            return "beyond the forecast"
        if minute >= end:
            step = rate_in(sheet, place, sheet.until, minute, "slow")
            if math.isnan(step):
                return "not known"
            progress += step / 60.0
        elif math.isnan(place.at("surface", minute)):
            return "not known"
        minute += 1
    if sheet.depth is not None and sheet.until in ("closed up", "full cure"):
        last = reached(sheet, place, sheet.until, end, "slow")
        if last is None:
            return "beyond the forecast"
        for later in range(minute, last + 1):
            if broken(sheet.setting, place, later, False):
                return f"setting, minute {later}"
    return None
