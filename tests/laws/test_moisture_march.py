"""The march of vapour and dew against its equation, solved step by step by other means."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.physics.air import saturation_pressure
from curewindow.physics.balance import Layer, PanelModel, SpaceModel
from curewindow.physics.balance.moisture import (
    condensing,
    march_moisture,
    settling_fog,
    surface_uptake,
    two_state,
)

STEP_S = 600.0
_STEEL = (Layer(0.005, 50.0, 7800.0, 450.0),)


def _space(panels: int) -> SpaceModel:
    return SpaceModel(
        12.0,
        tuple(PanelModel(f"panel {n}", 2.0 + n, _STEEL) for n in range(panels)),
        mass_j_k=3e5,
        buffer_kg=4.0,
    )


@pytest.mark.parametrize(("seed", "panels"), [(1, 1), (2, 3), (3, 5)])
def test_each_step_solves_the_balance(seed: int, panels: int) -> None:
    """By the kinks of every panel at once, in place of Newton's method from the last ones."""
    random = np.random.default_rng(seed)
    space, members, points = _space(panels), 7, 160
    air = 9.0 + 6.0 * np.sin(np.arange(points) / 11.0) + random.normal(0, 0.3, (members, points))
    mass = 10.0 + random.normal(0, 0.1, (members, points))
    surface = air - random.uniform(0.0, 8.0, (panels, members, 1))
    inflow = random.uniform(600.0, 1400.0, (members, points - 1))
    change = random.uniform(0.05, 3.0, (members, points - 1))
    source = random.uniform(0.0, 0.3, (members, points - 1))
    start = (np.full(members, 900.0), np.full(members, 70.0), np.zeros((panels, members)))
    found = march_moisture(space, STEP_S, (air, mass, surface), inflow, change, source, start)

    two = two_state(
        space,
        STEP_S,
        ((air[:, :-1] + air[:, 1:]).T / 2.0, (mass[:, :-1] + mass[:, 1:]).T / 2.0),
        inflow.T,
        change.T,
        source.T,
    )
    uptake = surface_uptake(space)[:, None]
    area = np.array([panel.area_m2 for panel in space.panels])[:, None]
    dewy = foggy = 0
    for k in range(points - 1):
        p, w = found.vapour_pa[:, k], found.buffer_rh_pct[:, k] / 100.0
        lying = found.condensate_kg_m2[:, :, k] * area / STEP_S
        free = two.pp[k] * p + two.pw[k] * w + two.p0[k]
        sat = saturation_pressure(surface[:, :, k + 1])
        rate = condensing(free, two.p_pull[k], sat, uptake, lying)
        fog = settling_fog(
            free, two.p_pull[k], sat, uptake, lying, rate, saturation_pressure(air[:, k + 1])
        )
        rate += 0.0 if fog is None else fog * area / area.sum()
        end = free - two.p_pull[k] * rate.sum(axis=0)
        assert found.vapour_pa[:, k + 1] == pytest.approx(end, rel=1e-9)
        dew = np.maximum(lying + rate, 0.0) * STEP_S / area
        assert found.condensate_kg_m2[:, :, k + 1] == pytest.approx(dew, rel=1e-6, abs=1e-12)
        dewy += int(np.count_nonzero(dew))
        foggy += 0 if fog is None else int(np.count_nonzero(fog))
    assert dewy
    assert foggy
