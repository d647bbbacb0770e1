"""A heater is left alone only as boat.toml says, hour by hour; what is not said counts as never.

Common practice, no single source. What is allowed is walked minute by minute here, apart from
the code's own rule.
"""

from __future__ import annotations

import sys
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "heating"))
from cold_boat import DAYS, SOLVENT, WORDS, boat, heater, made, sheet, weather

from curewindow.boat.checks import check_boat
from curewindow.boat.schema import Boat
from curewindow.cautions.alone import left_alone_cautions, not_planned, order_alone
from curewindow.cautions.logged import lit_cautions
from curewindow.errors import BoatError
from curewindow.explain.change import Intervention
from curewindow.explain.whatif import what_if
from curewindow.heating import HeatPlan
from curewindow.heating.choice import Choice
from curewindow.heating.compose import look_closer, plan_heating
from curewindow.heating.evaluate import VENTS
from curewindow.heating.opened import opened_starts
from curewindow.heating.plan import prove
from curewindow.order.heaterruns import LIT_H, lit_index
from curewindow.record.entries import Heat
from curewindow.rules.reach import within_reach
from curewindow.rules.unattended import may_be_alight, someone_aboard, unattended_of
from curewindow.voice import full
from tests.cases import cases
from tests.probes.scene import NOW as SPRING
from tests.probes.scene import Probe, heating, job, space, step, written

WEEKEND = ("Sat", "Sun")
QUICK_CURE = {
    "temps": ["10 °C", "20 °C"],
    "touch_dry": ["1 h", "30 min"],
    "handling": ["2 h", "1 h"],
}


def _boat(
    said: str | None,
    bunk: bool,
    days: tuple[str, ...] = tuple(DAYS),
    hours: tuple[str, str] | None = ("08:00", "18:00"),
    **fire: Any,
) -> Boat:
    plain = boat(heater(**fire, unattended=said))
    cabin = plain.space[0].model_copy(update={"slept_in": bunk})
    aboard = [] if hours is None else [{"days": days, "from": hours[0], "until": hours[1]}]
    again = Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC"},
            "hours": aboard,
        }
    )
    return again.model_copy(update={"space": [cabin]})


def _allowed(
    at: datetime,
    said: str | None,
    bunk: bool,
    days: tuple[str, ...],
    hours: tuple[str, str] | None,
) -> bool:
    """By hand: hour for hour what the owner's words mean."""
    if said == "yes":
        return True
    clock, today = at.time(), DAYS[at.weekday()] in days
    if hours is None:
        there = awake_hours = True
    else:
        first, last = (time.fromisoformat(each) for each in hours)
        awake_hours = there = today and first <= clock <= last
        yesterday = DAYS[(at.weekday() - 1) % 7] in days
        tomorrow = DAYS[(at.weekday() + 1) % 7] in days
        if bunk and today and clock >= last and tomorrow:
            there = True
        if bunk and today and clock <= first and yesterday:
            there = True
    if said == "asleep aboard":
        return there
    return awake_hours and time(6) <= clock <= time(22)


SAID = st.sampled_from([None, "never", "asleep aboard", "yes"])
ABOARD = st.sampled_from([None, ("08:00", "18:00"), ("07:00", "23:30"), ("10:00", "13:00")])


@cases(40)
@given(
    said=SAID,
    bunk=st.booleans(),
    days=st.sampled_from([tuple(DAYS), WEEKEND, ("Fri", "Sat", "Sun")]),
    hours=ABOARD,
)
def test_the_hours_it_may_be_alight_are_those_someone_is_with_it(
    said: str | None, bunk: bool, days: tuple[str, ...], hours: tuple[str, str] | None
) -> None:
    on = _boat(said, bunk, days, hours)
    first = datetime(2026, 1, 5, tzinfo=UTC)
    times = np.datetime64("2026-01-05T00:00:00", "s") + np.arange(0, 7 * 86400, 1020)
    may = may_be_alight(on, on.space[0], times)
    expected = [
        _allowed(first + timedelta(seconds=1020 * n), said, bunk, days, hours)
        for n in range(len(times))
    ]
    assert (np.ones(len(times), bool) if may is None else may).tolist() == expected


