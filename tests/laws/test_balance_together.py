"""Laws of heat and moisture marched together: latent heat, frost, heaters, drying, doors."""

import dataclasses

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.physics.air import saturation_pressure, vapour_pressure
from curewindow.physics.balance import (
    Dehumidifier,
    Doorway,
    HeaterModel,
    Layer,
    Outside,
    PanelModel,
    SpaceModel,
    SpaceResult,
    capacity_kg_h,
    simulate,
    space_network,
    start_from_reading,
)
from tests.cases import cases

GAS_OF_VAPOUR = 8.314462618 / 0.018015268  # J/kg K: CODATA 2018, IAPWS R6-95

seeds = st.integers(0, 2**31)
few = cases(8)
STEP_H = 1 / 6
POINTS = 145
FLAME = HeaterModel(2500.0, 800.0, 1.5, 0.25, 0.9, "paraffin", flued=False)
DRIER = Dehumidifier("desiccant", 7.0, 350.0, 60.0)


def any_space(rng: np.random.Generator) -> SpaceModel:
    skins = [
        (Layer(rng.uniform(0.004, 0.02), 0.3, 1900.0, 1200.0),),
        (Layer(0.012, 0.13, 500.0, 1600.0), Layer(rng.uniform(0.01, 0.05), 0.035, 30.0, 1400.0)),
        (Layer(0.006, 1.0, 2500.0, 750.0),),
        (Layer(0.004, 50.0, 7850.0, 470.0),),
        (),
    ]
    return SpaceModel(
        rng.uniform(5.0, 40.0),
        (
            PanelModel("deck", 9.0, skins[rng.integers(5)], sky_share=1.0, rsi=0.10),
            PanelModel("side", 11.0, skins[rng.integers(5)], sky_share=0.5),
            PanelModel("bottom", 8.0, skins[rng.integers(5)], outside="water"),
        ),
        air_changes_h=rng.choice([0.3, 1.0, 6.0]),
        mass_j_k=rng.choice([0.0, 5e5]),
        buffer_kg=rng.choice([0.0, 5.0]),
    )


def any_weather(rng: np.random.Generator, members: int = 2) -> Outside:
    hour = np.arange(POINTS) * STEP_H
    temp = rng.uniform(-12, 18) + 5 * np.sin(2 * np.pi * (hour - 9) / 24)
    temp = temp + rng.normal(0, 2, (members, 1))
    rh = np.clip(85 + 15 * np.sin(hour / 5) + rng.normal(0, 5, (members, 1)), 20, 100)
    return Outside(
        temp,
        vapour_pressure(temp, rh),
        np.abs(4 + 4 * np.sin(hour / 7) + rng.normal(0, 1, (members, 1))),
        sky_loss_w_m2=np.full(POINTS, rng.uniform(0, 100)),
        water_c=np.array(rng.uniform(0, 20)),
    )


def any_run(seed: int, **inputs: object) -> tuple[SpaceModel, Outside, SpaceResult]:
    rng = np.random.default_rng(seed)
    space, outside = any_space(rng), any_weather(rng)
    hour = np.arange(POINTS) * STEP_H
    start = start_from_reading(space, outside, rng.uniform(-3, 15), rng.uniform(40, 99))
    given_inputs = {
        "setpoint_c": np.where((hour % 24 > 8) & (hour % 24 < 20), rng.uniform(10, 20), np.nan),
        "power_limit_w": 2000.0,
        "moisture_kg_h": rng.uniform(0, 0.4),
        **inputs,
    }
    return space, outside, simulate(space, STEP_H, outside, start, **given_inputs)


@few
@given(seed=seeds)
def test_an_ideal_heater_is_the_plain_one(seed: int) -> None:
    _, _, plain = any_run(seed)
    _, _, other = any_run(seed, heater=HeaterModel(2000.0))
    for name in ("air_c", "surface_c", "mass_c", "heat_w", "loss_w"):
        np.testing.assert_allclose(getattr(other, name), getattr(plain, name), atol=1e-7)
    np.testing.assert_allclose(other.vapour_pa, plain.vapour_pa, rtol=1e-9)
    np.testing.assert_allclose(other.condensate_kg_m2, plain.condensate_kg_m2, atol=1e-10)
    np.testing.assert_allclose(other.vented_kg, plain.vented_kg, atol=1e-10)


