"""A heater lit outside its routine, hatches ajar: the fit runs on what the log says of it."""

from __future__ import annotations

from datetime import timedelta

import numpy as np
from trial import START, winter

from curewindow.boat.schema import Boat
from curewindow.conditions import boat_conditions
from curewindow.fitting.cabin import cabin_for
from curewindow.record.entries import Heat
from curewindow.record.heat import with_heat

BOAT = {
    "name": "Test",
    "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC", "water_temp": "6 °C"},
    "space": [
        {
            "name": "cabin",
            "volume": "15 m³",
            "air_change": "0.8 /h",
            "panel": [
                {
                    "name": "side",
                    "area": "12 m²",
                    "layers": [
                        {"material": "plywood", "thickness": "9 mm"},
                        {"material": "mineral wool", "thickness": "40 mm"},
                        {"material": "steel", "thickness": "4 mm"},
                    ],
                }
            ],
            "heating": {"kind": "diesel", "power": "3 kW", "vented": True, "open_flame": False},
        }
    ],
}


def test_the_fit_sees_the_heat_and_the_vents_of_the_log() -> None:
    """As described it gives what the conditions give: half an hour against ten minutes."""
    forecast = winter(np.random.default_rng(4), 6.0, START)
    boat, now = Boat.model_validate(BOAT), START + timedelta(days=5)
    lit = Heat("cabin", START + timedelta(days=2), START + timedelta(days=3), 18.0, "open")
    known = with_heat(boat, [lit], [], now)
    courses = []
    for each in (boat, known):
        space = each.space[0]
        cabin = cabin_for(each, space, forecast, [], now, START, {})
        found = cabin.courses(np.zeros((1, len(cabin.unknowns))))
        courses.append((cabin.times, found.air_c[0], found.dew_point_c[0]))
    times, air, dew = courses[1]
    conditions = boat_conditions(known, forecast, [], now)["cabin"]
    at = np.searchsorted(times, conditions.times)
    both = (at < times.size) & (times[np.minimum(at, times.size - 1)] == conditions.times)
    off = air[at[both]] - conditions.air_c[0, both]
    assert np.abs(off).max() < 1.0
    assert np.sqrt((off**2).mean()) < 0.2
    wet = dew[at[both]] - conditions.dew_point_c[0, both]
    assert np.sqrt((wet**2).mean()) < 1.0  # a little water is given off by what nobody described
    assert np.abs(air - courses[0][1]).max() > 5.0  # without it, it would be far off
