"""Where dew and frost form, against another formula for both saturation pressures.

D. M. Murphy and T. Koop, Review of the vapour pressures of ice and supercooled water
for atmospheric applications, Q. J. R. Meteorol. Soc. 131 (2005), equations 7 and 10
(coefficients from memory).
"""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.conditions.wetness import dew_and_frost


def over_ice(temp_c: float) -> float:
    t = temp_c + 273.15
    return float(np.exp(9.550426 - 5723.265 / t + 3.53068 * np.log(t) - 0.00728332 * t))


def over_water(temp_c: float) -> float:
    t = temp_c + 273.15
    return float(
        np.exp(
            54.842763
            - 6763.22 / t
            - 4.210 * np.log(t)
            + 0.000367 * t
            + np.tanh(0.0415 * (t - 218.8))
            * (53.878 - 1331.22 / t - 9.44523 * np.log(t) + 0.014025 * t)
        )
    )


@pytest.mark.parametrize("dew_c", [-25.0, -15.0, -10.0, -5.0, -1.0, -0.3, 0.0, 2.0, 12.0])
def test_water_comes_out_where_the_surface_holds_less(dew_c: float) -> None:
    vapour = over_water(dew_c)
    surface = np.arange(-30.0, 20.0, 0.137)
    dew, frost = dew_and_frost(surface, np.full(surface.shape, dew_c))
    for temp, is_dew, is_frost in zip(surface.tolist(), dew, frost, strict=True):
        assert not (is_dew and is_frost)
        held = over_ice(temp) if temp < 0.0 else over_water(temp)
        if abs(vapour / held - 1.0) < 0.004:  # the two formulas may differ so much
            continue
        assert (is_dew or is_frost) == (vapour > held), temp
        assert is_frost == (vapour > held and temp < 0.0)


def test_frost_above_the_dew_point() -> None:
    """Air with a dew point of −10 °C lays frost from about −8.9 °C down: ice holds less."""
    dew, frost = dew_and_frost(np.array([-8.5, -9.3]), np.array([-10.0, -10.0]))
    assert frost.tolist() == [False, True]
    assert not dew.any()


def test_unknown_says_nothing() -> None:
    nan = np.nan
    dew, frost = dew_and_frost(np.array([nan, -3.0, nan]), np.array([5.0, nan, nan]))
    assert not dew.any()
    assert not frost.any()


def test_members_and_shapes() -> None:
    dew, frost = dew_and_frost(np.array([[-5.0, 3.0], [1.0, 9.0]]), np.full((2, 2), 4.0))
    assert frost.tolist() == [[True, False], [False, False]]
    assert dew.tolist() == [[False, True], [True, False]]