@few
@given(seed=seeds)
def test_heat_and_water_balance_with_all_that_acts(seed: int) -> None:
    rng = np.random.default_rng(seed)
    beyond = np.full(POINTS, rng.uniform(-5, 15))
    door = Doorway(
        np.where(np.arange(POINTS) % 36 < 12, 60.0, 0.0), beyond, vapour_pressure(beyond, 70.0)
    )
    given_off = 0.15
    space, outside, result = any_run(
        seed,
        heater=FLAME,
        dehumidifier=DRIER,
        doors=[door],
        latent_heat=True,
        moisture_kg_h=given_off,
    )
    second = STEP_H * 3600.0
    network = space_network(space, 1.0, 0.04).network
    capacity = network.capacity_j_k[network.capacity_j_k > 0]
    stored = np.diff(result.nodes_c @ capacity, axis=0).T
    power = (result.heat_w + result.drying_w + result.latent_w.sum(axis=0))[:, :-1]
    lost = result.loss_w.sum(axis=0)[:, :-1]
    for panel in space.panels:
        lost = lost + panel.area_m2 * panel.sky_share * outside.sky_loss_w_m2[:-1]
    scale = np.abs(result.loss_w).sum(axis=0).max() * second
    np.testing.assert_allclose(stored, (power - lost) * second, atol=1e-9 * scale)

    area = np.array([panel.area_m2 for panel in space.panels])[:, None, None]
    kelvin = (result.air_c[:, :-1] + result.air_c[:, 1:]) / 2 + 273.15
    air = space.volume_m3 / (GAS_OF_VAPOUR * kelvin) * np.diff(result.vapour_pa, axis=1)
    buffer = space.buffer_kg * np.diff(result.buffer_rh_pct, axis=1) / 100
    lying = np.diff(result.condensate_kg_m2, axis=2) * area
    source = (given_off + FLAME.water_kg_kwh * result.heat_w[:, :-1] / 1000) * STEP_H
    taken = result.vented_kg[:, :-1] + result.dried_kg[:, :-1]
    residue = air + buffer + lying.sum(axis=0) + taken - source
    turnover = (np.abs(air) + np.abs(buffer)).sum() + np.abs(lying).sum() + source.sum()
    assert np.abs(residue).sum() < 1e-6 * turnover

    # What the panels got is the latent heat of what gathered and froze on them.
    frozen = np.diff(result.frost_kg_m2, axis=2) * area
    booked = (2.501e6 * lying + 0.334e6 * frozen) / second
    np.testing.assert_allclose(result.latent_w[:, :, :-1], booked, atol=1e-6)


@few
@given(seed=seeds)
def test_frost_lies_in_the_frost_and_nothing_is_wet_without_water(seed: int) -> None:
    _, _, result = any_run(seed, latent_heat=True)
    frost, lying = result.frost_kg_m2[:, :, 1:], result.condensate_kg_m2[:, :, 1:]
    surface = result.surface_c[:, :, 1:]
    assert np.all((frost >= 0) & (frost <= lying))
    assert np.all(surface[frost > 1e-6] < 0.01)
    assert np.all(surface[lying - frost > 1e-6] > -0.01)
    limit = np.where(
        surface < 0,
        saturation_pressure(np.minimum(surface, 0.0), "ice"),
        saturation_pressure(np.maximum(surface, 0.0)),
    )
    vapour = np.broadcast_to(result.vapour_pa[:, 1:], limit.shape)
    assert np.all(vapour[lying == 0] <= limit[lying == 0] * (1 + 1e-4))
    assert np.all((result.rh_pct > 0) & (result.rh_pct <= 100))


