"""A member marched alone and among others, and a heater that needs no marching together."""

import dataclasses

import numpy as np
from hypothesis import given
from hypothesis import strategies as st
from test_balance_together import (
    DRIER,
    FLAME,
    POINTS,
    STEP_H,
    any_run,
    any_space,
    any_weather,
    few,
    seeds,
)

from curewindow.physics.balance import (
    Dehumidifier,
    HeaterModel,
    simulate,
    start_from_reading,
)


@few
@given(seeds, st.sampled_from(["dew", "heater", "condensing", "desiccant"]))
def test_a_member_is_the_same_alone_and_among_others(seed: int, what: str) -> None:
    """Others in the run only keep its turns going for longer."""
    rng = np.random.default_rng(seed)
    space, outside = any_space(rng), any_weather(rng, members=3)
    # In the same wind: its classes are made for all members together.
    outside = dataclasses.replace(outside, wind_ms=outside.wind_ms[:1].repeat(3, axis=0))
    one = dataclasses.replace(
        outside,
        **{name: getattr(outside, name)[:1] for name in ("temp_c", "vapour_pa", "wind_ms")},
    )
    devices = {
        "dew": {"power_limit_w": 2000.0},
        "heater": {"heater": FLAME, "cap_w": 2000.0},
        "condensing": {"dehumidifier": Dehumidifier("condensing", 12.0, 300.0, 50.0)},
        "desiccant": {"dehumidifier": DRIER, "heater": FLAME},
    }[what]
    hour = np.arange(POINTS) * STEP_H
    runs = [
        simulate(
            space,
            STEP_H,
            weather,
            start_from_reading(space, weather, 6.0, 85.0, members=len(weather.temp_c)),
            setpoint_c=np.where(hour % 24 > 8, 15.0, np.nan),
            moisture_kg_h=0.15,
            latent_heat=what != "heater",
            **devices,
        )
        for weather in (one, outside)
    ]
    for name, allowed in (
        ("air_c", 1e-5),
        ("surface_c", 1e-4),
        ("vapour_pa", 1e-2),
        ("condensate_kg_m2", 1e-6),
        ("frost_kg_m2", 1e-6),
        ("heat_w", 1e-1),
        ("dried_kg", 1e-6),
    ):
        alone, first = getattr(runs[0], name), getattr(runs[1], name)
        axis = -2
        np.testing.assert_allclose(
            np.take(alone, 0, axis), np.take(first, 0, axis), rtol=1e-6, atol=allowed, err_msg=name
        )


@few
@given(seeds, st.booleans())
def test_a_heater_that_goes_low_needs_no_marching_together(seed: int, flued: bool) -> None:
    """Warm-up, cap and the flame's water come out the same; a drier that is off is none."""
    heater = HeaterModel(2500.0, 0.0, 0.0, 0.4, 0.9, "paraffin", flued=flued)
    rng = np.random.default_rng(seed + 1)
    cap = np.where(rng.random(POINTS) < 0.2, 600.0, np.inf)
    _, _, plain = any_run(seed, heater=heater, cap_w=cap)
    _, _, both = any_run(seed, heater=heater, cap_w=cap, dehumidifier=DRIER, drying=0.0)
    np.testing.assert_allclose(plain.heat_w, both.heat_w, rtol=1e-6, atol=0.05)
    np.testing.assert_allclose(plain.air_c, both.air_c, atol=1e-4)
    np.testing.assert_allclose(plain.vapour_pa, both.vapour_pa, rtol=1e-4, atol=0.5)
    assert np.nanmax(both.dried_kg) == 0.0
    assert np.nanmax(plain.heat_w) <= 2500.0


def test_a_heater_warms_up_evenly() -> None:
    """Lit at full need for 24 min of warm-up, steps of 10: means of 5/24, 15/24, 23.33/24, 1.

    By hand: the ramp t/24 over 0-10, 10-20 and 20-30 min (full from 24 on).
    """
    rng = np.random.default_rng(3)
    space, outside = any_space(rng), any_weather(rng)
    start = start_from_reading(space, outside, 0.0, 80.0)
    heater = HeaterModel(1000.0, warm_up_h=0.4)
    run = simulate(space, STEP_H, outside, start, setpoint_c=30.0, heater=heater)
    shares = [5 / 24, 15 / 24, (4 * 22 / 24 + 6) / 10, 1.0]
    np.testing.assert_allclose(run.heat_w[0, :4], 1000.0 * np.array(shares), rtol=1e-9)


def test_a_drier_works_while_it_is_on() -> None:
    on = np.where(np.arange(POINTS) >= 72, 1.0, 0.0)
    _, _, run = any_run(5, dehumidifier=Dehumidifier("desiccant", 7.0, 300.0, 20.0), drying=on)
    assert not run.dried_kg[:, :72].any()
    assert run.dried_kg[:, 72:-1].min() > 0.0
