"""Heat over a film that is on: whoever lights as told goes on at the time told, no film suffers.

What is told is judged again by the day sheet alone, with the heat in the log and nothing else.
"""

from __future__ import annotations

import shutil
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from curewindow.calendar import happenings
from curewindow.cli.daytext import day_lines
from curewindow.daysheet import day_sheet
from curewindow.daysheet.assemble import assemble
from curewindow.daysheet.planning import make_plan
from curewindow.heating import HeatPlan
from curewindow.judgement.heat import heat_plans
from curewindow.judgement.models import JobDay
from curewindow.order.delay import DAY_KWH
from curewindow.order.heldwarm import heater_times
from curewindow.record.entries import Coat, Heat
from curewindow.record.store import Record
from curewindow.reminders.derive import reminders_of
from curewindow.rules.unattended import left_alone
from curewindow.situation import read_situation
from curewindow.voice import full
from curewindow.voice.heat import run_text
from curewindow.voice.plan import plan_lines
from tests.probes.scene import NOW, Probe, heating, job, space, step, written

SLOW = """
name = "Slow cold primer"
kind = "primer"
chemistry = "epoxy amine"
binder = "epoxy"
basis = "made up"
hazards = ["epoxy sensitiser"]

[applying]
air = { min = "2 °C", max = "25 °C" }
surface = { min = "1 °C" }
humidity = { max = "95 %" }
above_dew_point = "0.5 K"

[setting]
until = "touch dry"
air = { min = "1 °C", max = "MAX" }
surface = { min = "0 °C" }
humidity = { max = "95 %" }
above_dew_point = "0.5 K"

[cure]
temps     = ["0 °C", "5 °C", "10 °C", "20 °C"]
touch_dry = ["16 h", "12 h", "8 h", "4 h"]
tack_free = ["24 h", "18 h", "12 h", "6 h"]
sandable  = ["9 d", "6 d", "60 h", "20 h"]
handling  = ["9 d", "6 d", "60 h", "20 h"]
closed_up = ["9 d", "6 d", "60 h", "20 h"]
full_cure = ["30 d", "20 d", "10 d", "5 d"]

[[recoat]]
next = "self"
from  = ["8 d", "5 d", "50 h", "16 h"]
until = ["40 d", "30 d", "20 d", "10 d"]
after = "sand"
"""


@dataclass(frozen=True)
class Case:
    """What waits for the film, with what heater."""

    name: str
    work: str
    waiting: str
    heater: str = heating("diesel", vented=True, flame=False, more='unattended = "yes"')
    most: str = "25 °C"
    gains: bool = True
    hours_ago: float = 20.0


TWICE = job(step("coat", "slow", more="coats = 2"), name="frames")
SANDED = job(step("coat", "slow"), step("sand"), name="frames")
BETWEEN = job(step("coat", "slow", more='coats = 2\nbetween = "sand"'), name="frames")
FITTED = job(step("coat", "slow"), step("fit"), name="frames")
COVERED = job(step("coat", "slow"), name="frames") + job(
    step("fit"), name="lining", more='after_cured = ["frames"]'
)
NEVER = heating("diesel", vented=True, flame=False, more='unattended = "never"')
WEAK = heating("diesel", vented=True, flame=False, power="100 W", more='unattended = "yes"')
CASES = [
    Case("recoat", TWICE, "frames"),
    Case("sanded", SANDED, "frames"),
    Case("sanded between", BETWEEN, "frames"),
    Case("fitted to", FITTED, "frames"),
    Case("covered", COVERED, "lining"),
    Case("never left alone", SANDED, "frames", heater=NEVER),
    Case("bears little warmth", SANDED, "frames", most="14 °C"),
    Case("too weak", SANDED, "frames", heater=WEAK, gains=False),
]
cases = pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)


def boat(case: Case, folder: Path) -> Path:
    def coated(record: Record) -> None:
        at = NOW - timedelta(hours=case.hours_ago)
        record.add(Coat("frames", 1, 1, at, at + timedelta(hours=1), "slow"))

    probe = Probe(
        case.name,
        space("cabin", heating=case.heater),
        case.work,
        temp_c=3.6,
        dew_point_c=0.0,
        log=coated,
        sheets={"slow": SLOW.replace("MAX", case.most)},
        head={"water": "4 °C"},
    )
    return longer(written(probe, folder))


