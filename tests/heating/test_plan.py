"""A plan holds when it is run again step by step and judged by someone else."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest
from cold_boat import (
    NOW,
    SOLVENT,
    boat,
    checker,
    heater,
    job,
    made,
    printed,
    sheet,
    weather,
)

from curewindow.curing import RecoatRule
from curewindow.heating import Below, HeatedCoat, HeatPlan, Room
from curewindow.heating.coat import bedtimes
from curewindow.heating.compose import look_closer, plan_heating
from curewindow.heating.plan import find
from curewindow.heating.room import member_to_plan_for
from curewindow.heating.search import LOOK_H, search
from curewindow.physics.balance import simulate
from curewindow.rules.limits import AIR, BY_NAME, DEW, HUMIDITY, SURFACE
from curewindow.voice.cautions import topic
from curewindow.windows.grid import at_index


def planned(*args: Any, setpoint_c: float | None = None, **changes: Any) -> tuple[Any, ...]:
    on, forecast = args[0], args[1]
    space, task, room = made(*args, **changes)
    del forecast
    found = plan_heating(on, space, task, room, setpoint_c=setpoint_c)
    return look_closer(task, room, found, other_ways=False), task, room


def warmed(steps_lit: int, step_h: float) -> float:
    """Mean share of its full heat a diesel heater gives in a step: even rise over nine minutes."""
    minutes = steps_lit * step_h * 60.0 + np.linspace(0.0, step_h * 60.0, 4001)
    return float(np.minimum(minutes / 9.0, 1.0).mean())


def again(
    plan: HeatPlan, task: HeatedCoat, room: Room, out_at: int | None = None
) -> dict[str, Any]:
    """The plan carried out one grid step at a time, each from the state the last one left.

    Only what the printed plan says goes in: setpoint, times, vents, airing.
    """
    assert plan.setpoint_c is not None
    assert plan.air_changes_h is not None

    def index(moment: Any) -> int:
        return round((moment - NOW) / timedelta(hours=room.step_h))

    light, off = index(plan.light_at), index(plan.hold_until)
    off = off if out_at is None else min(off, out_at)
    air, rh, dew, surface, heat = [], [], [], [], 0.0
    state, outside = room.start, room.outside
    panel = room.panel_index(task.job.panel) if task.job.panel else None
    for k in range(min(index(plan.hold_until) + round(30.0 / room.step_h), room.points - 1)):
        change = plan.air_changes_h
        if plan.airing and index(plan.airing.begins) <= k < index(plan.airing.ends):
            change += task.airing_m3_h / room.model.volume_m3
        step = simulate(
            room.model,
            room.step_h,
            replace(
                outside,
                temp_c=outside.temp_c[:, k : k + 2],
                vapour_pa=outside.vapour_pa[:, k : k + 2],
                wind_ms=outside.wind_ms[:, k : k + 2],
                sun_w_m2=outside.sun_w_m2[:, k : k + 2],
                sky_loss_w_m2=outside.sky_loss_w_m2[:, k : k + 2],
            ),
            state,
            setpoint_c=plan.setpoint_c if light <= k < off else np.nan,
            power_limit_w=room.power_w * warmed(max(k - light, 0), room.step_h),
            moisture_kg_h=room.moisture_kg_h,
            air_changes_h=change,
        )
        state = step.state_at(1)
        heat += float(step.heat_w[0, 0]) * room.step_h / 1000.0
        air.append(float(step.air_c[0, 1]))
        rh.append(float(step.rh_pct[0, 1]))
        dew.append(float(step.dew_point_c[0, 1]))
        surface.append(
            min(air[-1], float(step.mass_c[0, 1]))
            if panel is None
            else float(step.surface_c[panel, 0, 1])
        )
    values = {"air": air, "rh": rh, "dew": dew, "surface": surface}
    return {"heat": heat, **{name: [row[0], *row] for name, row in values.items()}}


def opinion(plan: HeatPlan, task: HeatedCoat, room: Room, run: dict[str, Any]) -> str | None:
    """What the second opinion has against the plan's start; None: nothing."""
    step_min = round(60 * room.step_h)
    place = checker().Place(
        step_min=step_min,
        first_minute=NOW.hour * 60,
        values={name: run[name] for name in ("air", "rh", "dew", "surface")},
        outdoors=False,
        hours=[(8 * 60, 18 * 60)],
    )
    assert plan.start is not None
    start = round((plan.start - NOW) / timedelta(minutes=1))
    found: str | None = checker().why_not(
        printed(task.sheet), place, start, round(60 * task.hands_on_h)
    )
    return found


