"""Laws a heating plan obeys whatever the cold, the boat and the heater."""

from __future__ import annotations

import sys
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "heating"))
from cold_boat import SOLVENT, boat, heater, job, made, sheet, weather

from curewindow.heating.evaluate import VENTS
from curewindow.heating.plan import LATE_H, find, prove
from curewindow.heating.room import member_to_plan_for, of_member
from curewindow.heating.search import Effort, search
from tests.cases import cases

few = cases(5)
base = st.floats(-2.0, 7.0)
swing = st.floats(0.0, 4.0)
# Twice as fine as the finest the plan itself looks.
FINER = Effort(24, 1.0, 1.0, (0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 9.0, 12.0, 16.0, 22.0, 28.0, 40.0))


def days(mean_c: float, swing_k: float, colder_k: float = 0.0):
    """Days with a swing, all nights (18 to 6) colder by so much."""

    def temp(hours: np.ndarray) -> np.ndarray:
        clock = hours + 6.0
        wave = np.cos((clock - 14.0) / 24.0 * 2.0 * np.pi)
        night = np.clip(-np.cos((clock - 12.0) / 24.0 * 2.0 * np.pi), 0.0, None)
        return mean_c + swing_k * wave - colder_k * night

    return temp


@pytest.mark.slow
@few
@given(mean_c=base, swing_k=swing, colder_k=st.floats(0.5, 6.0), dry_k=st.floats(8.0, 12.0))
def test_a_plan_is_never_cheaper_when_every_night_is_colder(
    mean_c: float, swing_k: float, colder_k: float, dry_k: float
) -> None:
    """The same vapour outside, so that nothing but the cold differs."""
    dew = mean_c - swing_k - dry_k
    costs = []
    for colder in (0.0, colder_k):
        _, task, room = made(boat(heater()), weather(days(mean_c, swing_k, colder), dew))
        found = find(task, room)
        costs.append(np.inf if found is None else found.choice.energy_kwh)
    # Setpoints lie half a degree and lighting times a grid step apart: two in a hundred for that.
    assert costs[1] >= 0.98 * costs[0] - 0.02


@few
@given(
    mean_c=base,
    swing_k=swing,
    dry_k=st.floats(1.0, 5.0),
    power_w=st.sampled_from([400, 900, 3000]),
    aired=st.booleans(),
    panel=st.sampled_from(["locker side", "panelled side", None]),
)
def test_a_found_plan_always_verifies(
    mean_c: float, swing_k: float, dry_k: float, power_w: int, aired: bool, panel: str | None
) -> None:
    """Run again alone, it keeps every limit with the margin, and takes the heat it tells."""
    of = sheet(**(SOLVENT if aired else {}))
    dew = mean_c - swing_k - dry_k
    on = boat(heater(power=f"{power_w} W"))
    _, task, room = made(
        on, weather(days(mean_c, swing_k), dew), of, job=job(panel=panel, area="1 m²")
    )
    found = find(task, room)
    if found is None:
        return
    choice = found.choice
    proved = prove(task, room, choice)
    assert proved.holds.all()
    start = np.array([choice.start + proved.offset])
    verdict = proved.verdict
    assert verdict.ok[:, start].all()
    set_at = int(verdict.setting_end[0, start[0]]) - proved.offset
    late = round(LATE_H / room.step_h)
    assert set_at in (choice.end, choice.end - late)
    for index, track in enumerate(verdict.tracks):
        assert verdict.min_margin(index, start).min() >= track.kind.spare - 1e-6
    spent = proved.result.heat_w[0, choice.light : set_at].sum() * room.step_h / 1000.0
    assert spent == pytest.approx(choice.energy_kwh, rel=1e-6, abs=1e-6)


@pytest.mark.slow
@cases(5)
@given(
    mean_c=st.floats(-4.0, 4.0),
    swing_k=swing,
    dry_k=st.floats(0.5, 3.0),
    power_w=st.sampled_from([150, 250, 350]),
    aired=st.booleans(),
)
def test_when_it_says_impossible_no_finer_grid_finds_a_way(
    mean_c: float, swing_k: float, dry_k: float, power_w: int, aired: bool
) -> None:
    of = sheet(**(SOLVENT if aired else {}))
    dew = mean_c - swing_k - dry_k
    on = boat(heater(power=f"{power_w} W"))
    _, task, room = made(on, weather(days(mean_c, swing_k), dew), of, job=job(area="0.5 m²"))
    if find(task, room) is not None:
        return
    cold = of_member(room, member_to_plan_for(room.outside.temp_c))
    assert search(task, cold, effort=FINER, ventilation=VENTS) is None


def test_more_members_a_plan_that_holds_in_most_of_them() -> None:
    """An ensemble of five winters a degree apart; it is made for the coldest."""

    def temp(hours: np.ndarray) -> np.ndarray:
        return np.stack([days(1.0 + k, 2.0)(hours) for k in range(5)])

    _, task, room = made(boat(heater()), weather(temp, -3.0))
    found = find(task, room)
    assert found is not None
    assert found.holds.shape == (5,)
    assert found.holds.mean() >= 0.8