def longer(folder: Path) -> Path:
    """The same weather for ten days ahead."""
    file = folder / "weather.csv"
    head, *rows = file.read_text("utf-8").splitlines()
    first = datetime.fromisoformat(rows[0].split(",")[0])
    steady = rows[0].split(",", 1)[1]
    times = (first + timedelta(hours=hours) for hours in range(14 * 24))
    lines = [head, *(f"{at:%Y-%m-%dT%H:%M}Z,{steady}" for at in times)]
    file.write_text("\n".join(lines) + "\n", "utf-8")
    return folder


def _day(folder: Path, now: datetime, name: str) -> JobDay:
    return next(day for day in day_sheet(folder, now).jobs if day.job == name)


def _opens(day: JobDay) -> datetime:
    windows = [*day.windows_today, *filter(None, [day.next_window])]
    return windows[0].opens if windows else NOW + timedelta(days=365)


def hardens(case: Case, folder: Path) -> HeatPlan:
    plan = _day(folder, NOW, case.waiting).heat
    assert plan is not None
    assert plan.purpose == "harden"
    assert plan.status == "possible"
    return plan


def lit(folder: Path, plan: HeatPlan, at: datetime | None, keep: Path) -> Path:
    """The boat with the heater lit as told, or at another time."""
    shutil.copytree(folder, keep)
    assert plan.light_at is not None
    assert plan.hold_until is not None
    light = at or plan.light_at
    with Record(keep / "record.db", now=lambda: light) as record:
        record.add(Heat(plan.space, light, plan.hold_until, plan.setpoint_c))
    return keep


@cases
def test_lit_as_told_the_next_step_goes_on_at_the_time_told(case: Case, tmp_path: Path) -> None:
    folder = boat(case, tmp_path)
    if not case.gains:
        assert _day(folder, NOW, case.waiting).heat is None
        return
    plan = hardens(case, folder)
    assert plan.start is not None
    keep = lit(folder, plan, None, tmp_path / "kept")
    day = _day(keep, plan.start, case.waiting)
    assert day.status == "go"
    assert day.windows_today[0].opens <= plan.start
    # and not a day sooner than it would be anyway
    assert _day(folder, plan.start, case.waiting).status != "go"


@cases
def test_lit_as_late_as_is_told_it_still_does(case: Case, tmp_path: Path) -> None:
    if not case.gains:
        pytest.skip("nothing is lit here")
    folder = boat(case, tmp_path)
    plan = hardens(case, folder)
    assert plan.start is not None
    keep = lit(folder, plan, plan.latest_light_at, tmp_path / "kept")
    day = _day(keep, plan.start, case.waiting)
    assert day.status == "go", (plan.light_at, plan.latest_light_at, plan.start)


@cases
def test_it_gains_days_worth_more_than_the_fuel(case: Case, tmp_path: Path) -> None:
    if not case.gains:
        pytest.skip("nothing is lit here")
    folder = boat(case, tmp_path)
    plan = hardens(case, folder)
    without = _opens(_day(folder, NOW, case.waiting))
    assert plan.start is not None
    assert plan.use is not None
    gained = (without - plan.start) / timedelta(days=1)
    assert gained >= 1.0
    assert plan.use.energy_kwh - plan.routine_kwh < DAY_KWH * gained
    assert plan.light_at is not None
    assert plan.light_at < NOW + timedelta(days=2)


@cases
def test_no_limit_of_the_film_is_broken_by_it(case: Case, tmp_path: Path) -> None:
    if not case.gains:
        pytest.skip("nothing is lit here")
    folder = boat(case, tmp_path)
    plan = hardens(case, folder)
    assert plan.hold_until is not None
    keep = lit(folder, plan, None, tmp_path / "kept")
    at = plan.hold_until + timedelta(hours=2)
    clock = next(each for each in day_sheet(keep, at).clocks if each.job == "frames")
    assert not clock.limits_broken
    facts = read_situation(keep, at)
    air = facts.conditions["cabin"].air_c
    assert float(air.max()) <= float(case.most.split()[0])


@cases
def test_it_is_never_alight_where_it_may_not_be(case: Case, tmp_path: Path) -> None:
    if not case.gains:
        pytest.skip("nothing is lit here")
    folder = boat(case, tmp_path)
    plan = hardens(case, folder)
    facts = read_situation(folder, NOW)
    assert plan.light_at is not None
    assert plan.hold_until is not None
    assert not left_alone(facts.boat, facts.boat.space[0], plan.light_at, plan.hold_until)


