"""The compiled loops against the same steps in arrays, all members at once."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curewindow.physics.air import saturation_pressure
from curewindow.physics.balance import Layer, PanelModel, SpaceModel, compiled
from curewindow.physics.balance.march import Thermostat, at_end_of, forcing_of, march
from curewindow.physics.balance.moisture import (
    TwoState,
    march_moisture,
    surface_uptake,
    two_state,
)
from curewindow.physics.balance.network import ExactStep, exact_step
from curewindow.physics.balance.space import AIR_NODE, space_network
from curewindow.physics.elementwise import FloatArray

STEP_S = 600.0
_STEEL = (Layer(0.005, 50.0, 7800.0, 450.0),)
_LINED = (Layer(0.012, 0.13, 500.0, 1600.0), Layer(0.030, 0.035, 35.0, 1400.0), *_STEEL)


def _space(panels: int) -> SpaceModel:
    return SpaceModel(
        12.0,
        tuple(PanelModel(f"panel {n}", 2.0 + n, (_STEEL, _LINED)[n % 2]) for n in range(panels)),
        mass_j_k=3e5,
        buffer_kg=4.0,
    )


def water_in_arrays(
    two: TwoState,
    limit_pa: FloatArray,
    air_pa: FloatArray,
    uptake: FloatArray,
    share: FloatArray,
    start: tuple[FloatArray, FloatArray, FloatArray],
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Vapour (T, M), buffer (T, M) and d (T, P, M); `limit_pa` is (T, P, M), `two` (T - 1, M)."""
    count, panels = len(two.capacity), len(uptake)
    column = uptake[:, None]
    vapour, buffer, lying = [start[0]], [start[1]], [start[2]]
    open_ = np.zeros(start[2].shape, np.bool_)
    for k in range(count):
        p, w, d = vapour[-1], buffer[-1], lying[-1]
        free = two.pp[k] * p + two.pw[k] * w + two.p0[k]
        next_w = two.wp[k] * p + two.ww[k] * w + two.w0[k]
        kink, pull = limit_pa[k + 1] - d, two.p_pull[k]
        goal = free + pull * (uptake @ d)
        for _ in range(panels + 2):
            gain = column * open_
            end = (goal + pull * (gain * kink).sum(axis=0)) / (1.0 + pull * gain.sum(axis=0))
            now_open = end > kink
            if np.array_equal(now_open, open_):
                break
            open_ = now_open
        over = end > air_pa[k + 1]
        held = np.minimum(end, air_pa[k + 1])
        d = np.maximum(held - kink, 0.0)
        left = np.maximum((goal - held) / pull - uptake @ d, 0.0)
        d = d + np.where(over, left, 0.0) * share[:, None] / column
        taken = uptake @ d - uptake @ lying[-1]
        vapour.append(held)
        buffer.append(next_w - two.w_pull[k] * taken)
        lying.append(d)
    return np.array(vapour), np.array(buffer), np.array(lying)