@few
@given(seed=seeds)
def test_dew_warms_the_panel_it_falls_on(seed: int) -> None:
    rng = np.random.default_rng(seed)
    # Bare skins, damp and without air change, water in all of them, and no frost.
    space = dataclasses.replace(any_space(rng), air_changes_h=0.0)
    temp = np.full((1, POINTS), rng.uniform(3, 10))
    outside = Outside(temp, vapour_pressure(temp, 80.0), water_c=np.array(5.0))
    start = start_from_reading(space, outside, 12.0, 70.0)
    inputs = {"setpoint_c": 18.0, "power_limit_w": 9000.0, "moisture_kg_h": 0.4}
    plain = simulate(space, STEP_H, outside, start, **inputs)
    warm = simulate(space, STEP_H, outside, start, latent_heat=True, **inputs)
    wet = plain.condensate_kg_m2[:, 0, -1] > 0
    assert wet.any()
    assert np.all(warm.surface_c[wet, 0, -1] > plain.surface_c[wet, 0, -1])


@pytest.mark.slow
@few
@given(seed=seeds)
def test_half_the_step_moves_temperatures_little(seed: int) -> None:
    rng = np.random.default_rng(seed)
    space, outside = any_space(rng), any_weather(rng, members=1)
    coarse = dataclasses.replace(outside, wind_ms=np.array(4.0))
    at = np.arange(POINTS)
    fine_at = np.arange(2 * POINTS - 1) / 2
    fine = dataclasses.replace(
        coarse,
        temp_c=np.interp(fine_at, at, coarse.temp_c[0])[None],
        vapour_pa=np.interp(fine_at, at, coarse.vapour_pa[0])[None],
        sky_loss_w_m2=np.full(fine_at.size, coarse.sky_loss_w_m2[0]),
    )
    start = start_from_reading(space, coarse, 8.0, 75.0)
    inputs = {"gains_w": 300.0, "moisture_kg_h": 0.15, "latent_heat": True}
    one = simulate(space, STEP_H, coarse, start, **inputs)
    two = simulate(space, STEP_H / 2, fine, start, **inputs)
    off = np.abs(two.air_c[:, ::2] - one.air_c)
    # But for the first hour, which finds the panels' dew, and the single steps in which
    # the last of the water on a panel freezes or thaws: their moment is a step's matter.
    assert np.quantile(off[:, 6:], 0.95) < 0.05
    assert off[:, 6:].max() < 0.2
    surfaces = np.abs(two.surface_c[:, :, ::2] - one.surface_c)[:, :, 6:]
    assert np.quantile(surfaces, 0.95) < 0.05


def test_half_the_step_leaves_the_fog_of_a_mild_damp_day_as_it_is() -> None:
    # Warm damp air comes into a cold cabin: its air stands at saturation for hours, and
    # what falls as fog must not hang on the step.
    hour = np.arange(145) * STEP_H
    space = SpaceModel(
        30.0, (PanelModel("side", 11.0, ()), PanelModel("bottom", 8.0, (), outside="water")), 6.0
    )
    dew = []
    for split in (1, 4):
        at = np.arange(144 * split + 1) * STEP_H / split
        temp = np.interp(at, hour, 10.0 + 8.0 * np.sin(2 * np.pi * hour / 24.0))[None]
        outside = Outside(temp, vapour_pressure(temp, 100.0), water_c=np.array(1.0))
        start = start_from_reading(space, outside, 8.0, 80.0)
        run = simulate(space, STEP_H / split, outside, start, latent_heat=True)
        dew.append(run.condensate_kg_m2[:, 0, ::split])
    assert dew[1][:, -1].max() > 0.05
    np.testing.assert_allclose(dew[0][:, 72], dew[1][:, 72], rtol=0.05, atol=1e-3)


