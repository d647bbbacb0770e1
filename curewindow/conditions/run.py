"""The balance of one space run through the weather, with what is given off inside."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import numpy.typing as npt

from curewindow.conditions.model import Described
from curewindow.physics.balance import (
    Doorway,
    HeaterModel,
    Outside,
    SpaceResult,
    simulate,
    start_in_balance,
)

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
    gains_w: npt.ArrayLike = 0.0,
    drying: npt.ArrayLike | None = None,
    doors: Sequence[Doorway] = (),
    latent_heat: bool = False,
) -> SpaceResult:
    """Run a described space through the weather.

    Parameters
    ----------
    described : Described
        The space; what it says of heater, moisture, air change and dehumidifier holds
        where nothing else is given below.
    outside : Outside
        Arrays that broadcast to (M, T).
    step_h : float
        Grid step, h.
    setpoint_c : array_like, broadcast to (M, T)
        Thermostat, °C; NaN: off.
    power_w, moisture_kg_h, air_changes_h : array_like, broadcast to (M, T), optional
        Instead of the described ones: candidates to be told apart by member.
    gains_w : array_like, broadcast to (M, T)
        Heat besides the heater's, W: a charge of solid fuel.
    drying : array_like, broadcast to (M, T), optional
        Where the dehumidifier is on: 1, off: 0.
    doors : sequence of Doorway
        Doors that stand open, if only at times.
    latent_heat : bool
        Let dew and frost carry heat and book frost; many members take their time for it.

    Returns
    -------
    SpaceResult
        Without the losses.
    """
    start = start_in_balance(
        described.model,
        outside,
        hours=SETTLED_H,
        step_h=step_h,
        moisture_kg_h=described.moisture_kg_h if described.model.air_changes_h else 0.0,
    )
    power = np.asarray(described.power_w if power_w is None else power_w, dtype=np.float64)
    works = described.drying if drying is None else drying
    on = np.asarray(works, dtype=np.float64)
    return simulate(
        described.model,
        step_h,
        outside,
        start,
        setpoint_c=setpoint_c,
        gains_w=gains_w,
        moisture_kg_h=described.moisture_kg_h if moisture_kg_h is None else moisture_kg_h,
        air_changes_h=air_changes_h,
        heater=_heater(described, float(np.max(power, initial=0.0))),
        cap_w=power,
        dehumidifier=described.dehumidifier if np.any(on > 0.0) else None,
        drying=on,
        doors=doors,
        latent_heat=latent_heat,
        losses=False,
    )


def _heater(described: Described, most_w: float) -> HeaterModel:
    """The heater with so much as its most; one that is brought gives dry heat at once."""
    heater = described.heater
    if heater is None:
        return HeaterModel(most_w)
    return replace(heater, most_w=most_w, least_w=min(heater.least_w, most_w))
