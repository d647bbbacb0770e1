"""The balance of one space run through the weather, with what is given off inside."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from curewindow.conditions.model import Described
from curewindow.physics.balance import Outside, SpaceResult, simulate, start_in_balance

SETTLED_H = 24.0
"""The start is in balance with the mean of the first hours, h."""


def run_space(
    described: Described,
    outside: Outside,
    step_h: float,
    setpoint_c: npt.ArrayLike,
    *,
    power_w: npt.ArrayLike | None = None,
    moisture_kg_h: npt.ArrayLike | None = None,
    air_changes_h: npt.ArrayLike | None = None,
) -> SpaceResult:
    """Run a described space through the weather.

    Parameters
    ----------
    described : Described
        The space; what it says of heater, moisture and air change holds where nothing
        else is given below.
    outside : Outside
        Arrays that broadcast to (M, T).
    step_h : float
        Grid step, h.
    setpoint_c : array_like, broadcast to (M, T)
        Thermostat, °C; NaN: off.
    power_w, moisture_kg_h, air_changes_h : array_like, broadcast to (M, T), optional
        Instead of the described ones: candidates to be told apart by member.

    Returns
    -------
    SpaceResult
    """
    start = start_in_balance(
        described.model,
        outside,
        hours=SETTLED_H,
        step_h=step_h,
        moisture_kg_h=described.moisture_kg_h if described.model.air_changes_h else 0.0,
    )
    power = described.power_w if power_w is None else power_w
    given_off = described.moisture_kg_h if moisture_kg_h is None else moisture_kg_h
    moisture = np.asarray(given_off, dtype=np.float64)
    result = simulate(
        described.model,
        step_h,
        outside,
        start,
        setpoint_c=setpoint_c,
        power_limit_w=power,
        moisture_kg_h=moisture,
        air_changes_h=air_changes_h,
    )
    if described.flame_water_kg_kwh and np.nansum(result.heat_w) > 0.0:
        # The flame's water does not change the heat, so a second run is exact.
        flame = np.nan_to_num(result.heat_w) / 1000.0 * described.flame_water_kg_kwh
        result = simulate(
            described.model,
            step_h,
            outside,
            start,
            setpoint_c=setpoint_c,
            power_limit_w=power,
            moisture_kg_h=moisture + flame,
            air_changes_h=air_changes_h,
        )
    return result
