"""How much air warmth moves through an open door."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt

from curewindow.physics.elementwise import ZERO_C_IN_K, FloatArray, as_floats, within

_GRAVITY_M_S2: Final = 9.80665
_DISCHARGE: Final = 0.6  # of a sharp-edged opening, handbooks


def doorway_airflow(
    width_m: npt.ArrayLike, height_m: npt.ArrayLike, one_c: npt.ArrayLike, other_c: npt.ArrayLike
) -> FloatArray:
    """Air that warmth exchanges between two spaces through an open doorway.

    Parameters
    ----------
    width_m, height_m : array_like
        Of the opening [m].
    one_c, other_c : array_like
        Air on either side [°C].

    Returns
    -------
    ndarray
        Air each way [m³/h], broadcast; 0 where both are as warm, for `Doorway`.

    Raises
    ------
    ValueError
        A negative size.

    References
    ----------
    Brown and Solvason (1962), International Journal of Heat and Mass Transfer 5,
    859-868: q = (C/3) W √(g H³ ΔT/T), with C 0.6.
    """
    width = within("width of the doorway", width_m, 0.0, 20.0, "m")
    height = within("height of the doorway", height_m, 0.0, 20.0, "m")
    one, other = as_floats(one_c), as_floats(other_c)
    kelvin = (one + other) / 2.0 + ZERO_C_IN_K
    root = np.sqrt(_GRAVITY_M_S2 * height**3 * np.abs(one - other) / kelvin)
    return np.asarray(3600.0 * _DISCHARGE / 3.0 * width * root, dtype=np.float64)
