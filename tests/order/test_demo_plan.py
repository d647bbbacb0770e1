"""The demo boat's plan: verified, then with faults sown into it, each of which must be caught."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import boats
import pytest

from curewindow.boat.schema import HeaterOverride, Heating
from curewindow.daysheet.assemble import assemble
from curewindow.daysheet.holding import fix, named, undo
from curewindow.daysheet.ordering import facts_and_given
from curewindow.daysheet.planning import Made, make_plan
from curewindow.daysheet.today import stated_soon
from curewindow.demo import files as demofiles
from curewindow.errors import NotFoundError
from curewindow.judgement.clocks import milestone_at
from curewindow.judgement.heated import conditions_under, done_of
from curewindow.order.asking import cost_of
from curewindow.order.calm import calm_of
from curewindow.order.conflict import conflict
from curewindow.order.kept import load, store
from curewindow.order.plan import Plan, PlannedStep
from curewindow.order.problem import Order, Placed
from curewindow.order.quick import quick_order
from curewindow.order.settle import fits
from curewindow.order.solve import solve
from curewindow.order.verify import verify
from curewindow.order.walk import PlacedWork
from curewindow.rules.milestones import COVERED
from curewindow.situation import read_situation

pytestmark = pytest.mark.slow

DAYS = 26


class Planned:
    """A plan with all it was made from; made once for the file."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        near = read_situation(folder, boats.NOW)
        self.facts, self.given = facts_and_given(folder, boats.NOW, days=DAYS, near=near)
        self.made: Made = make_plan(folder, boats.NOW, days=DAYS, seconds=120)
        assert self.made.solved.order is not None
        self.order = self.made.solved.order
        self.problem = self.made.problem
        by_key = {step.key: step.heat for step in self.made.plan.steps if step.heat is not None}
        tasks = {task.number: task.key for task in self.problem.tasks}
        runs = {number: by_key[key] for number, key in tasks.items() if key in by_key}
        self.series = conditions_under(self.facts, self.problem, self.order, runs)
        self.done = done_of(self.problem, self.order, runs)
        # What is heated near is held against its limits by its own run, with the air it asks for.
        self.judged = {(run.job, run.start) for run in runs.values() if run.status == "possible"}

    def faults(self, done: list[PlacedWork]) -> set[str]:
        left_out = frozenset(job for job, _ in self.problem.left_out)
        found = verify(self.given, self.problem.slots, done, self.series, left_out)
        # Beyond the forecast one typical year refuses nothing.
        known = self.problem.slots.at(self.problem.known_until)
        return {
            fault.rule
            for fault in found
            if fault.rule != "limits"
            or (fault.at < known and (fault.job, fault.at) not in self.judged)
        }

    def moved(self, job: str, part: int, by: timedelta) -> list[PlacedWork]:
        """The plan with one piece of a job moved."""
        own = [each for each in self.done if each.job == job]
        wanted = own[part]
        return [
            replace(each, start=each.start + by, end=each.end + by) if each is wanted else each
            for each in self.done
        ]


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Planned:
    folder = tmp_path_factory.mktemp("demo") / "boat"
    demofiles.write(folder, boats.NOW)
    return Planned(folder)


def test_the_plan_is_the_proven_best_and_the_second_look_agrees(planned: Planned) -> None:
    plan = planned.made.plan
    assert [step.aim for step in planned.made.solved.steps if step.proven][:1] == ["date"]
    assert plan.verified
    assert plan.faults == []
    assert fits(planned.problem, planned.order)
    assert planned.faults(planned.done) == set()
    assert plan.all_done is not None
    assert plan.finish is None
    assert "wet locker slats" in {step.job for step in plan.every()}
    assert plan.sets_end
    assert all(step.why for step in plan.steps)
    assert all(
        step.end <= other.start for step, other in zip(plan.steps, plan.steps[1:], strict=False)
    )


def test_what_was_reached_is_what_the_order_costs(planned: Planned) -> None:
    reached = {step.aim: step.value for step in planned.made.solved.steps}
    assert reached["date"] == planned.problem.slots.day_of(planned.order.finish)
    assert reached["cost"] == cost_of(planned.problem, planned.order, {})
    moved, close, halves, weeks = calm_of(planned.problem, planned.order, {})
    assert reached["calm"] == 5 * moved + 2 * close + halves + weeks


def test_beyond_the_forecast_it_says_so(planned: Planned) -> None:
    plan = planned.made.plan
    known = plan.known_until
    assert known is not None
    assert all(step.start < known for step in plan.steps)
    assert plan.later
    assert any("typical, not forecast" in note for note in plan.notes)


