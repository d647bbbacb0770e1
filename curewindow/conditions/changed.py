"""What a person thinks of doing otherwise in a space: warmer, more air, more power."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curewindow.series import FloatArray


@dataclass(frozen=True, slots=True, eq=False)
class Changed:
    """Inputs of one space instead of the described ones, on the forecast's grid.

    Attributes
    ----------
    setpoint_c : ndarray, broadcast to (M, T), or None
        Thermostat instead of the heater's routine, °C; NaN: off.
    power_w : ndarray, broadcast to (M, T), or None
        Most the heater gives instead of its own, W.
    air_changes_h : ndarray, broadcast to (M, T), or None
        Air change, 1/h; NaN: as described.
    """

    setpoint_c: FloatArray | None = None
    power_w: FloatArray | None = None
    air_changes_h: FloatArray | None = None


def behind_run_up(
    values: FloatArray | None, before: float, shape: tuple[int, int], run_up: int
) -> FloatArray | None:
    """Values for the forecast's grid with a run-up before it.

    Parameters
    ----------
    values : ndarray, broadcast to (M, T), or None
        NaN: ``before`` holds there too.
    before : float
        What holds in the run-up.
    shape : (M, R + T)
    run_up : int
        R.

    Returns
    -------
    ndarray, shape (M, R + T), or None
        None where nothing is given.
    """
    if values is None:
        return None
    found = np.full(shape, before)
    found[:, run_up:] = np.where(np.isnan(values), before, values)
    return found
