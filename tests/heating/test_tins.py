"""A plan of heat waits for the tin, wherever it is kept; with solvent that ties airing as well."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any

import pytest
from cold_boat import SOLVENT, boat, heater, made, sheet, weather

from curewindow.heating import HeatedCoat, Room
from curewindow.heating.compose import plan_heating
from curewindow.heating.plan import Proved, prove
from curewindow.heating.search import search
from curewindow.rules.tins import HOME_C, tin_asked

WANTS_C = 12.0


def stage(kept: str | None, solvent: bool, **changes: Any) -> tuple[HeatedCoat, Room]:
    limits = {
        "air": {"min": "10 °C", "max": "28 °C"},
        "surface": {"min": "8 °C"},
        "product": {"min": f"{WANTS_C} °C"},
        "humidity": {"max": "85 %"},
    }
    of = sheet(applying=limits, **(SOLVENT if solvent else {}))
    on = boat(heater(power="4 kW")).model_copy(update={"tins_kept": kept})
    _, task, room = made(on, weather(2.0, -4.0), of, **changes)
    return task, room


def tin_over_work(task: HeatedCoat, proved: Proved, kept: str | None) -> list[float]:
    """The tin while it is put on, by Newton's law in small steps along the run's own air."""
    run, room, choice = proved.result, proved.room, proved.choice
    assert task.base.tins is not None
    lags_h = task.base.tins.lags_h(tin_asked(task.sheet, task.hands_on_h))
    end = choice.start + math.ceil(task.hands_on_h / room.step_h)
    first = 0 if kept is None else choice.start
    warm = float(task.base.air_c[0, room.first])
    if kept == "home":
        warm = 2.0 + (HOME_C - 2.0) * math.exp(-20.0 / 60.0 / lags_h)
    found = []
    for k in range(first, end):
        before, after = run.air_c[0, k : k + 2]
        for step in range(60):
            now = before + (after - before) * (step + 0.5) / 60.0
            warm += (now - warm) * room.step_h / 60.0 / lags_h
        if k >= choice.start - 1:
            found.append(warm)
    return found


@pytest.mark.parametrize("solvent", [False, True])
@pytest.mark.parametrize("kept", [None, "home"])
def test_no_start_is_planned_with_a_tin_too_cold(kept: str | None, solvent: bool) -> None:
    task, room = stage(kept, solvent)
    choice = search(task, room)
    assert choice is not None
    proved = prove(task, room, choice)
    assert proved.holds.all()
    assert min(tin_over_work(task, proved, kept)) >= WANTS_C - 0.05


def test_a_tin_carried_warm_needs_less_heat_than_one_that_stood_in_the_cold() -> None:
    """The control: heat is not held for a tin that comes warm."""
    cold, carried = (search(*stage(kept, False)) for kept in (None, "home"))
    assert cold is not None
    assert carried is not None
    assert carried.start - carried.light < cold.start - cold.light
    assert carried.energy_kwh < cold.energy_kwh


def test_the_plan_says_what_is_to_be_done_about_the_tin() -> None:
    said = {}
    for kept in (None, "home", "deck"):
        on = boat(heater(power="4 kW")).model_copy(update={"tins_kept": kept})
        task, room = stage(kept, False)
        planned = plan_heating(on, room.space, task, room)
        assert planned.plan.status == "possible"
        said[kept] = {note.kind: note for note in planned.plan.notes}
        start, light = planned.plan.start, planned.plan.light_at
        assert start is not None
        assert light is not None
        if kept == "deck":
            assert light - timedelta(hours=2) <= said[kept]["bring tin in"].time("at") <= start
    assert "bring the tin" in said[None]
    assert said["home"]["carry tin warm"].flag("known")
