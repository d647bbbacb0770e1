"""Moist air: saturation, dew and frost point, vapour density, wet bulb.

Humidity is with respect to liquid water at all temperatures, below 0 °C as
well (the WMO convention, WMO-No. 8, annex 4.B): that is what hygrometers and
weather services report. A relative humidity above 100 % is refused here; a
reading or a model that strays above it has to be dealt with where it comes
from, not in a formula.
"""

from __future__ import annotations

from typing import Literal, overload

import numpy as np
from numpy.typing import ArrayLike

from curewindow.physics.elementwise import (
    GAS_CONSTANT,
    ZERO_C_IN_K,
    FloatArray,
    as_floats,
    handed_back,
    within,
)

Phase = Literal["water", "ice"]

# The Magnus form of Sonntag (1990), Z. Meteorol. 70, 340-344, that WMO-No. 8,
# annex 4.B, recommends: ln(e/e0) = slope t/(offset + t), t in °C, e0 611.2 Pa.
# Stated for -45..60 °C over water and -65..0 °C over ice. There it is off the best
# formulas by up to 0.8 % of pressure or 0.1 K of dew point; carried on to -80 and
# 100 °C (very dry air, decks in the sun) by 2.5 %, and nothing hangs on those.
_LOG_E0 = float(np.log(611.2))
_MAGNUS: dict[str, tuple[float, float]] = {"water": (17.62, 243.12), "ice": (22.46, 272.62)}
_RANGE_C: dict[str, tuple[float, float]] = {"water": (-100.0, 100.0), "ice": (-100.0, 0.01)}

VAPOUR_GAS_CONSTANT: float = GAS_CONSTANT / 0.018015268
"""Specific gas constant of water vapour, 461.523 J/kg K: molar gas constant (CODATA 2018) over
the molar mass of water (IAPWS R6-95, 18.015268 g/mol)."""

_RH_SLACK = 1e-6  # % of room for rounding at the ends of 0..100


def _log_saturation(temp_c: FloatArray, over: str = "water") -> FloatArray:
    """ln of the saturation pressure in Pa."""
    slope, offset = _MAGNUS[over]
    return np.asarray(_LOG_E0 + slope * temp_c / (offset + temp_c))


def _temperature_at(log_e: FloatArray, over: str = "water") -> FloatArray:
    """Temperature in °C at which ln of the saturation pressure is `log_e`."""
    slope, offset = _MAGNUS[over]
    y = log_e - _LOG_E0
    return np.asarray(offset * y / (slope - y))


def _humidity(rh_pct: ArrayLike, *, dry_allowed: bool) -> FloatArray:
    values = within("relative humidity", rh_pct, -_RH_SLACK, 100.0 + _RH_SLACK, "%")
    if not dry_allowed and np.any(values <= 0.0):
        raise ValueError("relative humidity is 0 %; perfectly dry air has no dew point")
    return values


@overload
def saturation_pressure(temp_c: float, over: Phase = ...) -> float: ...
@overload
def saturation_pressure(temp_c: ArrayLike, over: Phase = ...) -> FloatArray: ...
def saturation_pressure(temp_c: ArrayLike, over: Phase = "water") -> float | FloatArray:
    """Saturation vapour pressure of pure water or ice.

    Parameters
    ----------
    temp_c : array_like
        Temperature, °C: -100 to 100 over water, -100 to 0.01 over ice.
    over : {'water', 'ice'}
        The surface the vapour stands over. Below 0 °C 'water' is supercooled.

    Returns
    -------
    float or ndarray
        Pressure, Pa, in the shape of `temp_c`.

    Raises
    ------
    ValueError
        Temperature outside the formula's range, or another word for `over`.

    References
    ----------
    WMO-No. 8, Guide to Instruments and Methods of Observation, annex 4.B, after
    Sonntag (1990), Z. Meteorol. 70, 340-344: over water 611.2 exp(17.62 t/(243.12 + t)),
    over ice 611.2 exp(22.46 t/(272.62 + t)). The pressure function of moist air
    (0.4 % at sea level) is left out: it cancels in every dew point and humidity.
    """
    if over not in _MAGNUS:
        raise ValueError(f"over is {over!r}; it must be 'water' or 'ice'")
    temps = within("temperature", temp_c, *_RANGE_C[over], "°C")
    return handed_back(np.exp(_log_saturation(temps, over)))


