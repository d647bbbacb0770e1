"""A room's heat by its routine: as it stands, or run where it is another room."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from cold_boat import boat, heater, made, sheet, weather

from curewindow.heating.room import (
    Room,
    heated,
    of_member,
    of_rows,
    rebuilt,
    routine_heat_w,
    up_to,
)

ROUTINE = {
    "routine": [{"from": "06:00", "setpoint": "19 °C"}, {"from": "22:00", "setpoint": "12 °C"}]
}


@pytest.fixture(scope="module")
def room() -> Room:
    """A cabin with a routine, ready to be heated."""

    def members(hours: np.ndarray) -> np.ndarray:
        return np.array([[0.0], [3.0], [7.0]]) + 3.0 * np.sin(hours * np.pi / 12.0)

    return made(boat(heater(**ROUTINE)), weather(members, days=4.0, step_min=10), sheet())[2]


def run_again(room: Room) -> np.ndarray:
    return heated(room, room.routine_c).heat_w


def test_heat_by_the_routine_is_that_of_a_run_of_its_own(room: Room) -> None:
    """Of all members or some, for as long as is asked for, the longer first or last."""
    every = np.arange(room.members)[::-1]
    for some in (up_to(room, 60), room, of_member(up_to(room, 200), 0), of_rows(room, every)):
        found = routine_heat_w(some)
        assert found.max() > 0.0
        np.testing.assert_allclose(found, run_again(some), rtol=0.0, atol=1e-6)


def test_what_is_known_of_a_room_is_not_taken_for_another_one(room: Room) -> None:
    """A stronger heater, other walls, another start, other weather, another routine."""
    usual = routine_heat_w(room)
    outside = replace(room.outside, temp_c=room.outside.temp_c - 3.0)
    leaky = replace(room.model, air_changes_h=3.0 * room.model.air_changes_h)
    for other in (
        replace(room, power_w=0.1 * room.power_w),
        rebuilt(room, leaky, 6.0, 70.0),
        replace(room, start=replace(room.start, nodes_c=room.start.nodes_c - 2.0)),
        replace(room, outside=outside),
        replace(room, routine_c=room.routine_c - 4.0),
    ):
        found = routine_heat_w(other)
        assert np.abs(found - usual).max() > 1.0
        np.testing.assert_allclose(found, run_again(other), rtol=0.0, atol=1e-6)
