"""How a real heater gives its heat: least burn, lighting and going out, warm-up, fuel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt

from curewindow.physics.combustion import (
    FUELS,
    water_kg_per_kwh,
)
from curewindow.physics.elementwise import FloatArray

ELECTRIC: Final = "electric"


@dataclass(frozen=True, slots=True)
class HeaterModel:
    """A heater with a thermostat.

    Parameters
    ----------
    most_w : float
        Most heat it gives to the space [W].
    least_w : float
        Least it can burn at [W]; 0: it goes down to nothing. Equal to `most_w`: on or off.
    swing_k : float
        Between the temperature at which the thermostat lights it and the one at which
        it puts it out, evenly about the setpoint [K]. Of no account if `least_w` is 0.
    warm_up_h : float
        From lighting to full heat, rising evenly [h].
    efficiency : float
        Share of the fuel's lower heating value that reaches the space.
    fuel : str
        'electric' or a name in `combustion.FUELS`.
    flued : bool
        Whether what it burns leaves through a flue; if not, its water stays inside.

    Raises
    ------
    ValueError
        If a value is out of its range or the fuel is unknown.
    """

    most_w: float
    least_w: float = 0.0
    swing_k: float = 0.0
    warm_up_h: float = 0.0
    efficiency: float = 1.0
    fuel: str = ELECTRIC
    flued: bool = True

    def __post_init__(self) -> None:
        if not 0.0 <= self.least_w <= self.most_w:
            raise ValueError(
                f"least_w is {self.least_w} W; it must lie in 0 to most_w, {self.most_w} W"
            )
        for name in ("swing_k", "warm_up_h"):
            if not getattr(self, name) >= 0.0:
                raise ValueError(f"{name} must not be negative, got {getattr(self, name)}")
        if not 0.0 < self.efficiency <= 1.0:
            raise ValueError(f"efficiency is {self.efficiency}; it must lie above 0 and up to 1")
        if self.fuel != ELECTRIC and self.fuel not in FUELS:
            raise ValueError(
                f"{self.fuel!r} is no known fuel; known: {ELECTRIC}, {', '.join(FUELS)}"
            )

    @property
    def water_kg_kwh(self) -> float:
        """Water it gives off inside for its heat [kg/kWh]."""
        if self.flued or self.fuel == ELECTRIC:
            return 0.0
        return water_kg_per_kwh(self.fuel, self.efficiency)


@dataclass(frozen=True, slots=True, eq=False)
class Burning:
    """Whether each member's heater is lit at the beginning of a step, and for how long."""

    lit: npt.NDArray[np.bool_]  # (M,)
    for_h: FloatArray  # (M,)

    @staticmethod
    def cold(members: int) -> Burning:
        return Burning(np.zeros(members, dtype=np.bool_), np.zeros(members))


def thermostat_acts(
    heater: HeaterModel, before: Burning, air_c: FloatArray, setpoint_c: FloatArray
) -> Burning:
    """State after the thermostat looked at the air at the beginning of a step.

    A burner cycle shorter than the step shows as steps lit and unlit in turn.
    """
    wanted = ~np.isnan(setpoint_c)
    if heater.least_w > 0.0:
        half = heater.swing_k / 2.0
        lights = air_c <= setpoint_c - half
        stays = before.lit & (air_c < setpoint_c + half)
        wanted &= lights | stays
    return Burning(wanted, np.where(wanted, before.for_h, 0.0))


def output_w(
    heater: HeaterModel, now: Burning, needed_w: FloatArray, step_h: float, cap_w: FloatArray
) -> FloatArray:
    """Heat over a step [W]: what is needed, between the least and what it can give by now."""
    most = np.minimum(heater.most_w, cap_w) * _warmed(heater, now.for_h, step_h)
    power = np.clip(needed_w, np.minimum(heater.least_w, most), most)
    return np.where(now.lit, power, 0.0)


def _warmed(heater: HeaterModel, for_h: FloatArray, step_h: float) -> FloatArray:
    """Share of its full heat that it can give over a step, lit for so long as it begins."""
    if heater.warm_up_h == 0.0:
        return np.ones_like(for_h)
    begin = np.minimum(for_h, heater.warm_up_h)
    end = np.minimum(for_h + step_h, heater.warm_up_h)
    rising = (end**2 - begin**2) / (2.0 * heater.warm_up_h)
    full = step_h - (end - begin)
    return np.asarray((rising + full) / step_h, dtype=np.float64)


def reach_w(
    heater: HeaterModel, setpoint_c: FloatArray, step_h: float, cap_w: FloatArray
) -> FloatArray:
    """Most a heater that goes down to nothing can give in each step [W].

    Parameters
    ----------
    heater : HeaterModel
        With a `least_w` of 0: lit whenever warmth is wanted.
    setpoint_c : ndarray, shape (M, T - 1)
        Of each step [°C]; NaN: off.
    step_h : float
    cap_w : ndarray, shape (M, T - 1)
        Most that is to be had of it [W].
    """
    most = np.minimum(heater.most_w, cap_w)
    if heater.warm_up_h == 0.0:
        return most
    wanted = ~np.isnan(setpoint_c)
    steps = np.arange(setpoint_c.shape[1])
    off_last = np.maximum.accumulate(np.where(wanted, -1, steps), axis=1)
    for_h = np.where(wanted, (steps - off_last - 1) * step_h, 0.0)
    return np.asarray(most * _warmed(heater, for_h, step_h), dtype=np.float64)


def charge_w(
    heat_kwh: float,
    lit_h: float,
    points: int,
    step_h: float,
    *,
    rise_h: float = 0.3,
    decay_h: float = 1.5,
) -> FloatArray:
    """Heat of one charge of solid fuel, which no thermostat holds.

    Parameters
    ----------
    heat_kwh : float
        What the charge gives to the space in all [kWh].
    lit_h : float
        When it is lit, from the first grid point [h].
    points, step_h : int, float
        Grid points and step [h].
    rise_h, decay_h : float
        Time constants with which it catches and dies down [h]. The defaults are an
        estimate, no source: a small stove at its height after about 40 minutes, down to
        a tenth of that after five hours.

    Returns
    -------
    ndarray, shape (points,)
        Mean heat from each point to the next [W], for `gains_w`; 0 at the last. In all it
        is the charge, but for what burns after the last point.

    Raises
    ------
    ValueError
        If a value is negative or the fire dies down before it has caught.
    """
    if heat_kwh < 0.0 or lit_h < 0.0 or not step_h > 0.0:
        raise ValueError("heat_kwh and lit_h must not be negative, step_h must be above 0")
    if not 0.0 < rise_h < decay_h:
        raise ValueError(f"rise_h must lie above 0 and below decay_h, got {rise_h} and {decay_h}")
    since = np.maximum(np.arange(points) * step_h - lit_h, 0.0)
    # The integral of (exp(-t/decay) - exp(-t/rise)) / (decay - rise).
    left = (decay_h * np.exp(-since / decay_h) - rise_h * np.exp(-since / rise_h)) / (
        decay_h - rise_h
    )
    given = -np.diff(left) * heat_kwh * 1000.0 / step_h
    return np.append(given, 0.0)