@pytest.mark.slow
@pytest.mark.parametrize("aired", [False, True], ids=["no vapour", "solvent aired out"])
@pytest.mark.parametrize("panel", ["panelled side", None], ids=["panel", "joinery"])
def test_a_plan_carried_out_step_by_step_keeps_every_limit(aired: bool, panel: str | None) -> None:
    of = sheet(**(SOLVENT if aired else {}))
    plan, task, room = planned(
        boat(heater()), weather(days=4.0, step_min=10), of, job=job(panel=panel, area="1 m²")
    )
    assert plan.status == "possible", plan.verdict
    run = again(plan, task, room)
    assert opinion(plan, task, room, run) is None
    assert run["heat"] == pytest.approx(plan.use.energy_kwh, rel=1e-3, abs=0.01)
    assert (plan.airing is not None) == aired
    assert plan.tightest.by >= BY_NAME[plan.tightest.limit].spare - 1e-6
    assert plan.light_at <= plan.latest_light_at <= plan.start < plan.applied < plan.hold_until


def test_as_things_stand_nothing_opens_there() -> None:
    """Or the test above would prove nothing."""
    _, task, room = planned(boat(heater()), weather(days=4.0, step_min=10))
    assert search(task, room, power_w=1.0) is None


def test_lit_later_than_the_latest_time_it_does_not_work() -> None:
    plan, task, room = planned(boat(heater()), weather(days=4.0, step_min=10), job=job(panel=None))
    late = plan.latest_light_at + timedelta(hours=room.step_h)
    if late > plan.start:
        pytest.skip("lit at the first stroke is early enough here")
    run = again(plan.model_copy(update={"light_at": late}), task, room)
    start = round((plan.start - NOW) / timedelta(hours=room.step_h))
    short = min(
        (run["air"][start] - 10.0) / AIR.spare,
        (run["surface"][start] - 8.0) / SURFACE.spare,
        (80.0 - run["rh"][start]) / HUMIDITY.spare,
        (run["surface"][start] - run["dew"][start] - 3.0) / DEW.spare,
    )
    assert short < 1.0 or opinion(plan, task, room, run) is not None


def test_the_surface_is_there_first_not_only_the_air() -> None:
    """Heavy joinery lags: it asks for hours of heat before the first stroke."""
    heavy = boat(heater(power="2 kW"), interior_mass="3000 kJ/K")
    plan, task, room = planned(heavy, weather(), job=job(panel=None))
    assert plan.status == "possible"
    assert plan.start - plan.latest_light_at >= timedelta(hours=3)
    run = again(plan, task, room)
    start = round((plan.start - NOW) / timedelta(hours=room.step_h))
    assert run["surface"][start] >= 8.0 + SURFACE.spare - 1e-6


def test_if_it_goes_out_at_night() -> None:
    slow = VARNISH_SLOW
    plan, task, room = planned(boat(heater()), weather(), sheet(**slow))
    assert plan.outage is not None
    assert plan.outage.at.hour == 2
    assert plan.light_at < plan.outage.at < plan.hold_until
    out = round((plan.outage.at - NOW) / timedelta(hours=room.step_h))
    run = again(plan, task, room, out_at=out)
    against = opinion(plan, task, room, run)
    assert (against is None) == (plan.outage.breaks is None)
    if plan.outage.breaks is not None:
        assert plan.outage.breaks.by < 0.0
        assert plan.outage.breaks.at > plan.outage.at
        minute = round((plan.outage.breaks.at - NOW) / timedelta(minutes=1))
        assert int(against.split("minute ")[1]) == pytest.approx(minute, abs=60 * room.step_h)


VARNISH_SLOW: dict[str, Any] = {
    "cure": {
        "temps": ["10 °C", "20 °C"],
        "touch_dry": ["10 h", "6 h"],
        "handling": ["30 h", "20 h"],
    }
}


def test_one_more_coat_is_later_and_takes_more() -> None:
    of = sheet()
    rule = RecoatRule(of.recoat[0], 1)
    plan, _, _ = planned(boat(heater()), weather(), of, next_rule=rule)
    more = plan.one_more_coat
    assert more is not None
    # 5 h at 20 °C is the shortest on the sheet, and the tenth of a data sheet's band on top
    assert more.start - plan.applied >= timedelta(hours=5)
    assert more.hold_until > more.start
    assert more.more.energy_kwh > 0.0
    assert more.more_h == pytest.approx((more.hold_until - plan.hold_until) / timedelta(hours=1))


