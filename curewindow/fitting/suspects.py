"""Readings that cannot be what they say: spotted, named, and left out of the fit.

All bounds are estimates, no source. Whatever is left out is listed with its reason.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from curewindow.fitting.cabin import Cabin, Courses
from curewindow.fitting.data import AIR, DEW, DRIEST_PCT, Data, predicted
from curewindow.physics.air import relative_humidity
from curewindow.record.entries import Reading
from curewindow.rules.readings import (
    FAHRENHEIT_NEAR_K,
    FAHRENHEIT_OFF_K,
    STUCK_COUNT,
    STUCK_H,
    STUCK_K,
    STUCK_PCT,
    SUN_K,
    SUN_W_M2,
    is_fahrenheit,
)
from curewindow.series import BoolArray, FloatArray

Value = Literal["air", "humidity", "surface"]
Why = Literal["out of range", "stuck", "sun", "°F as °C", "°C as °F", "odd"]

SUN_BEFORE_H: Final = 1.0
ODD_SPREADS: Final = 4.5
ODD_K: Final = {AIR: 2.5, DEW: 3.5}
MOST_ODD: Final = 0.15
"""Where more than this share is odd, it is the model that does not follow the cabin."""
CLOCK_MOST_K: Final = 5.0
CLOCK_H: Final = (-2.0, -1.0, 1.0, 2.0)
_CLOCK_LEAST = 12


@dataclass(frozen=True, slots=True)
class Suspect:
    """One value that is not believed.

    Attributes
    ----------
    reading : Reading
    value : {'air', 'humidity', 'surface'}
        Which of its values. Without its air temperature its humidity says nothing either.
    why : {'out of range', 'stuck', 'sun', '°F as °C', '°C as °F', 'odd'}
    expected : float
        What the fitted model has there, °C or %.
    """

    reading: Reading
    value: Value
    why: Why
    expected: float


def unreadable(readings: list[Reading]) -> list[Suspect]:
    """Humidity that no sensor in order shows: 0 %, or a share of one."""
    return [
        Suspect(reading, "humidity", "out of range", float("nan"))
        for reading in readings
        if reading.rh_pct is not None and not DRIEST_PCT <= reading.rh_pct <= 100.0
    ]


def suspects_in(cabin: Cabin, data: Data, courses: Courses, misfit: float) -> list[Suspect]:
    """Values that a fitted model cannot explain, each with the likeliest reason.

    Parameters
    ----------
    cabin : Cabin
    data : Data
        All values, those doubted before included.
    courses : Courses
        Of the fit; its first candidate is judged by.
    misfit : float
        Spread of all residuals over the expected one.

    Returns
    -------
    list of Suspect
        In order of time. Odd ones without a reason of their own are left alone where
        there are too many of them to be exceptions.
    """
    expected = predicted(courses, data)[0]
    off = data.value - expected
    spread = _spreads(data, off, misfit)
    named: dict[tuple[int, Value], Suspect] = {}
    odd: dict[tuple[int, Value], Suspect] = {}
    for index in np.argsort(data.hours, kind="stable"):
        kind, owner = int(data.kind[index]), int(data.owner[index])
        reading, gap = data.readings[owner], float(off[index])
        value: Value = "air" if kind == AIR else "humidity" if kind == DEW else "surface"
        if kind == DEW and ((owner, "air") in named or (owner, "air") in odd):
            continue  # its dew point is wrong with its air
        shown = _shown(cabin, courses, data, index, float(expected[index]))
        read, model = float(data.value[index]), float(expected[index])
        why: Why | None = None if kind == DEW else mistaken_degrees(read, model)
        if why is None and kind != DEW and gap > max(SUN_K, 3.0 * float(spread[index])):
            why = "sun" if _sunny(cabin, float(data.hours[index])) else None
        if why is not None:
            named[owner, value] = Suspect(reading, value, why, shown)
        elif abs(gap) > max(ODD_K.get(kind, ODD_K[AIR]), ODD_SPREADS * float(spread[index])):
            odd[owner, value] = Suspect(reading, value, "odd", shown)
    for key, suspect in _stuck(data, courses).items():
        named.setdefault(key, suspect)
    if len(odd) <= max(MOST_ODD * len(data.readings), 1.0):
        named = {**odd, **named}
    return [named[key] for key in sorted(named, key=lambda key: data.readings[key[0]].at)]


def mask_without(data: Data, suspects: list[Suspect]) -> BoolArray:
    """True for the values that stay."""
    doubted = {(id(suspect.reading), suspect.value) for suspect in suspects}

    def stays(kind: int, owner: int) -> bool:
        reading = id(data.readings[owner])
        if kind == DEW:
            return (reading, "humidity") not in doubted and (reading, "air") not in doubted
        return (reading, "air" if kind == AIR else "surface") not in doubted

    pairs = zip(data.kind.tolist(), data.owner.tolist(), strict=True)
    return np.array([stays(kind, owner) for kind, owner in pairs], dtype=np.bool_)


def clock_off_h(data: Data, courses: Courses) -> float:
    """Hours by which readings seem to be taken later than they say; 0: as they say.

    A whole record that fits clearly better an hour or two along was written in another
    zone, or by a clock that was never put back. Give it odd readings too: a wrong clock
    makes some. One hour mostly hides in the values; two do not.
    """
    air = data.picked(data.kind == AIR)
    if air.kind.size < _CLOCK_LEAST:
        return 0.0

    def error(later_h: float) -> float:
        off = np.abs(predicted(courses, air, later_h)[0] - air.value)
        return float(np.mean(np.minimum(off, CLOCK_MOST_K)))

    best = min(CLOCK_H, key=error)
    now, then = error(0.0), error(best)
    return best if then < 0.7 * now and now - then > 0.25 else 0.0


def _spreads(data: Data, off: FloatArray, misfit: float) -> FloatArray:
    """Spread of each value's residual: as expected, or as most of its kind have it."""
    spread = data.sigma * misfit
    for kind in np.unique(data.kind):
        where = data.kind == kind
        usual = 1.4826 * float(np.median(np.abs(off[where])))
        spread[where] = np.maximum(spread[where], usual)
    return spread