def _walk(plan: HeatPlan, said: str | None, bunk: bool, days: tuple[str, ...], hours: Any) -> None:
    assert plan.light_at is not None
    assert plan.hold_until is not None
    at = plan.light_at
    while at <= plan.hold_until:
        assert _allowed(at, said, bunk, days, hours), f"alight at {at}"
        at += timedelta(minutes=1)


@cases(4)
@given(
    said=SAID,
    kind=st.sampled_from(["electric", "diesel", "solid fuel"]),
    bunk=st.booleans(),
    hours=ABOARD,
    quick_cure=st.booleans(),
    temp_c=st.floats(-2.0, 7.0),
)
def test_heat_is_ordered_for_no_other_hours(
    said: str | None,
    kind: str,
    bunk: bool,
    hours: tuple[str, str] | None,
    quick_cure: bool,
    temp_c: float,
) -> None:
    if kind == "solid fuel" and said == "yes":
        said = None
    on = _boat(said, bunk, hours=hours, kind=kind)
    product = sheet(**({"cure": QUICK_CURE} if quick_cure else {}))
    space, task, room = made(on, weather(temp_c, temp_c - 4.0), product)
    planned = plan_heating(on, space, task, room)
    plan = look_closer(task, room, planned, other_ways=False)
    if plan.status == "possible":
        _walk(plan, said, bunk, tuple(DAYS), hours)
        if plan.one_more_coat is not None and plan.one_more_coat.hold_until is not None:
            until = plan.one_more_coat.hold_until
            assert _allowed(until, said, bunk, tuple(DAYS), hours)
    else:
        assert plan.status == "cannot"
        assert plan.light_at is None


def test_told_yes_it_heats_through_the_night_and_says_so() -> None:
    """Else the law above could hold by ordering nothing."""
    on = _boat("yes", bunk=False)
    space, task, room = made(on, weather(2.0, -2.0), sheet())
    plan = plan_heating(on, space, task, room).plan
    assert plan.status == "possible"
    assert "heat unattended" in {each.kind for each in plan.cautions}


def test_never_left_it_heats_by_day_and_says_to_put_it_out() -> None:
    on = _boat(None, bunk=False)
    space, task, room = made(on, weather(2.0, -2.0), sheet(cure=QUICK_CURE))
    plan = plan_heating(on, space, task, room).plan
    assert plan.status == "possible"
    assert "never left alone" in {each.kind for each in plan.cautions}


@cases(6)
@given(
    said=st.sampled_from([None, "asleep aboard", "yes"]),
    bunk=st.booleans(),
    hours=ABOARD,
    temp_c=st.floats(-2.0, 7.0),
    solvent=st.booleans(),
)
@example(said=None, bunk=False, hours=("08:00", "18:00"), temp_c=3.0, solvent=False)
def test_near_starts_are_heated_for_in_no_other_hours_and_hold_once_it_is_off(
    said: str | None, bunk: bool, hours: tuple[str, str] | None, temp_c: float, solvent: bool
) -> None:
    """Each run alone, the heater off at its end, as whoever lights it has it."""
    on = _boat(said, bunk, hours=hours)
    product = sheet(cure=QUICK_CURE, **(SOLVENT if solvent else {}))
    _, task, room = made(on, weather(temp_c, temp_c - 4.0), product)
    levels = np.array([15.0, 20.0])
    found = opened_starts(task, room, 0, levels, room.points - 1)
    begin = datetime(2025, 1, 15, 6, tzinfo=UTC)
    step = timedelta(hours=room.step_h)
    if found is None:
        assert said is not None or solvent or hours == ("10:00", "13:00")
        return
    for row in range(0, len(found.ways), 3):
        light, end = int(found.ways.light[row]), int(found.end[row])
        at = begin + light * step
        while at <= begin + end * step:
            assert _allowed(at, said, bunk, tuple(DAYS), hours), f"alight at {at}"
            at += timedelta(minutes=10)
        choice = Choice(
            float(found.ways.setpoint_c[row]),
            light,
            int(found.ways.start[row]),
            end,
            int(found.dry[row]),
            VENTS[int(found.ways.vents[row])],
            room.power_w,
            float(found.energy_kwh[row]),
        )
        assert prove(task, room, choice).holds.all()


