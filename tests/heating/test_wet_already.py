"""A room run ahead has the water of the coats that are on there already."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
from cold_boat import NOW, boat, weather

from curewindow.conditions import boat_conditions
from curewindow.conditions.drying import DryingCoat
from curewindow.heating.columns import columns
from curewindow.heating.readied import room_from
from curewindow.heating.room import going_on, heated, states_at, up_to

COAT = DryingCoat(NOW - timedelta(hours=2), NOW - timedelta(hours=1), 0.6, 12.0)


def test_it_follows_the_conditions_that_have_it_too() -> None:
    on, outside = boat(), weather(4.0, -12.0, step_min=10)  # dry: no dew falls in there
    conditions = boat_conditions(on, outside, [], NOW, drying={"cabin": [COAT]})
    space = on.space[0]
    room = room_from(on, space, outside, conditions, NOW, drying=[COAT])
    without = room_from(on, space, outside, conditions, NOW)
    expected = conditions["cabin"].dew_point_c[0, room.first :]
    apart = [
        float(np.abs(heated(each, each.routine_c).dew_point_c[0] - expected)[6:72].max())
        for each in (room, without)
    ]
    assert apart[0] < 0.01
    assert apart[1] > 1.0


def test_every_part_of_it_has_its_own_hours() -> None:
    on, outside = boat(), weather(4.0, 1.0, step_min=10)
    conditions = boat_conditions(on, outside, [], NOW, drying={"cabin": [COAT]})
    room = room_from(on, on.space[0], outside, conditions, NOW, drying=[COAT])
    whole = heated(room, room.routine_c)
    short = heated(up_to(room, 40), room.routine_c[:40])
    np.testing.assert_allclose(short.vapour_pa, whole.vapour_pa[:, :40])
    behind = going_on(room, whole, 12, np.array([0]), 30)
    then = heated(behind, behind.routine_c)
    np.testing.assert_allclose(then.vapour_pa, whole.vapour_pa[:, 12:42], rtol=1e-6)
    begin, rows = np.array([6, 18]), np.array([0, 0])
    each = columns(room, begin, rows, 20, states_at(whole, begin, rows))
    both = heated(each, np.full((2, 20), np.nan))
    for row, first in enumerate(begin):
        expected = whole.vapour_pa[0, first : first + 20]
        np.testing.assert_allclose(both.vapour_pa[row], expected, rtol=1e-6)