@few
@given(seed=seeds)
def test_a_run_together_can_be_taken_up_again(seed: int) -> None:
    rng = np.random.default_rng(seed)
    space, outside = any_space(rng), any_weather(rng)
    start = start_from_reading(space, outside, 6.0, 85.0)
    inputs = {"moisture_kg_h": 0.2, "latent_heat": True}
    whole = simulate(space, STEP_H, outside, start, **inputs)
    cut = 70
    rest = dataclasses.replace(
        outside,
        **{
            name: getattr(outside, name)[..., cut:]
            for name in ("temp_c", "vapour_pa", "wind_ms", "sky_loss_w_m2")
        },
    )
    state = whole.state_at(cut)
    again = simulate(space, STEP_H, rest, state, **inputs)
    # A panel that is dry and just below the dew point gets its first dew anew.
    if np.allclose(again.condensate_kg_m2[..., 0], state.condensate_kg_m2, atol=1e-12):
        np.testing.assert_allclose(again.air_c, whole.air_c[:, cut:], atol=1e-3)
        np.testing.assert_allclose(again.frost_kg_m2, whole.frost_kg_m2[..., cut:], atol=1e-5)


@few
@given(seed=seeds, swing=st.floats(0.5, 4.0))
def test_a_burner_with_a_least_cycles_about_its_setpoint(seed: int, swing: float) -> None:
    heater = HeaterModel(4000.0, 1500.0, swing)
    _, _, result = any_run(seed, heater=heater, setpoint_c=18.0)
    heat = result.heat_w[:, :-1]
    assert np.all((heat == 0) | ((heat >= 1500.0) & (heat <= 4000.0)))
    air, later = result.air_c[:, :-1], result.air_c[:, 1:]
    assert np.all(heat[air <= 18.0 - swing / 2] > 0)
    assert np.all(heat[air >= 18.0 + swing / 2] == 0)
    # Between the two it goes on with what it did.
    between = (later > 18.0 - swing / 2) & (later < 18.0 + swing / 2)
    now, after = heat[:, :-1] > 0, heat[:, 1:] > 0
    assert np.array_equal(now[between[:, :-1]], after[between[:, :-1]])


def test_a_heater_warms_up() -> None:
    _, _, result = any_run(3, heater=HeaterModel(2000.0, warm_up_h=0.5), setpoint_c=60.0)
    # Three steps of ten minutes up a ramp of half an hour: means 1/6, 3/6 and 5/6.
    np.testing.assert_allclose(
        result.heat_w[:, :4], np.tile([2000 / 6, 1000.0, 10_000 / 6, 2000.0], (2, 1))
    )


@pytest.mark.slow
@few
@given(seed=seeds)
def test_a_dehumidifier_dries_to_its_target_and_no_further(seed: int) -> None:
    quiet = {"setpoint_c": np.nan, "latent_heat": True}
    _, _, damp = any_run(seed, **quiet)
    _, _, dry = any_run(seed, dehumidifier=DRIER, **quiet)
    assert np.all(dry.dried_kg >= 0)
    works = dry.dried_kg[:, :-1] > 1e-9
    assert np.all(dry.rh_pct[:, 1:][works] >= DRIER.target_rh_pct - 0.05)
    # Vapour itself may rise: the heat it gives off dries the panels.
    assert np.all(dry.rh_pct <= damp.rh_pct + 0.01)
    most = capacity_kg_h(DRIER, dry.air_c, np.minimum(dry.rh_pct, 100.0))[:, :-1] * STEP_H
    assert np.all(dry.dried_kg[:, :-1] <= most + 1e-12)


def test_cold_stops_a_condensing_dehumidifier_but_not_a_desiccant() -> None:
    air = np.linspace(-5.0, 35.0, 81)
    condensing = Dehumidifier("condensing", 12.0, 250.0)
    taken = capacity_kg_h(condensing, air, 80.0)
    assert np.all(np.diff(taken) >= 0)
    assert np.all(taken[air <= 5.0] == 0)
    np.testing.assert_allclose(capacity_kg_h(DRIER, air, 80.0), 7.0 / 24.0)
    assert np.all(np.diff(capacity_kg_h(DRIER, 5.0, np.linspace(0, 100, 11))) >= 0)
    assert np.isnan(capacity_kg_h(DRIER, np.nan, 80.0))