@pytest.mark.parametrize(
    ("job", "part", "hours", "rules"),
    [
        ("chart table", 0, 12.0, {"aboard"}),
        ("saloon doors", 1, 120.0, {"recoat"}),  # its interval has passed, not sanded
        ("wet locker slats", 0, -7 * 24.0, {"cured"}),
        ("wet locker slats", 1, -24.0, {"row"}),
        ("wet locker cork", 0, -5 * 24.0, {"cured", "limits"}),
        ("forepeak frames", 1, 14 * 24.0, {"limits", "row", "recoat"}),
    ],
)
def test_a_piece_in_the_wrong_place_is_caught(
    planned: Planned, job: str, part: int, hours: float, rules: set[str]
) -> None:
    assert planned.faults(planned.moved(job, part, timedelta(hours=hours))) & rules


def test_a_coat_left_out_or_put_on_twice_is_caught(planned: Planned) -> None:
    assert "all of it" in planned.faults(planned.done[1:])
    last = planned.done[-1]
    twice = replace(last, start=last.start + timedelta(days=1), end=last.end + timedelta(days=1))
    assert "row" in planned.faults([*planned.done, twice])


def test_a_coat_on_one_that_is_not_ready_is_caught(planned: Planned) -> None:
    first, second = [each for each in planned.done if each.job == "chart table"][:2]
    start = first.end + timedelta(minutes=30)
    moved = replace(second, start=start, end=start + (second.end - second.start))
    assert "recoat" in planned.faults([moved if each is second else each for each in planned.done])


def test_two_things_at_once_are_caught(planned: Planned) -> None:
    first, second = planned.done[0], planned.done[1]
    both = replace(second, start=first.start, end=first.start + (second.end - second.start))
    assert "hands" in planned.faults([first, both, *planned.done[2:]])


def test_before_the_delivery_is_caught(planned: Planned) -> None:
    at = next(each for each in planned.done if each.job == "wet locker slats")
    early = datetime(2026, 11, 28, 9, tzinfo=boats.NOW.tzinfo)
    moved = replace(at, start=early, end=early + (at.end - at.start))
    done = [moved if each is at else each for each in planned.done]
    assert "delivery" in planned.faults(done)


def test_dust_in_a_wet_film_is_caught(planned: Planned) -> None:
    """The table's coats are sanded in between: half an hour behind the varnish is too soon."""
    wet = next(each for each in planned.done if each.job == "saloon doors")
    sanded = [each for each in planned.done if each.job == "chart table" and (each.coat or 0) > 1]
    moved = replace(sanded[0], start=wet.end, end=wet.end + (sanded[0].end - sanded[0].start))
    done = [moved if each is sanded[0] else each for each in planned.done]
    assert "dust" in planned.faults(done)


def test_one_heater_for_two_spaces_is_caught(planned: Planned) -> None:
    boat = planned.given.boat
    spaces = [
        space.model_copy(
            update={
                "heating": None
                if space.heating is None
                else space.heating.model_copy(
                    update={"at_once": 1} if space.name == "saloon" else {"outlet_of": "saloon"}
                )
            }
        )
        for space in boat.space
    ]
    given = replace(planned.given, boat=boat.model_copy(update={"space": spaces}))
    begin, end = boats.NOW, boats.NOW + timedelta(days=20)
    warm = [
        replace(each, warm=(begin, end)) if each.job in ("forepeak frames", "chart table") else each
        for each in planned.done
    ]
    found = verify(given, planned.problem.slots, warm, planned.series)
    assert "heater" in {fault.rule for fault in found}


def test_a_heater_lit_by_the_log_counts_as_one_of_its_spaces(planned: Planned) -> None:
    begin, end = boats.NOW, boats.NOW + timedelta(days=20)
    lit = (HeaterOverride(begin, begin + timedelta(days=2), 15.0),)

    def heated(name: str, heating: Heating | None, held: tuple[HeaterOverride, ...]) -> Any:
        if heating is None:
            return None
        main = name == "saloon"
        change = {"at_once": 1} if main else {"outlet_of": "saloon"}
        return heating.model_copy(update=change).with_held(held if main else ())

    def faults(held: tuple[HeaterOverride, ...]) -> set[str]:
        boat = planned.given.boat
        spaces = [
            space.model_copy(update={"heating": heated(space.name, space.heating, held)})
            for space in boat.space
        ]
        given = replace(planned.given, boat=boat.model_copy(update={"space": spaces}))
        warm = [
            replace(each, warm=(begin, end) if each.job == "forepeak frames" else None)
            for each in planned.done
        ]
        found = verify(given, planned.problem.slots, warm, planned.series)
        return {fault.rule for fault in found}

    assert "heater" in faults(lit)
    assert "heater" not in faults(())


def test_a_sown_fault_in_the_tables_own_check_is_caught(planned: Planned) -> None:
    first = planned.order.placed[0]
    late = replace(first, start=first.start + 48 * 40)
    rest = planned.order.placed[1:]
    assert not fits(planned.problem, Order((*rest, late), planned.order.finish))
    assert not fits(planned.problem, Order(rest, planned.order.finish))


