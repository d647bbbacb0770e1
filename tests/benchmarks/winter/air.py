"""Humid air for the simulator: written apart from curewindow.physics, by another formula."""

from __future__ import annotations

import math


def saturation_pa(temp_c: float) -> float:
    """Saturation vapour pressure over water, Pa: Buck (1981), J. Appl. Meteorol. 20, 1527-1532."""
    return 611.21 * math.exp((18.678 - temp_c / 234.5) * temp_c / (257.14 + temp_c))


def saturation_kg_m3(temp_c: float) -> float:
    """Vapour in saturated air, kg/m³."""
    return saturation_pa(temp_c) / (461.5 * (temp_c + 273.15))


def vapour_kg_m3(dew_point_c: float, temp_c: float) -> float:
    """Vapour in air of a dew point and a temperature, kg/m³."""
    return saturation_pa(dew_point_c) / (461.5 * (temp_c + 273.15))


def dew_point_c(vapour: float, temp_c: float) -> float:
    """Dew point of air with so much vapour (kg/m³), °C: Buck turned round by Newton's method."""
    wanted = math.log(max(vapour, 1e-6) * 461.5 * (temp_c + 273.15) / 611.21)
    dew = temp_c
    for _ in range(6):
        value = (18.678 - dew / 234.5) * dew / (257.14 + dew)
        above = saturation_pa(dew + 0.01)
        slope = (math.log(above / 611.21) - value) / 0.01
        dew -= (value - wanted) / slope
    return dew