@pytest.mark.parametrize("case", CASES[:2], ids=lambda case: case.name)
def test_every_face_has_the_same_run(
    case: Case, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = boat(case, tmp_path)
    sheet = day_sheet(folder, NOW)
    plan = hardens(case, folder)
    monkeypatch.setenv("CUREWINDOW_CACHE", str(tmp_path / "another"))
    (asked,) = heat_plans(folder, NOW, job=case.waiting).plans
    (unasked,) = heat_plans(folder, NOW).plans
    assert asked == unasked == plan
    facts = read_situation(folder, NOW)
    (entry,) = (each for each in happenings(sheet) if each.kind == "heat")
    assert (entry.begins, entry.ends) == (plan.light_at, plan.hold_until)
    told = " ".join(" ".join(day_lines(sheet, width=60, full=False)).split())
    said = full(plan.verdict, facts.words)
    assert said.split(":", maxsplit=1)[0].split("light the heater")[1][:5] in told
    soon = {each.kind for each in reminders_of(replace(facts, now=NOW), sheet)}
    assert "light heater" in soon


def test_minutes_later_it_is_the_same_run(tmp_path: Path) -> None:
    case = CASES[1]
    folder = boat(case, tmp_path)
    plan = hardens(case, folder)
    assert plan.latest_light_at is not None
    again = _day(folder, NOW + (plan.latest_light_at - NOW) / 2, case.waiting).heat
    assert again is not None
    same = ("hold_until", "setpoint_c", "start", "latest_light_at", "use")
    assert [getattr(again, name) for name in same] == [getattr(plan, name) for name in same]


def test_none_is_told_over_vapour_a_flame_lights(tmp_path: Path) -> None:
    """An open flame is not lit while the film's solvent is about; it gives that off for days."""
    solvent = SLOW.replace("hazards = [", 'hazards = ["flammable solvent", ')
    solvent = solvent.replace("MAX", "25 °C")
    burner = heating("diesel", vented=True, flame=True, more='unattended = "yes"')

    def fresh(record: Record) -> None:
        at = NOW - timedelta(hours=3)
        record.add(Coat("frames", 1, 1, at, at + timedelta(hours=1), "slow"))

    probe = Probe(
        "",
        space("cabin", heating=burner),
        SANDED,
        temp_c=3.6,
        dew_point_c=0.0,
        log=fresh,
        sheets={"slow": solvent},
        head={"water": "4 °C"},
    )
    folder = longer(written(probe, tmp_path))
    plan = _day(folder, NOW, "frames").heat
    assert plan is None or plan.light_at is None or plan.light_at > NOW + timedelta(hours=16)


@pytest.mark.parametrize("case", [CASES[0], CASES[1], CASES[4]], ids=lambda case: case.name)
def test_the_plan_begins_the_step_as_soon_and_has_the_same_run(case: Case, tmp_path: Path) -> None:
    folder = boat(case, tmp_path)
    run = hardens(case, folder)
    assert run.start is not None
    plan = make_plan(folder, NOW, days=20, seconds=5.0).plan
    assert plan.verified
    step = next(each for each in plan.steps if each.job == case.waiting)
    assert step.heat_before == run
    stretches = heater_times(plan.steps)
    assert (run.light_at, run.setpoint_c) in {(each.begins, each.setpoint_c) for each in stretches}
    # as the run opens it; told is a start some hours on the safe side
    without = _opens(_day(folder, NOW, case.waiting))
    assert run.start - timedelta(hours=4) <= step.start < without - timedelta(days=1)
    assert plan.heat_kwh >= 0.9 * (run.use.energy_kwh if run.use is not None else 0.0)
    assert _day(folder, NOW, case.waiting).heat == run
    (asked,) = heat_plans(folder, NOW, job=case.waiting).plans
    assert asked == run
    # day sheet and page show it among the plan's own steps, by the plan's words
    facts = read_situation(folder, NOW)
    shown = assemble(facts).plan
    assert shown is not None
    assert run.light_at is not None
    lines = [line for line in plan_lines(shown, facts.words) if line.at == run.light_at]
    assert [line.job for line in lines] == [case.waiting]
    assert lines[0].text.endswith(run_text(run.verdict, run.ventilation, facts.words))


def test_a_plan_lights_nothing_for_a_step_it_begins_no_sooner(tmp_path: Path) -> None:
    """The step is held on a day on which it may be begun anyway: the heater stays out."""
    case = replace(CASES[1], hours_ago=92.0)
    folder = boat(case, tmp_path)
    assert hardens(case, folder).start is not None
    made = make_plan(folder, NOW, days=20, seconds=5.0, keep=False)
    (step,) = (each for each in made.plan.steps if each.job == case.waiting)
    assert step.heat_before is not None
    late = {step.key: NOW + timedelta(days=9)}
    plan = make_plan(folder, NOW, days=20, seconds=5.0, fixed=late, keep=False).plan
    assert plan.conflict is None
    assert [each.heat_before for each in plan.steps] == [None]
