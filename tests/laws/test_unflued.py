"""A heater that burns without a flue: never vents shut, overnight, unattended or near sleepers.

Common practice of the trade and of safety data sheets, no single source. What is allowed is
walked minute by minute here, apart from the code's own rule.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from datetime import UTC, datetime, time, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

sys.path.insert(0, str(Path(__file__).parents[1] / "heating"))
from cold_boat import DAYS, WORDS, boat, heater, made, sheet, weather

from curewindow.boat.schema import Boat
from curewindow.cautions.logged import lit_cautions
from curewindow.daysheet.assemble import assemble
from curewindow.daysheet.ordering import given_of
from curewindow.daysheet.planning import make_plan
from curewindow.errors import CurewindowError
from curewindow.explain.change import Intervention
from curewindow.explain.whatif import what_if
from curewindow.heating import HeatPlan
from curewindow.heating.compose import look_closer, plan_heating
from curewindow.record.entries import Coat, Heat, Reading
from curewindow.record.store import Record
from curewindow.reminders.derive import reminders_of
from curewindow.situation import read_situation
from curewindow.voice import full, short
from curewindow.voice.cautions import topic, whole_caution
from tests.cases import cases

KINDS = ("electric", "diesel", "gas", "paraffin", "solid fuel")
NEAR = ("cabin", "passage", "berth")  # berth beyond the passage
QUICK_CURE = {
    "temps": ["10 °C", "20 °C"],
    "touch_dry": ["1 h", "30 min"],
    "handling": ["2 h", "1 h"],
}


def _boat(sleeps: str, hours: tuple[str, str] | None, **fire: Any) -> Boat:
    """The cold boat's cabin, a passage, a berth beyond it, and a lazarette apart."""
    cabin = (
        boat(heater(**fire))
        .space[0]
        .model_copy(update={"connected_to": ["passage"], "slept_in": sleeps == "cabin"})
    )
    others = [
        cabin.model_copy(
            update={
                "name": name,
                "connected_to": joined,
                "slept_in": sleeps == name,
                "heating": None,
            }
        )
        for name, joined in (("passage", []), ("berth", ["passage"]), ("lazarette", []))
    ]
    aboard = [] if hours is None else [{"days": DAYS, "from": hours[0], "until": hours[1]}]
    again = Boat.model_validate(
        {
            "name": "Test",
            "place": {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC"},
            "hours": aboard,
        }
    )
    return again.model_copy(update={"space": [cabin, *others]})


def _allowed(at: datetime, zone: ZoneInfo, hours: tuple[str, str] | None) -> bool:
    local = at.astimezone(zone).time()
    if local < time(6) or local > time(22):
        return False
    if hours is None:
        return True
    first, last = (time.fromisoformat(each) for each in hours)
    return first <= local <= last


def _check(plan: HeatPlan, kind: str, vented: bool, sleeps: str, hours: Any, zone: str) -> None:
    if kind == "electric":
        return
    said = " ".join(whole_caution(each, WORDS) for each in plan.cautions)
    assert "carbon monoxide alarm (EN 50291-2)" in said
    if vented:
        return
    if plan.status == "refused":
        assert "carbon monoxide" in full(plan.verdict, WORDS)
        assert plan.light_at is None
        assert plan.setpoint_c is None
        return
    assert plan.status == "possible"
    assert sleeps not in NEAR
    assert plan.ventilation != "closed"
    assert plan.light_at is not None
    assert plan.hold_until is not None
    at = plan.light_at
    while at <= plan.hold_until:
        assert _allowed(at, ZoneInfo(zone), hours), f"alight at {at}"
        at += timedelta(minutes=1)


@cases(4)
@given(
    kind=st.sampled_from(KINDS),
    vented=st.sampled_from([False, False, True]),
    sleeps=st.sampled_from(["", "", "lazarette", *NEAR]),
    hours=st.sampled_from([None, ("08:00", "18:00"), ("07:00", "23:30"), ("05:00", "12:00")]),
    quick_cure=st.booleans(),
    temp_c=st.floats(-2.0, 7.0),
    other_ways=st.booleans(),
)
def test_heat_never_orders_one_where_or_when_it_must_not_burn(
    kind: str,
    vented: bool,
    sleeps: str,
    hours: tuple[str, str] | None,
    quick_cure: bool,
    temp_c: float,
    other_ways: bool,
) -> None:
    on = _boat(sleeps, hours, kind=kind, vented=vented)
    product = sheet(**({"cure": QUICK_CURE} if quick_cure else {}))
    space, task, room = made(on, weather(temp_c, temp_c - 4.0), product)
    planned = plan_heating(on, space, task, room)
    closer = look_closer(task, room, planned, other_ways=other_ways)
    for plan in (planned.plan, closer):
        _check(plan, kind, vented, sleeps, hours, "UTC")
        if kind != "electric" and not vented:
            for other in plan.alternatives:
                assert "vents shut" not in full(other.said, WORDS)


def test_by_day_with_the_vents_open_it_is_ordered_with_its_caution() -> None:
    """Else the law above could hold by refusing everything."""
    hours = ("08:00", "18:00")
    on = _boat("", hours, kind="paraffin", vented=False)
    space, task, room = made(on, weather(3.0), sheet(cure=QUICK_CURE))
    planned = plan_heating(on, space, task, room)
    plan = look_closer(task, room, planned, other_ways=False)
    assert plan.status == "possible"
    _check(plan, "paraffin", False, "", hours, "UTC")
    assert plan.one_more_coat is None or plan.one_more_coat.hold_until is None or _within(plan)


def _within(plan: HeatPlan) -> bool:
    assert plan.one_more_coat is not None
    assert plan.one_more_coat.hold_until is not None
    return _allowed(plan.one_more_coat.hold_until, ZoneInfo("UTC"), ("08:00", "18:00"))


NOW = datetime(2026, 1, 12, 7, 0, tzinfo=UTC)  # Monday 08:00 in Amsterdam
ZONE = "Europe/Amsterdam"
BOAT = """
name = "test boat"
[place]
latitude = 52.4
longitude = 4.9
time_zone = "Europe/Amsterdam"
water_temp = "5 °C"
[weather]
feed = "file"
file = "weather.csv"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = 08:00:00
until = 18:00:00
[[space]]
name = "cabin"
volume = "15 m³"
air_change = "0.6 /h"
slept_in = {cabin}
connected_to = ["berth"]
[[space.panel]]
name = "side"
area = "10 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
[space.heating]
kind = "{kind}"
power = "4 kW"
vented = {vented}
open_flame = false
unattended = "{alone}"
[[space]]
name = "berth"
volume = "8 m³"
slept_in = {berth}
[[space.panel]]
name = "side"
area = "6 m²"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
"""
SHEET = """
name = "Test varnish"
kind = "varnish"
chemistry = "epoxy amine"
basis = "made up for a test"
hazards = ["epoxy sensitiser"]
[applying]
air = { min = "10 °C" }
[setting]
air = { min = "8 °C" }
until = "handling"
[cure]
temps = ["10 °C", "20 °C"]
touch_dry = ["1 h", "0.5 h"]
handling = ["HANDLING"]
"""
WORK = """
[[job]]
name = "table"
space = "cabin"
area = "2 m²"
[[job.step]]
do = "coat"
sheet = "test-varnish"
coats = 1
hands_on = "1 h"
"""


@pytest.fixture
def folder(tmp_path: Path) -> Callable[..., Path]:
    def made_of(kind: str, vented: bool, sleeps: str, slow: bool, alone: str = "yes") -> Path:
        text = BOAT.format(
            kind=kind,
            vented=str(vented).lower(),
            alone=alone if vented else "never",
            cabin=str(sleeps == "cabin").lower(),
            berth=str(sleeps == "berth").lower(),
        )
        (tmp_path / "boat.toml").write_text(text, encoding="utf-8")
        (tmp_path / "work.toml").write_text(WORK, encoding="utf-8")
        (tmp_path / "sheets").mkdir(exist_ok=True)
        handling = '24 h", "20 h' if slow else '2 h", "1 h'
        (tmp_path / "sheets" / "test-varnish.toml").write_text(
            SHEET.replace("HANDLING", handling), encoding="utf-8"
        )
        first = datetime(2026, 1, 8, tzinfo=UTC)
        rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
        rows += [f"{first + timedelta(hours=h):%Y-%m-%dT%H:%M}Z,3,-2,2,0,100,0" for h in range(240)]
        (tmp_path / "weather.csv").write_text("\n".join(rows) + "\n", encoding="utf-8")
        return tmp_path

    return made_of


@pytest.mark.slow
@pytest.mark.parametrize("sleeps", ["", "cabin", "berth"])
@pytest.mark.parametrize("slow", [False, True], ids=["quick film", "slow film"])
@pytest.mark.parametrize(
    ("kind", "vented"), [("paraffin", False), ("gas", False), ("diesel", True)]
)
def test_day_sheet_plan_and_notices_never_order_one(
    folder: Callable[..., Path], kind: str, vented: bool, sleeps: str, slow: bool
) -> None:
    facts = read_situation(folder(kind, vented, sleeps, slow), NOW)
    day = assemble(facts)
    (table,) = day.jobs
    assert table.heat is not None
    hours = ("08:00", "18:00")
    _check(table.heat, kind, vented, sleeps if sleeps != "berth" else "passage", hours, ZONE)
    lit = [each for each in reminders_of(facts, day) if each.kind == "light heater"]
    if table.heat.status != "possible":
        assert not lit
    for notice in lit:
        assert "carbon monoxide" in notice.body.casefold()
        assert "EN 50291-2" in notice.body
    until = NOW + timedelta(days=3)
    given_ = given_of(facts, until, until)
    if vented:
        assert given_.warmed
    else:
        assert not given_.warmed
        assert not given_.steady
        assert any("carbon monoxide" in note for note in given_.notes)


def test_a_plan_of_when_it_had_a_flue_is_not_told_as_possible(folder: Callable[..., Path]) -> None:
    plan = make_plan(folder("diesel", True, "", False), NOW, days=4, seconds=1.0).plan
    assert any(step.setpoint_c is not None for step in plan.steps)
    day = assemble(read_situation(folder("diesel", False, "", False), NOW))
    assert day.plan is not None
    told = [*day.plan.overdue, *day.plan.today, *day.plan.coming]
    heated = [step for step in told if step.setpoint_c is not None]
    assert heated
    assert all(step.allowed is False for step in heated)
    assert all(topic(step.note) == "carbon monoxide" for step in heated)


def test_day_sheet_plan_and_notices_leave_none_alone_that_is_never_left(
    folder: Callable[..., Path],
) -> None:
    made_plan = make_plan(folder("diesel", True, "", True), NOW, days=4, seconds=1.0).plan
    assert any(step.setpoint_c is not None for step in made_plan.steps)
    facts = read_situation(folder("diesel", True, "", True, alone="never"), NOW)
    day = assemble(facts)
    assert day.plan is not None
    told = [*day.plan.overdue, *day.plan.today, *day.plan.coming]
    heated = [step for step in told if step.setpoint_c is not None]
    assert heated
    assert all(step.allowed is False for step in heated)
    assert all(topic(step.note) == "unattended heating" for step in heated)
    (table,) = day.jobs
    assert table.heat is not None
    if table.heat.status == "possible":
        at = table.heat.light_at
        while at <= table.heat.hold_until:
            assert _allowed(at, ZoneInfo(ZONE), ("08:00", "18:00"))
            at += timedelta(minutes=1)
    until = NOW + timedelta(days=3)
    given_ = given_of(facts, until, until)
    assert not given_.warmed
    assert not given_.steady
    assert any("left alone" in note for note in given_.notes)


@pytest.mark.parametrize("sleeps", ["", "berth"])
@pytest.mark.parametrize(("kind", "vented"), [("paraffin", False), ("diesel", True)])
def test_a_film_that_gets_too_cold_is_not_to_be_heated_with_one(
    folder: Callable[..., Path], kind: str, vented: bool, sleeps: str
) -> None:
    """Below 8 °C while it sets, through the night: heat is advised with a flue only."""
    at = folder(kind, vented, sleeps, True)
    with Record(at / "record.db", now=lambda: NOW) as record:
        begun = NOW - timedelta(hours=2)
        record.add_coat(Coat("table", 1, 1, begun, begun + timedelta(hours=1), "test-varnish"))
        record.add_reading(Reading("cabin", NOW - timedelta(minutes=10), air_c=5.0, rh_pct=60.0))
    situation = read_situation(at, NOW)
    told = [n for n in reminders_of(situation, assemble(situation)) if n.kind == "limits"]
    assert told
    for notice in told:
        assert "carbon monoxide" in notice.body.casefold()
        assert ("heat it" in notice.body.casefold()) is vented


@pytest.mark.parametrize(
    "change",
    [
        Intervention(NOW, NOW + timedelta(hours=3), setpoint_c=18.0, vent="closed"),
        Intervention(NOW, NOW + timedelta(hours=16), setpoint_c=18.0),
        Intervention(NOW, None, setpoint_c=18.0),
        Intervention(NOW, NOW + timedelta(hours=3), setpoint_c=18.0, air_changes_h=0.2),
    ],
    ids=["vents shut", "overnight", "without an end", "less air than its own"],
)
def test_what_if_does_not_think_of_it(folder: Callable[..., Path], change: Intervention) -> None:
    at = folder("paraffin", False, "", False)
    with pytest.raises(CurewindowError, match="carbon monoxide"):
        what_if(at, NOW, "cabin", change)


def test_what_if_by_day_carries_the_caution(folder: Callable[..., Path]) -> None:
    at = folder("paraffin", False, "", False)
    answer = what_if(at, NOW, "cabin", Intervention(NOW, NOW + timedelta(hours=3), setpoint_c=18.0))
    assert "carbon monoxide" in {topic(each) for each in answer.cautions}


@pytest.mark.parametrize(
    ("until_h", "ventilation", "sleeps"),
    [(3, "closed", ""), (14, "normal", ""), (3, "normal", "berth")],
)
def test_one_that_is_logged_as_lit_against_it_is_to_be_put_out(
    folder: Callable[..., Path], until_h: int, ventilation: Any, sleeps: str
) -> None:
    facts = read_situation(folder("paraffin", False, sleeps, False), NOW)
    heat = Heat("cabin", NOW, NOW + timedelta(hours=until_h), 18.0, ventilation)
    first = lit_cautions(facts.boat, heat)[0]
    assert topic(first) == "carbon monoxide"
    assert "put it out" in short(first, WORDS)
    by_day = Heat("cabin", NOW, NOW + timedelta(hours=3), 18.0, "normal")
    if not sleeps:
        told = short(lit_cautions(facts.boat, by_day)[0], WORDS)
        assert "put it out" not in told
        assert "EN 50291-2" in told