def test_where_only_being_alone_would_do_that_is_the_reason() -> None:
    """And it is the true one: left alone, the same heater opens a start."""
    slow = sheet()
    answers = {}
    for said in (None, "yes"):
        on = _boat(said, bunk=False, hours=("10:00", "13:00"))
        space, task, room = made(on, weather(2.0, -2.0), slow)
        planned = plan_heating(on, space, task, room)
        answers[said] = look_closer(task, room, planned, other_ways=False)
    assert answers["yes"].status == "possible"
    assert answers[None].verdict.kind == "no attended heat opens"
    assert "never left alone, by boat.toml" in full(answers[None].verdict, WORDS)


@pytest.mark.parametrize(
    ("main", "outlet", "together"),
    [
        (None, None, "never"),
        ("yes", None, "yes"),
        ("yes", "never", "never"),
        ("asleep aboard", "yes", "asleep aboard"),
        ("never", "yes", "never"),
    ],
)
def test_an_outlet_is_left_alone_as_its_heater_is(
    main: str | None, outlet: str | None, together: str
) -> None:
    on = _boat(main, bunk=False)
    ducted = on.space[0].model_copy(
        update={
            "name": "berth",
            "heating": on.space[0].heating.model_copy(
                update={"outlet_of": "cabin", "unattended": outlet}
            ),
        }
    )
    both = on.model_copy(update={"space": [*on.space, ducted]})
    assert unattended_of(both, ducted.heating) == together


@pytest.mark.parametrize(
    ("kind", "vented", "said", "why"),
    [
        ("paraffin", False, "yes", "without a flue is never left alone"),
        ("gas", False, "asleep aboard", "without a flue is never left alone"),
        ("solid fuel", True, "yes", "it is tended"),
    ],
)
def test_what_may_never_be_is_refused_as_it_is_read(
    kind: str, vented: bool, said: str, why: str
) -> None:
    with pytest.raises(BoatError, match=why) as refused:
        check_boat(boat(heater(kind=kind, vented=vented, unattended=said)), None)
    assert refused.value.key == "space[1].heating.unattended"


def test_no_plan_lights_what_is_never_left_alone() -> None:
    times = np.datetime64("2026-01-05T00:00:00", "s") + np.arange(0, 7 * 86400, 1800)
    for said in (None, "never", "asleep aboard"):
        on = _boat(said, bunk=False)
        found = not_planned(on, on.space[0], times)
        assert found is not None
        assert found.kind == "not left alone, not planned"
    on = _boat("yes", bunk=False)
    assert not_planned(on, on.space[0], times) is None
    # every night aboard: nobody leaves it
    on = _boat("asleep aboard", bunk=True)
    assert not_planned(on, on.space[0], times) is None


@pytest.mark.parametrize(
    ("said", "bunk", "routine", "against"),
    [
        (None, False, [{"from": "09:00", "setpoint": "16 °C"}, {"from": "17:30"}], None),
        (None, False, [{"from": "09:00", "setpoint": "16 °C"}, {"from": "21:00"}], "nobody aboard"),
        ("asleep aboard", True, [{"from": "00:00", "setpoint": "12 °C"}], None),
        (None, True, [{"from": "00:00", "setpoint": "12 °C"}], "night"),
        ("yes", False, [{"from": "00:00", "setpoint": "12 °C"}], None),
    ],
)
def test_a_routine_that_leaves_it_alone_is_told(
    said: str | None, bunk: bool, routine: list[dict[str, str]], against: str | None
) -> None:
    on = _boat(said, bunk, routine=routine)
    found = list(left_alone_cautions(on, on.space[0]))
    assert [each.kind for each in found] == ([] if against is None else ["left alone"])
    if against is not None:
        assert against in found[0].texts("against")
        assert found[0].text("state") == "routine"