@few
@given(seed=seeds)
def test_a_door_to_the_outside_air_is_air_change(seed: int) -> None:
    rng = np.random.default_rng(seed)
    space, outside = any_space(rng), any_weather(rng)
    flow = np.where(np.arange(POINTS) % 48 < 24, 2.5 * space.volume_m3, 0.0)
    door = Doorway(flow, outside.temp_c, outside.vapour_pa)
    start = start_from_reading(space, outside, 10.0, 80.0)
    with_door = simulate(space, STEP_H, outside, start, moisture_kg_h=0.1, doors=[door])
    change = space.air_changes_h + flow / space.volume_m3
    aired = simulate(space, STEP_H, outside, start, moisture_kg_h=0.1, air_changes_h=change)
    np.testing.assert_allclose(with_door.air_c, aired.air_c, atol=1e-9)
    np.testing.assert_allclose(with_door.vapour_pa, aired.vapour_pa, rtol=1e-9)
    np.testing.assert_allclose(with_door.loss_w, aired.loss_w, atol=1e-6)


def test_an_open_door_brings_the_neighbours_air() -> None:
    rng = np.random.default_rng(8)
    space, outside = any_space(rng), any_weather(rng)
    saloon = np.full(POINTS, 17.0)
    door = Doorway(np.array(1e5), saloon, vapour_pressure(saloon, 50.0))
    start = start_from_reading(space, outside, 5.0, 80.0)
    result = simulate(space, STEP_H, outside, start, doors=[door])
    np.testing.assert_allclose(result.air_c[:, -1], 17.0, atol=0.3)
    np.testing.assert_allclose(result.rh_pct[:, -1], 50.0, atol=1.0)


def test_the_unknown_spreads_together_too() -> None:
    rng = np.random.default_rng(9)
    space, outside = any_space(rng), any_weather(rng)
    broken = outside.temp_c.copy()
    broken[1, 60] = np.nan
    start = start_from_reading(space, outside, 8.0, 80.0)
    inputs = {"heater": FLAME, "dehumidifier": DRIER, "latent_heat": True, "setpoint_c": 12.0}
    whole = simulate(space, STEP_H, outside, start, **inputs)
    result = simulate(space, STEP_H, dataclasses.replace(outside, temp_c=broken), start, **inputs)
    np.testing.assert_allclose(result.air_c[0], whole.air_c[0], atol=1e-4)
    assert result.known[1, :60].all()
    assert not result.known[1, 60:].any()
    assert np.isnan(result.condensate_kg_m2[:, 1, 61:]).all()
    nothing = dataclasses.replace(outside, temp_c=np.full_like(broken, np.nan))
    assert not simulate(space, STEP_H, nothing, start, **inputs).known[:, 1:].any()


def test_impossible_devices_are_refused() -> None:
    with pytest.raises(ValueError, match="least_w"):
        HeaterModel(1000.0, 2000.0)
    with pytest.raises(ValueError, match="efficiency"):
        HeaterModel(1000.0, efficiency=1.2)
    with pytest.raises(ValueError, match="no known fuel"):
        HeaterModel(1000.0, fuel="peat")
    with pytest.raises(ValueError, match="warm_up_h"):
        HeaterModel(1000.0, warm_up_h=-1.0)
    with pytest.raises(ValueError, match="target_rh_pct"):
        Dehumidifier("desiccant", 7.0, 300.0, 120.0)
    with pytest.raises(ValueError, match="rated_kg_day"):
        Dehumidifier("desiccant", 0.0, 300.0)
    with pytest.raises(ValueError, match="takes out nothing"):
        Dehumidifier("condensing", 7.0, 300.0, rated_c=3.0)
    with pytest.raises(ValueError, match="'condensing' or 'desiccant'"):
        Dehumidifier("salt", 7.0, 300.0)  # type: ignore[arg-type]
