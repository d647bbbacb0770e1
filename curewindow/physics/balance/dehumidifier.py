"""Dehumidifiers: how much they take out of air as it is, and the heat they give back."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt

from curewindow.physics.air import VAPOUR_GAS_CONSTANT, saturation_pressure
from curewindow.physics.elementwise import ZERO_C_IN_K, FloatArray, as_floats

# The coil of a condensing one stands this far below the air it draws in. Estimate, no
# source, but with it the ratios that makers state come out: 27 °C, 60 % about half of
# 30 °C, 80 %; 20 °C, 70 % about a quarter to a third of 35 °C, 100 %.
_COIL_BELOW_K: Final = 20.0
# A coil below 0 °C ices up and has to thaw: work stops altogether at this air.
_ICED_UP_C: Final = 5.0


@dataclass(frozen=True, slots=True)
class Dehumidifier:
    """A dehumidifier with a humidistat.

    Parameters
    ----------
    kind : {'condensing', 'desiccant'}
        A condensing one cools air on a coil: it takes out less the colder and drier the
        air, and nothing in the cold, when its coil ices up. A desiccant one soaks
        vapour up and takes out as much in the cold.
    rated_kg_day : float
        What it takes out in a day in the air it is rated in [kg/d].
    power_w : float
        Power it draws while it works [W].
    target_rh_pct : float
        Humidity it keeps to [%].
    rated_c, rated_rh_pct : float or None
        Air it is rated in; not given: 30 °C and 80 % (condensing), 20 °C and 60 %
        (desiccant), as makers do (common practice, no source).

    Raises
    ------
    ValueError
        If a value is out of its range, or the rating is in air in which it cannot work.
    """

    kind: Literal["condensing", "desiccant"]
    rated_kg_day: float
    power_w: float
    target_rh_pct: float = 55.0
    rated_c: float | None = None
    rated_rh_pct: float | None = None

    def __post_init__(self) -> None:
        if self.kind not in ("condensing", "desiccant"):
            raise ValueError(f"kind is {self.kind!r}; it must be 'condensing' or 'desiccant'")
        if not self.rated_kg_day > 0.0 or not self.power_w >= 0.0:
            raise ValueError("rated_kg_day must be above 0, power_w not negative")
        if not 0.0 < self.target_rh_pct <= 100.0:
            raise ValueError(f"target_rh_pct is {self.target_rh_pct}; it must lie in 0 to 100 %")
        if not float(_drive(self.kind, *self.rating)) > 0.0:
            raise ValueError(f"a {self.kind} dehumidifier takes out nothing in {self.rating}")

    @property
    def rating(self) -> tuple[float, float]:
        """Temperature [°C] and humidity [%] it is rated in."""
        usual = (30.0, 80.0) if self.kind == "condensing" else (20.0, 60.0)
        return (
            usual[0] if self.rated_c is None else self.rated_c,
            usual[1] if self.rated_rh_pct is None else self.rated_rh_pct,
        )


def capacity_kg_h(
    dehumidifier: Dehumidifier, air_c: npt.ArrayLike, rh_pct: npt.ArrayLike
) -> FloatArray:
    """Water it can take out of air as it is.

    Parameters
    ----------
    dehumidifier : Dehumidifier
    air_c, rh_pct : array_like
        Air it draws in [°C], [%].

    Returns
    -------
    ndarray
        Capacity [kg/h], broadcast.

    Notes
    -----
    Condensing: in proportion to the vapour density above that over a coil 20 K colder
    than the air, less, in proportion to temperature, from where the coil freezes (20 °C)
    to 5 °C, where ice stops it. Desiccant: the same at any temperature, less in
    proportion to humidity below the rated one. Both are estimates: the maker's own
    figures for cold air are better.
    """
    rated = _drive(dehumidifier.kind, *dehumidifier.rating)
    share = _drive(dehumidifier.kind, as_floats(air_c), as_floats(rh_pct)) / rated
    if dehumidifier.kind == "desiccant":
        share = np.minimum(share, 1.0)
    return np.asarray(dehumidifier.rated_kg_day / 24.0 * share, dtype=np.float64)


def _drive(kind: str, air_c: npt.ArrayLike, rh_pct: npt.ArrayLike) -> FloatArray:
    air, humidity = as_floats(air_c), as_floats(rh_pct)
    if kind == "desiccant":
        return np.asarray(humidity + 0.0 * air, dtype=np.float64)
    coil = air - _COIL_BELOW_K
    inside = 0.01 * humidity * saturation_pressure(air) / (air + ZERO_C_IN_K)
    over_coil = saturation_pressure(coil) / (coil + ZERO_C_IN_K)
    taken = np.maximum(inside - over_coil, 0.0) / VAPOUR_GAS_CONSTANT
    thawing = (air - _ICED_UP_C) / (_COIL_BELOW_K - _ICED_UP_C)
    return np.asarray(taken * np.clip(thawing, 0.0, 1.0), dtype=np.float64)