@given(
    seed=st.integers(0, 2**32 - 1),
    panels=st.integers(1, 6),
    members=st.integers(1, 9),
    damp=st.floats(0.0, 0.4),
    unknown=st.sampled_from(["nothing", "inflow", "change", "air", "start"]),
)
@settings(deadline=None, max_examples=150)
def test_water_goes_as_in_arrays(
    seed: int, panels: int, members: int, damp: float, unknown: str
) -> None:
    random = np.random.default_rng(seed)
    space, points = _space(panels), 60
    air = 9.0 + 6.0 * np.sin(np.arange(points) / 11.0) + random.normal(0, 0.3, (members, points))
    mass = 10.0 + random.normal(0, 0.1, (members, points))
    surface = air - random.uniform(0.0, 8.0, (panels, members, 1))
    inflow = random.uniform(600.0, 1400.0, (members, points - 1))
    change = random.uniform(0.0, 3.0, (members, points - 1))
    source = random.uniform(0.0, 1.0, (members, points - 1)) * damp
    vapour = random.uniform(500.0, 1000.0, members)
    rh_pct = random.uniform(40.0, 100.0, members)
    dew = np.maximum(random.uniform(-0.1, 0.1, (panels, members)), 0.0)
    who, when = random.integers(members), random.integers(points - 1)
    if unknown == "inflow":
        inflow[who, when] = np.nan
    elif unknown == "change":
        change[who, when] = np.nan
    elif unknown == "air":  # one network: where one is unknown, so are all
        air[who, when:] = mass[who, when:] = surface[:, who, when:] = np.nan
    elif unknown == "start":
        vapour[who] = np.nan
    found = march_moisture(
        space, STEP_S, (air, mass, surface), inflow, change, source, (vapour, rh_pct, dew)
    )
    between = ((air[:, :-1] + air[:, 1:]).T / 2.0, (mass[:, :-1] + mass[:, 1:]).T / 2.0)
    two = two_state(space, STEP_S, between, inflow.T, change.T, source.T)
    area = np.array([panel.area_m2 for panel in space.panels])
    uptake = surface_uptake(space)
    lays = (STEP_S * uptake / area)[:, None]
    p, w, d = water_in_arrays(
        two,
        saturation_pressure(surface).transpose(2, 0, 1),
        saturation_pressure(air).T,
        uptake,
        area / area.sum(),
        (vapour, rh_pct / 100.0, dew / lays),
    )
    d[np.broadcast_to(np.isnan(p)[:, None], d.shape)] = np.nan
    taken = np.diff(np.einsum("p,tpm->tm", uptake, d), axis=0)
    mean = two.mp * p[:-1] + two.mw * w[:-1] + two.m0 - two.m_pull * taken
    vented = change * STEP_S / 3600.0 * two.capacity.T * (mean.T - inflow)
    np.testing.assert_allclose(found.vapour_pa, p.T, rtol=1e-9)
    np.testing.assert_allclose(found.buffer_rh_pct, 100.0 * w.T, rtol=1e-9)
    np.testing.assert_allclose(
        found.condensate_kg_m2, (d * lays).transpose(1, 2, 0), rtol=1e-9, atol=1e-12
    )
    np.testing.assert_allclose(found.vented_kg, vented, rtol=1e-9, atol=1e-12)
    if unknown != "nothing":
        assert np.isnan(found.vapour_pa[who, -1])
        assert np.all(np.isnan(found.condensate_kg_m2[:, who, -1]))
    assert np.all(np.isfinite(np.delete(found.vapour_pa, who, axis=0)))


def heat_in_arrays(
    steps: list[ExactStep],
    regime: np.ndarray,
    start: FloatArray,
    forcing: tuple[FloatArray, FloatArray],
    thermostat: Thermostat | None,
) -> tuple[FloatArray, FloatArray]:
    """States and heat; `forcing` of the states and of what the thermostat reads."""
    decay = np.stack([step.decay for step in steps])
    into = np.stack([step.from_held[:, 0] for step in steps])
    row = np.stack([step.node_state[AIR_NODE] for step in steps])
    direct = np.array([step.node_held[AIR_NODE, 0] for step in steps])
    states, heat = [start], []
    for k in range(regime.shape[1]):
        which = np.broadcast_to(regime[:, k], len(start))
        free = np.einsum("mij,mj->mi", decay[which], states[-1]) + forcing[0][k]
        power = np.zeros(len(start))
        if thermostat is not None:
            reads = np.einsum("mi,mi->m", row[which], free) + forcing[1][k]
            gain = np.einsum("mi,mi->m", row[which], into[which]) + direct[which]
            wanted = thermostat.setpoint_c[:, k]
            power = np.maximum((wanted - reads) / gain, thermostat.least_w[:, k])
            power = np.where(np.isnan(wanted), 0.0, np.minimum(power, thermostat.most_w[:, k]))
        states.append(free + into[which] * power[:, None])
        heat.append(power)
    return np.array(states), np.array(heat).T


