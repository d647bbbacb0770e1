"""A tin in air of another temperature: Newton's law of cooling with handbook figures."""

from __future__ import annotations

import math

import numpy as np
import pytest

from curewindow.physics.tin import heat_capacity_kj_l, lagged, time_constant_h

SIGMA = 5.670374419e-8


def handbook_film(difference_k: float, high_m: float, mean_c: float) -> tuple[float, float, float]:
    """Side, top and bottom of an upright can in still air, W/m²K, radiation (0.9) included.

    Free convection in laminar air by the simplified equations of the ASHRAE Handbook
    Fundamentals (and McAdams 1954): 1.42 (K/m)^1/4 at a vertical face, 1.32 where air rises or
    sinks freely off a horizontal one, 0.59 where it does not; from memory.
    """
    drive = (difference_k / high_m) ** 0.25
    radiant = 4.0 * 0.9 * SIGMA * (mean_c + 273.15) ** 3
    return 1.42 * drive + radiant, 1.32 * drive + radiant, 0.59 * drive + radiant


@pytest.mark.parametrize(("litres", "high_m"), [(0.75, 0.098), (1.0, 0.108), (2.5, 0.147)])
@pytest.mark.parametrize("difference_k", [5.0, 15.0])
def test_a_time_constant_as_by_the_handbook(litres, high_m, difference_k) -> None:
    """Worked out anew for a can as wide as high on a shelf, without the liquid's resistance."""
    side, top, bottom = handbook_film(difference_k, high_m, 10.0)
    ends = math.pi * high_m**2 / 4.0
    watts_k = side * math.pi * high_m**2 + top * ends + 0.5 * bottom * ends
    # Enamel: 1.1 kg/L of 1.7 to 1.9 kJ/(kg K), handbook values of oil paints, from memory.
    joules_k = litres * 1100.0 * 1.8
    hours = joules_k / watts_k / 3600.0
    ours = time_constant_h(litres, heat_capacity_kj_l(1.1))
    # The liquid inside slows it: ours is the longer, by no more than two thirds.
    assert hours < ours < 1.67 * hours


def test_volumes_of_the_trade_take_hours_not_minutes() -> None:
    """A litre takes one to three hours for two thirds of the way; a day is enough for a pail.

    'Condition overnight', '24 hours before use': common practice of the trade, no source.
    """
    assert 1.0 < time_constant_h(1.0, 2.0) < 3.0
    assert math.exp(-24.0 / time_constant_h(20.0, 2.0)) < 0.02
    sizes = [time_constant_h(litres) for litres in (0.1, 0.3, 1.0, 5.0, 20.0)]
    assert sizes == sorted(sizes)


@pytest.mark.parametrize(
    ("density", "water", "least", "most"),
    [
        (0.80, 0.0, 1.5, 2.0),  # white spirit: 0.78 kg/L, 2.1 kJ/(kg K)
        (1.00, 1000.0, 4.1, 4.2),  # water
        (1.10, 0.0, 1.7, 2.2),  # oil varnish and enamel
        (2.80, 0.0, 1.8, 3.0),  # zinc-rich: zinc 7.1 kg/L, 0.39 kJ/(kg K)
        (1.25, 500.0, 2.7, 3.4),  # waterborne paint
    ],
)
def test_heat_capacities_of_known_liquids(density, water, least, most) -> None:
    """Handbook values, from memory."""
    assert least <= heat_capacity_kj_l(density, water) <= most


def test_newtons_law_in_still_air() -> None:
    """T = T_air + (T0 - T_air) e^(-t/tau), and the ramp's steady lag of slope times tau."""
    still = lagged(np.full((1, 25), 20.0), np.array([2.0]), 0.25, 1.5)
    assert still[0] == pytest.approx(20.0 - 18.0 * np.exp(-np.arange(25) * 0.25 / 1.5))
    ramp = lagged(np.arange(400.0)[None] * 0.5, np.array([0.0]), 0.25, 1.5)
    assert ramp[0, -1] == pytest.approx(399.0 * 0.5 - 2.0 * 1.5)


def test_half_an_hour_after_lighting_a_litre_is_still_cold() -> None:
    """2 °C, and the cabin at 20 °C within half an hour: by hand about 2 + 18 x 0.13 = 4 °C."""
    air = np.array([[2.0, 8.0, 14.0, 20.0]])
    tin = lagged(air, np.array([2.0]), 1.0 / 6.0, time_constant_h(1.0))
    assert 3.0 < tin[0, -1] < 5.0


def test_a_tin_of_no_size_is_refused() -> None:
    for litres in (0.0, -1.0, math.nan, 1e308):
        with pytest.raises(ValueError, match="a tin holds"):
            time_constant_h(litres)