def test_one_more_coat_wants_sanding_where_the_interval_is_over_by_then() -> None:
    """The next goes on the day after: six hours are over by then at any heat, two days are not."""
    after = {}
    for until in (["60 h", "48 h"], ["9 h", "6 h"]):
        of = sheet(**SOLVENT, recoat=[{"from": ["8 h", "5 h"], "until": until, "after": "sand"}])
        rule = RecoatRule(of.recoat[0], 1)
        plan, task, _ = planned(boat(heater()), weather(days=4.0), of, next_rule=rule)
        more = plan.one_more_coat
        assert more is not None
        assert more.start is not None
        assert more.start - plan.start > timedelta(hours=12)
        ends = more.start + timedelta(hours=task.hands_on_h)
        assert more.start.hour >= 8
        assert ends <= more.start.replace(hour=18, minute=0)
        after[until[0]] = more.said.text("after")
    assert after == {"60 h": "", "9 h": "sand"}


def test_heat_makes_the_coat_below_ready_sooner() -> None:
    """Recoat from 8 h at 10 °C; at 5 °C, below its lowest limit, its clock stands still."""
    of = sheet()
    rule = RecoatRule(of.recoat[0], 1)
    begun = NOW - timedelta(hours=3)
    below = Below(of, rule, begun, begun + timedelta(hours=1), binding=False)
    plan, _, _ = planned(boat(heater()), weather(), below=below)
    assert plan.status == "possible"
    assert plan.start - plan.light_at >= timedelta(hours=5)  # at 20 °C and above, at the quickest


def test_a_setpoint_asked_for_is_kept_to() -> None:
    plan, _, _ = planned(boat(heater()), weather(), setpoint_c=19.0)
    assert plan.setpoint_c == 19.0
    free, _, _ = planned(boat(heater()), weather())
    assert free.use.energy_kwh <= plan.use.energy_kwh + 1e-6


def test_a_plan_begins_within_the_days_looked_at_and_hours_aboard() -> None:
    plan, _, _ = planned(boat(heater()), weather())
    assert NOW <= plan.start <= NOW + timedelta(hours=LOOK_H)
    assert plan.start.hour >= 8
    assert plan.applied.hour < 18 or (plan.applied.hour == 18 and plan.applied.minute == 0)


def test_bedtime_of_a_moment_is_the_last_point_before_it_that_day() -> None:
    """22:00, the quiet hours of the house; a grid that does not fall on it stays before it."""
    _, task, _ = made(boat(heater()), weather(days=1.0, step_min=24))
    series = task.base
    for index, last in enumerate(bedtimes(task, series)[: len(series.times) - 60].tolist()):
        bed = at_index(series, index).replace(hour=22, minute=0)
        assert at_index(series, last) <= bed < at_index(series, last + 1)


def test_nobody_sleeps_over_it() -> None:
    plan, _, _ = planned(boat(heater()), weather(), by_bedtime=True)
    assert plan.hold_until.date() == plan.start.date()
    assert plan.hold_until.hour < 22 or (plan.hold_until.hour == 22 and not plan.hold_until.minute)


def test_a_flame_without_a_flue_makes_it_damper() -> None:
    """Its water is reckoned in: the same start has more humidity than with a flue."""
    gas = heater(kind="gas", power="2 kW")
    with_flue = planned(boat(gas), weather(dew_point_c=1.0), setpoint_c=18.0)[0]
    without = planned(boat(gas | {"vented": False}), weather(dew_point_c=1.0), setpoint_c=18.0)[0]
    assert with_flue.status == "possible"
    if without.status == "possible":
        assert without.ventilation == "open" or without.tightest.by <= with_flue.tightest.by
    assert any("carbon monoxide" in topic(c) for c in without.cautions)


@pytest.mark.slow
def test_a_heater_slow_to_warm_up_is_lit_sooner() -> None:
    """An hour to full heat against none: the latest lighting cannot be later for it."""
    latest = []
    for takes in ("0 min", "60 min"):
        plan, _, _ = planned(
            boat(heater(warm_up=takes)), weather(days=4.0, step_min=10), setpoint_c=18.0
        )
        assert plan.status == "possible"
        latest.append(plan.start - plan.latest_light_at)
    assert latest[1] > latest[0]