def test_the_quick_order_keeps_every_table_and_is_always_the_same(planned: Planned) -> None:
    one, other = quick_order(planned.problem), quick_order(planned.problem)
    assert one is not None
    assert one == other
    assert fits(planned.problem, one)
    # The plan itself may end later: of what the second look finds a quick order knows nothing.
    sought = solve(planned.problem, seconds=20, aims=("date",)).order
    assert sought is not None
    assert sought.finish <= one.finish


def test_what_is_held_stays_and_the_plan_stays_close_to_the_last(planned: Planned) -> None:
    slots = {each.task: each.start for each in planned.order.placed}
    last = planned.order.placed[-1]
    before = planned.problem.slots.day_of
    again = solve(planned.problem, seconds=60, yesterday=slots, aims=("date", "cost"))
    assert again.order is not None
    # With the days that the second look took away it may be sooner, never later.
    assert before(again.order.finish) <= before(planned.order.finish)
    mode = planned.problem.tasks[last.task].modes[last.mode]
    later = int(mode.starts[mode.starts > last.start][3])
    pinned = solve(planned.problem, seconds=60, pins={last.task: later}, aims=("date",))
    assert pinned.order is not None
    assert Placed(last.task, last.mode, later) in pinned.order.placed


def test_what_cannot_all_be_kept_is_named(planned: Planned) -> None:
    """The slats held for a day before the cork under them is cured."""
    problem = planned.problem
    slats = next(task for task in problem.tasks if task.job == "wet locker slats")
    glue = next(task for task in problem.tasks if task.job == "wet locker cork")
    slot = next(
        int(s) for s in slats.modes[0].starts if s > problem.slots.at_or_after(boats.NOW) + 8 * 48
    )
    found = conflict(problem, planned.facts.words, pins={slats.number: slot}, seconds=60)
    assert found is not None
    text = " / ".join(found)
    assert "is fixed for" in text
    assert "cannot be before" in text
    assert slats.job in text or glue.job in text
    assert len(found) <= 4


def test_the_plan_is_kept_and_held_steps_are_taken_back(planned: Planned) -> None:
    kept = load(planned.folder)
    assert kept.plan == planned.made.plan
    assert Plan.model_validate_json(planned.made.plan.model_dump_json()) == planned.made.plan
    shown = assemble(planned.facts).plan
    assert shown is not None
    assert shown.fresh
    assert not shown.overdue
    assert shown.today
    assert all(step.start.date() == date(2026, 11, 25) for step in shown.today)
    held, when = fix(planned.folder, "chart table", None)
    assert isinstance(held, PlannedStep)
    assert when == held.start
    assert held.job == "chart table"
    assert list(load(planned.folder).fixed) == [held.key]
    assert named(held).startswith("chart table coat")
    undo(planned.folder)
    assert load(planned.folder).fixed == {}
    with pytest.raises(NotFoundError, match="name one of"):
        fix(planned.folder, "no such thing", None)
    far = planned.made.plan.later[0]
    with pytest.raises(NotFoundError, match="beyond the forecast") as refused:
        fix(planned.folder, far.key, None)
    assert "--to" in refused.value.by_command
    assert load(planned.folder).fixed == {}
    store(planned.folder, kept)


def test_a_spoilt_plan_file_is_made_anew(planned: Planned) -> None:
    path = planned.folder / "plan.json"
    kept = path.read_text(encoding="utf-8")
    path.write_text("{", encoding="utf-8")
    assert load(planned.folder).plan is None
    path.write_text(kept, encoding="utf-8")


def test_the_first_steps_are_ones_the_day_sheet_tells(planned: Planned) -> None:
    """A next coat without heat, within the forecast, starts within a window of the day sheet."""
    near = read_situation(planned.folder, boats.NOW)
    told = stated_soon(near, planned.made.given.known_until)
    seen: set[str] = set()
    for step in sorted(planned.made.plan.steps, key=lambda each: each.start):
        if step.job not in told.windows or step.job in seen or step.sanding_for_missed:
            continue
        seen.add(step.job)
        today = step.start.date() == boats.NOW.date()
        if today or (step.setpoint_c is None and step.start < told.until):
            windows = told.windows[step.job]
            assert any(opens <= step.start <= closes for opens, closes in windows), step.key
    assert seen
    on = planned.made.given.stands["wet locker primer"].on
    primer = next(each for each in planned.facts.work.job if each.name == "wet locker primer")
    coat = max((each for each in near.coats if each.job == primer.name), key=lambda each: each.end)
    assert on is not None
    assert on.covered == milestone_at(near, primer, coat, COVERED)
