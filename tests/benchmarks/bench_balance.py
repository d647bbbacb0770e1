"""How long the balance takes for a night's worth of heating candidates.

Run apart: pytest tests/benchmarks/bench_balance.py. Measured on two shared cores of a small server:
0.9 to 1.5 s; it was 2.2 to 3.4 s before what members share was worked out once.
"""

import time

import numpy as np
import pytest

from curewindow.physics.air import vapour_pressure
from curewindow.physics.balance import (
    Layer,
    Outside,
    PanelModel,
    SpaceModel,
    simulate,
    start_in_balance,
)

STEEL = Layer(0.005, 50.0, 7800.0, 450.0)
FOAM = Layer(0.030, 0.035, 35.0, 1400.0)
PLY = Layer(0.012, 0.13, 500.0, 1600.0)


def _six_panels(points: int) -> tuple[SpaceModel, Outside]:
    panels = tuple(
        PanelModel(
            f"panel {index}",
            6.0,
            (PLY, FOAM, STEEL) if index % 2 else (STEEL,),
            outside="water" if index == 3 else "air",
            sky_share=0.0 if index == 3 else 0.5,
        )
        for index in range(6)
    )
    space = SpaceModel(15.0, panels, mass_j_k=5e5, buffer_kg=5.0)
    hour = np.arange(points) / 6
    temp = (2 + 4 * np.sin(hour / 24 * 2 * np.pi))[None]
    outside = Outside(
        temp, vapour_pressure(temp, 90.0), 4 + 3 * np.sin(hour / 11)[None], water_c=np.array(6.0)
    )
    return space, outside


@pytest.mark.benchmark
def test_three_hundred_candidates_over_sixteen_days() -> None:
    space, outside = _six_panels(2305)
    hour = np.arange(2305) / 6
    start = start_in_balance(space, outside, step_h=1 / 6)
    rng = np.random.default_rng(0)
    lit = rng.uniform(0, 300, (300, 1)) < hour
    setpoint = np.where(lit, rng.uniform(8, 20, (300, 1)), np.nan)
    best = np.inf
    for _ in range(3):
        begin = time.perf_counter()
        simulate(
            space,
            1 / 6,
            outside,
            start,
            setpoint_c=setpoint,
            power_limit_w=2000.0,
            moisture_kg_h=0.05,
        )
        best = min(best, time.perf_counter() - begin)
    assert best < 2.0, f"{best:.2f} s"


@pytest.mark.benchmark
@pytest.mark.parametrize(("members", "most_us"), [(1, 700), (8, 120), (300, 12), (5000, 15)])
def test_dew_that_warms_for_one_member_and_for_thousands(members: int, most_us: int) -> None:
    """Heat and moisture marched together, in microseconds of CPU a step and member.

    Measured on the same server: 336 for one, 56 for 8, 5.7 for 300, 7.3 for 5,000. Before,
    in arrays 1,140, 159 and 9.6, and 284 in a copy for one member in plain floats.
    """
    space, outside = _six_panels(1000 if members < 1000 else 100)
    start = start_in_balance(space, outside, step_h=1 / 6)
    points = outside.temp_c.shape[1]
    lit = np.random.default_rng(0).uniform(0, 300, (members, 1)) < np.arange(points) / 6
    begin = time.process_time()
    simulate(
        space,
        1 / 6,
        outside,
        start,
        setpoint_c=np.where(lit, 15.0, np.nan),
        power_limit_w=2000.0,
        moisture_kg_h=0.05,
        latent_heat=True,
    )
    took = 1e6 * (time.process_time() - begin) / (points - 1) / members
    assert took < most_us, f"{took:.1f} us"