def over_water(temp_c: FloatArray) -> FloatArray:
    """`saturation_pressure` over water [Pa], unchecked: for loops."""
    slope, offset = _MAGNUS["water"]
    return np.asarray(np.exp(_LOG_E0 + slope * temp_c / (offset + temp_c)))


def over_either(temp_c: FloatArray) -> tuple[FloatArray, FloatArray]:
    """`saturation_pressure` over ice below 0 °C, else water [Pa], and its slope [Pa/K].

    Unchecked: for loops.
    """
    icy = temp_c < 0.0
    slope = np.where(icy, *(_MAGNUS[phase][0] for phase in ("ice", "water")))
    offset = np.where(icy, *(_MAGNUS[phase][1] for phase in ("ice", "water")))
    lifted = offset + temp_c
    share = slope / lifted
    found: FloatArray = np.exp(_LOG_E0 + share * temp_c)
    return found, found * share * offset / lifted


@overload
def vapour_pressure(temp_c: float, rh_pct: float) -> float: ...
@overload
def vapour_pressure(temp_c: ArrayLike, rh_pct: ArrayLike) -> FloatArray: ...
def vapour_pressure(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | FloatArray:
    """Pressure of the water vapour in air.

    Parameters
    ----------
    temp_c : array_like
        Air temperature, °C, -100 to 100.
    rh_pct : array_like
        Relative humidity over water, %, 0 to 100.

    Returns
    -------
    float or ndarray
        Vapour pressure, Pa, broadcast.

    Raises
    ------
    ValueError
        A value outside its range.
    """
    humidity = _humidity(rh_pct, dry_allowed=True)
    return handed_back(0.01 * humidity * as_floats(saturation_pressure(temp_c)))


@overload
def vapour_pressure_deficit(temp_c: float, rh_pct: float) -> float: ...
@overload
def vapour_pressure_deficit(temp_c: ArrayLike, rh_pct: ArrayLike) -> FloatArray: ...
def vapour_pressure_deficit(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | FloatArray:
    """Drying power of air: how far its vapour is from saturation, Pa.

    Parameters and errors are those of `vapour_pressure`.
    """
    humidity = _humidity(rh_pct, dry_allowed=True)
    return handed_back((1.0 - 0.01 * humidity) * as_floats(saturation_pressure(temp_c)))


@overload
def dew_point(temp_c: float, rh_pct: float) -> float: ...
@overload
def dew_point(temp_c: ArrayLike, rh_pct: ArrayLike) -> FloatArray: ...
def dew_point(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | FloatArray:
    """Dew point over water, also below 0 °C (WMO convention).

    Parameters
    ----------
    temp_c : array_like
        Air temperature, °C, -100 to 100.
    rh_pct : array_like
        Relative humidity over water, %, above 0 to 100.

    Returns
    -------
    float or ndarray
        Dew point, °C, broadcast.

    Raises
    ------
    ValueError
        A value outside its range, or a dew point below -100 °C.

    Notes
    -----
    The exact inverse of `saturation_pressure` (WMO-No. 8, annex 4.B).
    """
    temps = within("temperature", temp_c, *_RANGE_C["water"], "°C")
    humidity = _humidity(rh_pct, dry_allowed=False)
    log_e = _log_saturation(temps) + np.log(0.01 * humidity)
    return _dew_point_of(log_e)


@overload
def dew_point_from_pressure(vapour_pa: float) -> float: ...
@overload
def dew_point_from_pressure(vapour_pa: ArrayLike) -> FloatArray: ...
def dew_point_from_pressure(vapour_pa: ArrayLike) -> float | FloatArray:
    """Dew point over water of air with a given vapour pressure.

    Parameters
    ----------
    vapour_pa : array_like
        Vapour pressure, Pa, above 0; the dew point must lie in -100..100 °C.

    Returns
    -------
    float or ndarray
        Dew point, °C.

    Raises
    ------
    ValueError
        No vapour, or a dew point outside -100..100 °C.
    """
    pressure = within("vapour pressure", vapour_pa, 0.0, 1.1e5, "Pa")
    if np.any(pressure == 0.0):
        raise ValueError("vapour pressure is 0 Pa; perfectly dry air has no dew point")
    return _dew_point_of(np.log(pressure))


def _dew_point_of(log_e: FloatArray) -> float | FloatArray:
    dew_c = _temperature_at(log_e)
    # The slack lets air saturated at the very end of the range keep its dew point.
    return handed_back(within("dew point", dew_c, -100.0 - 1e-6, 100.0 + 1e-6, "°C"))


@overload
def frost_point(temp_c: float, rh_pct: float) -> float: ...
@overload
def frost_point(temp_c: ArrayLike, rh_pct: ArrayLike) -> FloatArray: ...
def frost_point(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | FloatArray:
    """Temperature at which frost forms on a surface.

    Parameters
    ----------
    temp_c : array_like
        Air temperature, °C, -100 to 100.
    rh_pct : array_like
        Relative humidity over water, %, above 0 to 100.

    Returns
    -------
    float or ndarray
        Frost point over ice, °C. NaN where the dew point is above 0 °C: such
        air gives dew, and there is no frost point.
        Air near 100 % below 0 °C has its frost point above its temperature.

    Raises
    ------
    ValueError
        A value outside its range, or a frost point below -100 °C.
    """
    temps = within("temperature", temp_c, *_RANGE_C["water"], "°C")
    humidity = _humidity(rh_pct, dry_allowed=False)
    log_e = _log_saturation(temps) + np.log(0.01 * humidity)
    frost_c = _temperature_at(np.where(log_e <= _LOG_E0, log_e, np.nan), "ice")
    return handed_back(within("frost point", frost_c, -100.0 - 1e-6, 1e-6, "°C"))


@overload
def relative_humidity(temp_c: float, dew_point_c: float) -> float: ...
@overload
def relative_humidity(temp_c: ArrayLike, dew_point_c: ArrayLike) -> FloatArray: ...
def relative_humidity(temp_c: ArrayLike, dew_point_c: ArrayLike) -> float | FloatArray:
    """Relative humidity over water from air temperature and dew point.

    Parameters
    ----------
    temp_c, dew_point_c : array_like
        Air temperature and dew point over water, °C, -100 to 100.

    Returns
    -------
    float or ndarray
        Relative humidity, %. Above 100 where the dew point stands above the
        air temperature, as rounded readings can have it: nothing is cut off.

    Raises
    ------
    ValueError
        A temperature outside -100..100 °C.
    """
    temps = within("temperature", temp_c, *_RANGE_C["water"], "°C")
    dews = within("dew point", dew_point_c, *_RANGE_C["water"], "°C")
    difference = _log_saturation(dews) - _log_saturation(temps)
    return handed_back(100.0 * np.exp(difference))


@overload
def relative_humidity_from_pressure(temp_c: float, vapour_pa: float) -> float: ...
@overload
def relative_humidity_from_pressure(temp_c: ArrayLike, vapour_pa: ArrayLike) -> FloatArray: ...
def relative_humidity_from_pressure(temp_c: ArrayLike, vapour_pa: ArrayLike) -> float | FloatArray:
    """Relative humidity over water of vapour at a temperature.

    Parameters
    ----------
    temp_c : array_like
        Temperature of the air, or of the surface before which it lies, °C.
    vapour_pa : array_like
        Vapour pressure, Pa, 0 or more.

    Returns
    -------
    float or ndarray
        Relative humidity, %. Above 100 on a surface below the dew point.

    Raises
    ------
    ValueError
        A value outside its range.
    """
    pressure = within("vapour pressure", vapour_pa, 0.0, 1.1e5, "Pa")
    return handed_back(100.0 * pressure / as_floats(saturation_pressure(temp_c)))


@overload
def vapour_density(temp_c: float, rh_pct: float) -> float: ...
@overload
def vapour_density(temp_c: ArrayLike, rh_pct: ArrayLike) -> FloatArray: ...
def vapour_density(temp_c: ArrayLike, rh_pct: ArrayLike) -> float | FloatArray:
    """Mass of water vapour in a cubic metre of air (absolute humidity).

    Parameters and errors are those of `vapour_pressure`.

    Returns
    -------
    float or ndarray
        Vapour density, g/m³: e/(R T), vapour as an ideal gas (WMO-No. 8, 4.A).
    """
    vapour_pa = as_floats(vapour_pressure(temp_c, rh_pct))
    return handed_back(
        1000.0 * vapour_pa / (VAPOUR_GAS_CONSTANT * (as_floats(temp_c) + ZERO_C_IN_K))
    )


@overload
def wet_bulb(temp_c: float, rh_pct: float, pressure_pa: float = ...) -> float: ...
@overload
def wet_bulb(temp_c: ArrayLike, rh_pct: ArrayLike, pressure_pa: ArrayLike = ...) -> FloatArray: ...
def wet_bulb(
    temp_c: ArrayLike, rh_pct: ArrayLike, pressure_pa: ArrayLike = 101325.0
) -> float | FloatArray:
    """Thermodynamic wet-bulb temperature over water.

    Parameters
    ----------
    temp_c : array_like
        Air temperature, °C, -40 to 60.
    rh_pct : array_like
        Relative humidity over water, %, 0 to 100.
    pressure_pa : array_like
        Air pressure, Pa, 50 000 to 110 000.

    Returns
    -------
    float or ndarray
        Wet-bulb temperature, °C, broadcast. The bulb is wet with liquid water
        at all temperatures; a frozen bulb reads a little higher.

    Raises
    ------
    ValueError
        A value outside its range.

    References
    ----------
    Adiabatic saturation balance, ASHRAE Handbook Fundamentals, ch. 1
    "Psychrometrics", SI: (2501 - 2.326 t*) W* - 1.006 (t - t*) =
    (2501 + 1.86 t - 4.186 t*) W.
    """
    t = within("temperature", temp_c, -40.0, 60.0, "°C")
    humidity = _humidity(rh_pct, dry_allowed=True)
    p = within("air pressure", pressure_pa, 5.0e4, 1.1e5, "Pa")
    e = 0.01 * humidity * np.exp(_log_saturation(t))
    ratio = 0.621945 * e / (p - e)
    t, p, ratio = np.broadcast_arrays(t, p, ratio)
    slope, offset = _MAGNUS["water"]
    # The balance rises with t* and bends upwards, so Newton from the air
    # temperature comes down to the root without ever passing it.
    star = np.array(t)
    for _step in range(12):
        e_star = np.exp(_log_saturation(star))
        w_star = 0.621945 * e_star / (p - e_star)
        w_slope = w_star * slope * offset / (offset + star) ** 2 * p / (p - e_star)
        latent = 2501.0 - 2.326 * star
        rest = latent * w_star - 1.006 * (t - star) - ratio * (2501.0 + 1.86 * t - 4.186 * star)
        step = rest / (latent * w_slope - 2.326 * w_star + 1.006 + 4.186 * ratio)
        star = star - step
        if np.fmax.reduce(np.abs(step), axis=None, initial=0.0) < 1e-9:
            break
    else:
        raise ValueError("the wet-bulb balance did not settle; check temperature and pressure")
    return handed_back(star)