@given(
    seed=st.integers(0, 2**32 - 1),
    panels=st.integers(1, 4),
    members=st.integers(1, 7),
    shared=st.tuples(st.booleans(), st.booleans()),
    heated=st.sampled_from(["not", "some", "all", "cooled"]),
    unknown=st.sampled_from(["nothing", "input", "gain", "start", "most", "least"]),
)
@settings(deadline=None, max_examples=150)
def test_heat_goes_as_in_arrays(
    seed: int,
    panels: int,
    members: int,
    shared: tuple[bool, bool],
    heated: str,
    unknown: str,
) -> None:
    random = np.random.default_rng(seed)
    space, count = _space(panels), 40
    models = [space_network(space, change, 0.05) for change in (0.2, 1.0, 4.0)]
    steps = [exact_step(model.network, STEP_S) for model in models]
    stores = len(steps[0].decay)
    regime = random.integers(0, len(steps), (1 if shared[0] else members, count))
    of = 1 if shared[1] else members
    inputs = random.uniform(-5.0, 15.0, (steps[0].from_start.shape[1], of, count + 1))
    gains = random.uniform(0.0, 300.0, (steps[0].from_held.shape[1], of, count))
    start = random.uniform(0.0, 20.0, (members, stores))
    setpoint = random.uniform(5.0, 20.0, (members, 1)) + np.zeros(count)
    if heated == "some":
        setpoint[random.random(setpoint.shape) < 0.4] = np.nan
    elif heated == "not":
        setpoint[:] = np.nan
    most = np.broadcast_to(random.uniform(0.0, 3000.0), (members, count)).copy()
    least = np.full((members, count), -900.0 if heated == "cooled" else 0.0)
    when = random.integers(count)
    if unknown == "input":
        inputs[0, 0, when] = np.nan
    elif unknown == "gain":
        gains[0, 0, when] = np.nan
    elif unknown == "start":
        start[0, 0] = np.nan
    elif unknown == "most":
        most[0, when] = np.nan
    elif unknown == "least":
        least[0, when] = np.nan
    for thermostat in (None, Thermostat(AIR_NODE, setpoint, least, most)):
        nodes = [AIR_NODE, *models[0].inner]
        states, heat, reads = march(steps, regime, start, inputs, gains, thermostat, nodes)
        forcing = (
            forcing_of(steps, regime, inputs, gains),
            at_end_of(steps, regime, inputs, gains, [AIR_NODE])[:, :, 0],
        )
        expected, power = heat_in_arrays(steps, regime, start, forcing, thermostat)
        np.testing.assert_allclose(states, expected, rtol=1e-9, atol=1e-9)
        np.testing.assert_allclose(heat, power, rtol=1e-9, atol=1e-6)
        # In the regime of the step that ends there, with its power; at first without any.
        which = np.broadcast_to(np.concatenate([regime[:, :1], regime], axis=1), reads.shape[1:])
        held = np.broadcast_to(gains, (len(gains), members, count)).copy()
        held[0] += power
        held = np.concatenate([np.zeros((len(gains), members, 1)), held], axis=2)
        beyond = np.broadcast_to(inputs, (len(inputs), *reads.shape[1:]))
        for place, node in zip(reads, nodes, strict=True):
            of_state, of_input, of_held = (
                np.array([getattr(step, name)[node] for step in steps])[which]
                for name in ("node_state", "node_input", "node_held")
            )
            at_node = sum(
                # What does not reach a node is not known there for being unknown.
                np.where(matrix == 0.0, 0.0, matrix * values).sum(axis=2)
                for matrix, values in (
                    (of_state, expected.transpose(1, 0, 2)),
                    (of_input, beyond.transpose(1, 2, 0)),
                    (of_held, held.transpose(1, 2, 0)),
                )
            )
            np.testing.assert_allclose(place, at_node, rtol=1e-9, atol=1e-9)


def test_a_wrong_array_never_reaches_the_loops() -> None:
    right = [1, 1, 1, *np.ones((13, 40))]
    compiled.run("march_water", *right)
    for wrong in (np.ones(40, np.float32), np.ones((40, 2))[:, 0], 3):
        with pytest.raises(TypeError):
            compiled.run("march_water", *right[:7], wrong, *right[8:])
    with pytest.raises(TypeError):
        compiled.run("march_water", *right[:-1])