@pytest.mark.parametrize(
    ("until", "alone"), [("17:00", False), ("20:00", True)], ids=["by day", "into the evening"]
)
def test_the_answer_to_a_logged_heater_says_it_too(until: str, alone: bool) -> None:
    on = _boat(None, bunk=False)
    at = datetime(2026, 1, 12, 14, tzinfo=UTC)
    end = datetime.combine(at.date(), time.fromisoformat(until), UTC)
    kinds = {each.kind for each in lit_cautions(on, Heat("cabin", at, end, 18.0))}
    assert ("left alone" in kinds) is alone


def test_a_call_to_heat_is_refused_where_nobody_may_be_with_it() -> None:
    on = _boat(None, bunk=False)
    by_day, by_night = (datetime(2026, 1, 12, hour, tzinfo=UTC) for hour in (15, 23))
    later = datetime(2026, 1, 13, 6, tzinfo=UTC)
    assert [e.kind for e in order_alone(on, on.space[0], by_day, later)] == ["never left alone"]
    (refused,) = order_alone(on, on.space[0], by_night, later)
    assert refused.flag("refuses")
    on = _boat("yes", bunk=False)
    assert not list(order_alone(on, on.space[0], by_night, later))


@cases(60)
@given(
    days=st.sets(st.integers(0, 6), min_size=1),
    first=st.integers(5, 12),
    last=st.integers(13, 23),
    day=st.integers(1, 13),
)
def test_a_plan_lights_a_heater_while_someone_is_there(
    days: set[int], first: int, last: int, day: int
) -> None:
    hours = np.arange(0.0, 24.0 * 14.0, 0.5)
    here = np.array(
        [int(h // 24) % 7 in days and first <= h % 24.0 <= last for h in hours], dtype=bool
    )
    lit = lit_index(hours, here, day)
    before, same = (day - 1) % 7 in days, day % 7 in days
    if not before and not same:
        assert lit is None
        return
    assert lit is not None
    assert here[lit]
    if before and first <= 24.0 - LIT_H:
        assert hours[lit] == 24.0 * (day - 1) + min(last, 24.0 - LIT_H)
    elif same:
        assert hours[lit] == 24.0 * day + first


@given(setpoint=st.floats(5.0, 30.0), reached=st.floats(-10.0, 40.0))
def test_no_setpoint_is_told_that_is_not_reached(setpoint: float, reached: float) -> None:
    told = within_reach(setpoint, reached)
    assert told <= setpoint
    assert told <= max(reached + 0.5, told if reached >= setpoint - 0.5 else -np.inf)
    if reached >= setpoint - 0.5:
        assert told == setpoint


def test_who_has_no_bunk_aboard_does_not_stay_the_night() -> None:
    on = _boat("asleep aboard", bunk=False)
    night = np.array([np.datetime64("2026-01-12T02:00:00", "s")])
    assert not someone_aboard(on, night).any()
    assert someone_aboard(_boat("asleep aboard", bunk=True), night).all()


@pytest.mark.parametrize(("hours", "alone"), [(6.0, False), (14.0, True)])
def test_a_change_thought_of_says_it_too(hours: float, alone: bool, tmp_path: Path) -> None:
    cabin = space("cabin", heating=heating("diesel", vented=True, flame=False))
    probe = Probe("", cabin, job(step("fit")), temp_c=5.0, dew_point_c=0.0)
    change = Intervention(SPRING, SPRING + timedelta(hours=hours), setpoint_c=12.0)
    thought = what_if(written(probe, tmp_path), SPRING, "cabin", change)
    assert ("left alone" in {each.kind for each in thought.cautions}) is alone