def test_a_heater_that_cannot_go_low_still_keeps_every_limit() -> None:
    """It cycles a kelvin and a half about the setpoint; the plan reckons with its swing."""
    on = boat(heater(power="2 kW", min_power="1.5 kW"))
    plan, _, _ = planned(on, weather(days=4.0))
    assert plan.status == "possible"
    assert plan.tightest.by >= BY_NAME[plan.tightest.limit].spare - 1e-6
    assert plan.peak_w >= 1500.0


def test_the_water_of_the_film_itself_is_in_the_plan() -> None:
    """A litre of water in two coats' worth of film: it takes more heat or more air, or fails."""
    dry, _, _ = planned(boat(heater()), weather(), setpoint_c=16.0)
    wet, _, _ = planned(boat(heater()), weather(), setpoint_c=16.0, water_kg_h=0.15)
    assert dry.status == "possible"
    if wet.status == "possible":
        assert any(note.kind == "own water counted" for note in wet.notes)
        assert wet.ventilation != "closed" or wet.tightest.by <= dry.tightest.by + 1e-6
        assert (wet.use.energy_kwh, wet.tightest.by) != (dry.use.energy_kwh, dry.tightest.by)


def test_in_several_forecasts_the_heat_goes_off_when_the_slowest_have_set() -> None:
    """Colder members set later: the heat stays on for nineteen of twenty, and none breaks."""

    def members(hours: np.ndarray) -> np.ndarray:
        return 3.0 + np.linspace(-3.0, 3.0, 16)[:, np.newaxis] + 0.0 * hours

    several = weather(members, -3.0, days=4.0, step_min=10)
    space, task, room = made(boat(heater(power="2 kW")), several)
    plan = plan_heating(boat(heater(power="2 kW")), space, task, room).plan
    assert plan.status == "possible"
    found = find(task, room)
    assert found is not None
    start = found.choice.start + found.offset
    ends = found.verdict.setting_end[:, start] - found.offset
    assert np.mean(ends <= found.choice.end) >= 0.95
    assert plan.hold_until == found.moment(found.choice.end)
    assert plan.confidence == pytest.approx(found.holds.mean(), abs=1e-3)
    # the tightest limit is of a forecast the plan holds in: it is kept
    assert plan.tightest is not None
    assert plan.tightest.by >= 0.0


def test_what_the_routine_gives_anyway_is_a_share_of_the_run() -> None:
    """At 8 °C some of it, at no temperature none of it; and never more than all."""
    shares = []
    for routine in ([], [{"from": "06:00", "setpoint": "8 °C"}]):
        plan, _, _ = planned(boat(heater(routine=routine)), weather(days=4.0), setpoint_c=18.0)
        shares.append(plan.verdict.number("share"))
        assert shares[-1] == pytest.approx(plan.routine_kwh / plan.use.energy_kwh, abs=0.01)
    assert shares[0] == 0.0
    assert 0.1 < shares[1] < 0.9


@pytest.mark.parametrize(("members", "spared"), [(1, 0), (9, 0), (10, 1), (19, 1), (20, 2)])
def test_a_plan_is_for_the_coldest_member_but_those_it_may_fail_in(
    members: int, spared: int
) -> None:
    """Nine of ten have to hold: of ten the coldest may fail, of nine none."""
    warmer = 3.0 - np.arange(members)[:, None] + np.zeros(8)
    assert member_to_plan_for(warmer, 0.9) == members - 1 - spared


def test_a_stove_has_to_be_tended() -> None:
    stove = boat(heater(kind="solid fuel"))
    plan, _, _ = planned(stove, weather(dew_point_c=-2.0))  # done while someone is there
    assert plan.status == "possible"
    assert any(each.kind == "stove to tend" for each in plan.cautions)
    flued, _, _ = planned(boat(heater()), weather())
    assert not any(each.kind == "stove to tend" for each in [*flued.notes, *flued.cautions])


def test_a_heater_out_of_order_gives_nothing_while_it_is() -> None:
    """Out all week: no way; mended before the plan would light it: the very same plan."""

    def out(begin: timedelta, end: timedelta) -> HeatPlan:
        spans = [{"from": (NOW + begin).isoformat(), "until": (NOW + end).isoformat()}]
        return planned(boat(heater(out_of_order=spans)), weather())[0]

    sound, _, _ = planned(boat(heater()), weather())
    assert sound.status == "possible"
    assert out(-timedelta(days=1), timedelta(days=20)).status == "cannot"
    mended = out(-timedelta(days=2), -timedelta(days=1))
    assert (mended.light_at, mended.start) == (sound.light_at, sound.start)
