"""Starts that heat opens, told many at once: as the search for just one of them has it."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from cold_boat import SOLVENT, boat, heater, made, sheet, weather

from curewindow.heating.compose import plan_heating
from curewindow.heating.evaluate import VENTS, Candidates, own_air_changes, schedule_c, start_costs
from curewindow.heating.lit import run_from_light
from curewindow.heating.opened import OpenedRuns, opened_starts
from curewindow.heating.room import heated, of_member
from curewindow.windows.grid import at_index

SETPOINTS_C = np.array([13.0, 17.0, 22.0])  # between the rows of the cure's table
EVENINGS = [{"from": "18:00", "setpoint": "16 °C"}, {"from": "23:00"}]
HEATERS: dict[str, dict[str, Any]] = {
    "no routine": heater(),
    "heated of an evening": heater(routine=EVENINGS),
    "slow to warm up": heater(routine=EVENINGS, warm_up="90 min"),
    "cannot burn low": heater(routine=EVENINGS, min_power="1.2 kW", swing="2 K"),
}


def swinging(hours: np.ndarray) -> np.ndarray:
    """Weather of two members, the second colder, both colder at night."""
    day = 4.0 + 3.0 * np.sin(2.0 * np.pi * (hours - 4.0) / 24.0)
    return np.stack([day, day - 1.0])


def stage(heating: dict[str, Any], solvent: bool) -> tuple[Any, Any, Any, Any]:
    on = boat(heating)
    of = sheet(**SOLVENT) if solvent else sheet()
    return on, *made(on, weather(swinging, days=5.0), of)


def opened(task: Any, room: Any) -> OpenedRuns:
    found = opened_starts(task, room, 1, SETPOINTS_C, round(48.0 / room.step_h))
    assert found is not None
    assert len(found.ways) > 4
    return found


@pytest.mark.parametrize("solvent", [True, False])
@pytest.mark.parametrize("heating", HEATERS.values(), ids=HEATERS)
def test_they_cost_what_their_whole_run_costs(heating: dict[str, Any], solvent: bool) -> None:
    _, _, task, room = stage(heating, solvent)
    found = opened(task, room)
    whole, end = start_costs(task, of_member(room, 1), found.ways, room.power_w, found.dry)
    at = np.arange(len(found.ways)), found.ways.start
    np.testing.assert_allclose(found.energy_kwh, whole[at], atol=1e-6)
    np.testing.assert_array_equal(found.end, end[at])
    assert np.unique(found.ways.start).size == len(found.ways)


@pytest.mark.parametrize("heating", HEATERS.values(), ids=HEATERS)
def test_a_run_from_its_light_is_the_whole_run(heating: dict[str, Any]) -> None:
    """Lit before, in and after hours of the routine, with the vents either way."""
    _, _, _, room = stage(heating, solvent=False)
    rng = np.random.default_rng(4)
    count = 24
    light = rng.integers(0, round(60.0 / room.step_h), count)
    ways = Candidates(
        rng.choice([9.0, 13.0, 22.0], count),
        light,
        np.full(count, -1),
        rng.integers(0, len(VENTS), count),
    )
    rows, until = rng.integers(0, 2, count), light + rng.integers(1, 80, count)
    own = own_air_changes(room, ways.vents)
    found = run_from_light(room, ways, rows, until, power_w=room.power_w, air_changes_h=own)
    asked = np.arange(found.air_c.shape[1]) <= until[:, None]
    for member in (0, 1):
        one = of_member(room, member)
        whole = heated(one, schedule_c(one, ways), power_w=room.power_w, air_changes_h=own)
        here = asked & (rows == member)[:, None]
        for name in ("air_c", "mass_c", "rh_pct", "buffer_rh_pct", "surface_c", "condensate_kg_m2"):
            values, other = getattr(found, name), getattr(whole, name)
            np.testing.assert_allclose(
                values[..., here], other[..., : found.air_c.shape[1]][..., here], atol=1e-7
            )
    assert np.isnan(found.air_c[~asked]).all()


@pytest.mark.parametrize("solvent", [True, False])
def test_each_is_found_possible_when_it_alone_is_asked_for(solvent: bool) -> None:
    on, space, task, room = stage(HEATERS["heated of an evening"], solvent)
    cold = of_member(room, 1)
    found = opened(task, room)
    picked = np.linspace(0, len(found.ways) - 1, 4).round().astype(int)
    for row in picked.tolist():
        moment = at_index(task.base, room.first + int(found.ways.start[row]))
        latest, base = moment + timedelta(seconds=1), of_row(task.base, 1)
        only = replace(task, earliest=moment, latest=latest, base=base)
        planned = plan_heating(on, space, only, cold)
        plan = planned.plan
        assert plan.status == "possible"
        assert plan.start == moment
        assert planned.choice is not None
        # with other setpoints and moments to light at, about as much
        assert planned.choice.energy_kwh <= 1.1 * found.energy_kwh[row] + 0.05


def of_row(base: Any, row: int) -> Any:
    """Conditions in one member."""
    names = ("air_c", "rh_pct", "dew_point_c", "surface_c")
    return replace(base, **{name: getattr(base, name)[row : row + 1] for name in names})


def test_they_are_the_same_read_back() -> None:
    _, _, task, room = stage(heater(), solvent=True)
    found = opened(task, room)
    again = OpenedRuns.of(found.arrays())
    for name, values in found.arrays().items():
        np.testing.assert_array_equal(again.arrays()[name], values)
    assert again.ways.light.dtype == np.int64
