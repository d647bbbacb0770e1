"""What a person thinks of doing otherwise in a space: warmer, more air, a door, a dehumidifier."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass, field, fields

import numpy as np

from curewindow.physics.balance import Dehumidifier
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
    moisture_kg_h : ndarray, broadcast to (M, T), or None
        Water given off besides, kg/h: a coat that is only thought of.
    dehumidifier : Dehumidifier or None
        One that is brought; None: the described one, if there is one.
    drying : ndarray, broadcast to (M, T), or None
        Where the dehumidifier is on: 1, off: 0; NaN: as described.
    doors : mapping of str to ndarray, broadcast to (M, T)
        By the space behind it: open 1, shut 0; NaN: as described.
    """

    setpoint_c: FloatArray | None = None
    power_w: FloatArray | None = None
    air_changes_h: FloatArray | None = None
    moisture_kg_h: FloatArray | None = None
    dehumidifier: Dehumidifier | None = None
    drying: FloatArray | None = None
    doors: Mapping[str, FloatArray] = field(default_factory=dict)

    def mark(self) -> str:
        """Digits that are others as soon as anything of it is."""
        told = hashlib.sha256(repr(self.dehumidifier).encode())
        parts = [(each.name, getattr(self, each.name)) for each in fields(self)]
        parts += [(f"door {name}", values) for name, values in sorted(self.doors.items())]
        for name, value in parts:
            if isinstance(value, np.ndarray):
                told.update(f"{name} {value.shape}".encode())
                told.update(np.ascontiguousarray(value).tobytes())
        return told.hexdigest()


def behind_run_up(
    values: FloatArray | None, before: FloatArray | float, shape: tuple[int, int], run_up: int
) -> FloatArray | None:
    """Values for the forecast's grid with a run-up before it.

    Parameters
    ----------
    values : ndarray, broadcast to (M, T), or None
        NaN: ``before`` holds there too.
    before : float or ndarray, broadcast to (M, R + T)
        What holds in the run-up, and where nothing is given.
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
    found[:, run_up:] = np.where(np.isnan(values), found[:, run_up:], values)
    return found
