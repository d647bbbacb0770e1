"""How much air goes through hatches and doors: states of ventilation, wind and warmth."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from curewindow.physics.elementwise import ZERO_C_IN_K, FloatArray, as_floats, within

State = Literal["closed", "normal", "open", "fan"]
STATES: Final[tuple[State, ...]] = ("closed", "normal", "open", "fan")

_GRAVITY_M_S2: Final = 9.80665
_DISCHARGE: Final = 0.6  # of a sharp-edged opening, handbooks


@dataclass(frozen=True, slots=True)
class Ventilation:
    """Air change of a space in each of its states.

    Parameters
    ----------
    closed_h : float
        Everything shut [1/h].
    normal_h : float
        As it is used: vents open, companionway now and then [1/h].
    open_h : float
        Hatches open [1/h].
    fan_h : float
        What a fan moves, against the volume [1/h].

    Raises
    ------
    ValueError
        If a value is negative.

    Notes
    -----
    The defaults are estimates, no source. A fan that only blows in or out and the leaks
    together give √(fan² + closed²) (ASHRAE Fundamentals, ventilation and infiltration,
    from memory).
    """

    closed_h: float = 0.5
    normal_h: float = 1.5
    open_h: float = 8.0
    fan_h: float = 0.0

    def __post_init__(self) -> None:
        for name in ("closed_h", "normal_h", "open_h", "fan_h"):
            if not getattr(self, name) >= 0.0:
                raise ValueError(f"{name} must not be negative, got {getattr(self, name)}")

    def air_changes(self, states: Sequence[str]) -> FloatArray:
        """Air change [1/h] for a series of states, one for each step or point.

        Raises
        ------
        ValueError
            A state that is none of 'closed', 'normal', 'open', 'fan'.
        """
        known = {
            "closed": self.closed_h,
            "normal": self.normal_h,
            "open": self.open_h,
            "fan": float(np.hypot(self.fan_h, self.closed_h)),
        }
        unknown = sorted(set(states) - set(known))
        if unknown:
            raise ValueError(f"{unknown[0]!r} is no state of ventilation: {', '.join(STATES)}")
        return np.array([known[state] for state in states], dtype=np.float64)


def hatch_airflow(
    area_m2: npt.ArrayLike,
    height_m: npt.ArrayLike,
    wind_ms: npt.ArrayLike,
    inside_c: npt.ArrayLike,
    outside_c: npt.ArrayLike,
) -> FloatArray:
    """Air through one open hatch or port when nothing else is open.

    Parameters
    ----------
    area_m2, height_m : array_like
        Clear opening [m²] and how high it is from its lower to its upper edge [m]; 0 for
        a hatch lying flat.
    wind_ms : array_like
        Wind at 10 m, 0 to 60 m/s.
    inside_c, outside_c : array_like
        Air on either side [°C].

    Returns
    -------
    ndarray
        Air in, and as much out [m³/h], broadcast.

    Raises
    ------
    ValueError
        A negative size, or a wind out of its range.

    Notes
    -----
    Fitted to windows in house walls; with two openings the wind can blow through and
    move several times as much. Not for how much solvent vapour stays: there a measured
    airflow counts.

    References
    ----------
    De Gids and Phaff (1982), Air Infiltration Review 4(1), 4-5:
    q = A/2 √(0.001 v² + 0.0035 H |ΔT| + 0.01) m³/s.
    """
    area = within("area of the opening", area_m2, 0.0, 100.0, "m²")
    height = within("height of the opening", height_m, 0.0, 20.0, "m")
    wind = within("wind", wind_ms, 0.0, 60.0, "m/s")
    apart = np.abs(as_floats(inside_c) - as_floats(outside_c))
    speed = np.sqrt(0.001 * wind**2 + 0.0035 * height * apart + 0.01)
    return np.asarray(3600.0 * 0.5 * area * speed, dtype=np.float64)


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