def mistaken_degrees(read: float, model: float) -> Why | None:
    """Was a value written in the other unit? A long way off, and right once it is turned."""
    if abs(read - model) < FAHRENHEIT_OFF_K:
        return None
    if is_fahrenheit(read, model):
        return "°F as °C"
    return "°C as °F" if abs(read * 1.8 + 32.0 - model) < FAHRENHEIT_NEAR_K else None


def _sunny(cabin: Cabin, hours: float) -> bool:
    end = int(np.ceil(hours / cabin.step_h))
    begin = int(np.floor((hours - SUN_BEFORE_H) / cabin.step_h))
    sun = np.broadcast_to(cabin.outside.sun_w_m2, (1, cabin.times.size))[0]
    return bool(np.nanmax(sun[max(begin, 0) : end + 1]) >= SUN_W_M2)


def _shown(cabin: Cabin, courses: Courses, data: Data, index: np.intp, expected: float) -> float:
    """What the model has, in what was read: humidity for a dew point."""
    if int(data.kind[index]) != DEW:
        return expected
    place = data.hours[index] / cabin.step_h
    air = float(np.interp(place, np.arange(cabin.times.size), courses.air_c[0]))
    return float(relative_humidity(air, min(expected, air)))


def _stuck(data: Data, courses: Courses) -> dict[tuple[int, Value], Suspect]:
    """Runs of the same value while the cabin cannot have stood still."""
    found: dict[tuple[int, Value], Suspect] = {}
    grid = np.arange(courses.air_c.shape[1]) * data.step_h
    model_air = courses.air_c[0]
    model_rh = np.asarray(
        relative_humidity(model_air, np.minimum(courses.dew_point_c[0], model_air))
    )
    kinds: list[tuple[Value, int, FloatArray, float]] = [
        ("air", AIR, model_air, STUCK_K),
        ("humidity", DEW, model_rh, STUCK_PCT),
    ]
    for value, kind, model, least in kinds:
        rows = np.flatnonzero(data.kind == kind)
        rows = rows[np.argsort(data.hours[rows], kind="stable")]
        owners = data.owner[rows]
        read = np.array(
            [_read(data.readings[owner], value) for owner in owners.tolist()], dtype=np.float64
        )
        hours = data.hours[rows]
        breaks = np.flatnonzero(np.diff(read) != 0.0) + 1
        for run in np.split(np.arange(read.size), breaks):
            if run.size < STUCK_COUNT or hours[run[-1]] - hours[run[0]] < STUCK_H:
                continue
            there = np.interp(hours[run], grid, model)
            if float(np.ptp(there)) < least:
                continue
            for place, expected in zip(run.tolist(), there.tolist(), strict=True):
                owner = int(owners[place])
                found[owner, value] = Suspect(data.readings[owner], value, "stuck", expected)
    return found


def _read(reading: Reading, value: Value) -> float:
    shown = reading.air_c if value == "air" else reading.rh_pct
    return float("nan") if shown is None else shown
