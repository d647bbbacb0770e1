"""A long list is made better part by part: never worse, every rule kept, its bounds true."""

from __future__ import annotations

from dataclasses import replace

import boats
import pytest

from curewindow.daysheet.ordering import facts_and_given
from curewindow.order import search as searching
from curewindow.order.aims import AIMS
from curewindow.order.asking import worth
from curewindow.order.build import build_problem
from curewindow.order.costs import fuel_of
from curewindow.order.mend import mended
from curewindow.order.neighbourhood import Neighbourhood, among_all, only
from curewindow.order.neighbourhoods import NeighbourhoodSearch
from curewindow.order.problem import Order, Placed, Problem
from curewindow.order.quick import least_heat_order, quick_order
from curewindow.order.settle import fits, settled
from curewindow.order.solve import solve
from curewindow.order.without import without
from curewindow.order.work import SearchWork

pytestmark = pytest.mark.slow

JOBS = 12


@pytest.fixture(scope="module")
def problem(tmp_path_factory: pytest.TempPathFactory) -> Problem:
    folder = tmp_path_factory.mktemp("parts") / "boat"
    _, given = facts_and_given(boats.write_boat(folder, JOBS), boats.NOW, days=60)
    # What waiting is worth is left out: what is saved is heat alone.
    return replace(build_problem(given), day_kwh=0.0)


@pytest.fixture(scope="module")
def quick(problem: Problem) -> Order:
    found = quick_order(problem)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def least_heat(problem: Problem, quick: Order) -> Order:
    found = least_heat_order(problem, problem.slots.day_of(quick.finish))
    assert found is not None
    return found


def _value(problem: Problem, order: Order) -> list[int]:
    return [worth(problem, order, aim, {}) for aim in AIMS]


def test_waiting_for_cheap_heat_keeps_every_rule_and_saves(
    problem: Problem, quick: Order, least_heat: Order
) -> None:
    assert fits(problem, least_heat)
    # A task whose turn comes too late is put as early as it fits: it may be over later, and then
    # the search leaves it.
    assert fuel_of(problem, least_heat) < fuel_of(problem, quick)


def test_the_starts_left_to_a_task_are_those_that_keep_every_rule(
    problem: Problem, least_heat: Order
) -> None:
    """Against a check that shares none of it: each start tried, left or not."""
    part = Neighbourhood(problem)
    left, gone = 0, 0
    for each in least_heat.placed:
        task = problem.tasks[each.task]
        allowed = part.left(least_heat, {task.number})[task.number]
        assert allowed[each.mode][task.modes[each.mode].place(each.start)]
        for number, mode in enumerate(task.modes):
            near = abs(mode.starts - each.start).argsort()[:12]
            for k in [*near.tolist(), *range(0, mode.starts.size, 97)]:
                moved = Placed(task.number, number, int(mode.starts[k]))
                others = [other for other in least_heat.placed if other.task != task.number]
                trial = Order((*others, moved), least_heat.finish)
                assert bool(allowed[number][k]) == fits(problem, trial, task.number)
                left, gone = left + bool(allowed[number][k]), gone + (not allowed[number][k])
    assert left > 100
    assert gone > 100


def test_held_tasks_have_their_one_start_and_no_other(problem: Problem, least_heat: Order) -> None:
    at = {each.task: each for each in least_heat.placed}
    free = {least_heat.placed[0].task}
    for number, masks in Neighbourhood(problem).left(least_heat, free).items():
        if number in free:
            continue
        starts = [
            (mode, int(problem.tasks[number].modes[mode].starts[k]))
            for mode, mask in enumerate(masks)
            for k in mask.nonzero()[0]
        ]
        assert starts == ([(at[number].mode, at[number].start)] if number in at else [])


@pytest.mark.parametrize("aim", ["cost", pytest.param("calm", marks=pytest.mark.slow)])
def test_a_part_is_never_worse_and_keeps_what_was_reached(
    problem: Problem, least_heat: Order, aim: str
) -> None:
    before = _value(problem, least_heat)
    day = before[0]
    told: list[int] = []
    parts = NeighbourhoodSearch(
        problem,
        least_heat,
        day,
        {},
        {},
        SearchWork(4.0),
        lambda _, __, value: told.append(value) is None,
    )
    held = {a: v for a, v in zip(AIMS, before, strict=True) if a == "cost"}
    held.pop(aim, None)
    value = parts.improve(aim, held, 0, 4.0, tries=2)  # type: ignore[arg-type]
    after = _value(problem, parts.order)
    assert fits(problem, parts.order)
    assert after[AIMS.index(aim)] == value <= before[AIMS.index(aim)]  # type: ignore[arg-type]
    assert after[0] <= day
    assert all(after[AIMS.index(other)] <= most for other, most in held.items())
    assert told == sorted(told, reverse=True)


def test_what_is_held_by_the_owner_stays(problem: Problem, least_heat: Order) -> None:
    pinned = {each.task: each.start for each in least_heat.placed if not each.task % 3}
    day = problem.slots.day_of(least_heat.finish)
    parts = NeighbourhoodSearch(problem, least_heat, day, {}, pinned, SearchWork(6.0))
    parts.least_cost(4.0)
    parts.improve("calm", {}, 0, 6.0, tries=2)
    at = {each.task: each.start for each in parts.order.placed}
    assert all(at[number] == start for number, start in pinned.items())


def test_jobs_by_themselves_keep_their_own_rules_and_lose_the_others(
    problem: Problem, least_heat: Order
) -> None:
    jobs = {"locker primer", "cork"}
    part, number = only(problem, jobs)
    assert {task.job for task in part.tasks} == jobs
    assert [task.number for task in part.tasks] == list(range(len(part.tasks)))
    for task in part.tasks:
        if task.sanding_of is not None and task.sanding_of >= 0:
            assert part.tasks[task.sanding_of].job == task.job
    own = [
        Placed(number[each.task], each.mode, each.start)
        for each in least_heat.placed
        if each.task in number
    ]
    assert fits(part, Order(tuple(own), least_heat.finish))
    day = problem.slots.day_of(least_heat.finish)
    allowed = among_all(problem, day)
    whole = {own: among for among, own in number.items()}
    for each in own:
        k = part.tasks[each.task].modes[each.mode].place(each.start)
        assert allowed[whole[each.task]][each.mode][k]


@pytest.mark.slow
def test_the_least_heat_is_what_the_whole_model_proves(
    problem: Problem, least_heat: Order, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The bound from the heated jobs alone, against the search of everything without parts."""
    day = problem.slots.day_of(least_heat.finish)
    parts = NeighbourhoodSearch(problem, least_heat, day, {}, {}, SearchWork(20.0))
    least = parts.least_cost(20.0)
    reached = worth(problem, parts.order, "cost", {})
    assert 0 < least <= reached
    whole = searching.Search(
        problem,
        least_heat,
        SearchWork(60.0),
        pins={},
        yesterday={},
        in_time=False,
        progress=None,
        stop=None,
    )
    monkeypatch.setattr(whole, "_by_neighbourhoods", lambda aim, low, most, whole: low)
    monkeypatch.setattr(whole, "_least", day)  # the same last day for both
    monkeypatch.setattr(searching, "STALL", 60.0)  # a proof takes long without a better order
    assert all(whole.reach(aim) for aim in ("date", "cost"))
    step = whole.steps[-1]
    assert step.proven
    assert least <= step.value <= reached


@pytest.mark.slow
def test_a_list_too_long_for_the_whole_model_is_done_by_parts_alone(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_model(*args: object, **more: object) -> None:
        raise AssertionError("the whole model is not for a long list")

    least = searching.least_day
    quick = quick_order(problem)
    assert quick is not None
    day = problem.slots.day_of(quick.finish)
    monkeypatch.setattr(searching, "LONG", 0)
    monkeypatch.setattr(searching, "build_model", no_model)
    monkeypatch.setattr(searching, "least_day", lambda *a: max(day, least(*a)))
    found = solve(problem, seconds=12.0)
    assert found.order is not None
    assert fits(problem, found.order)
    assert [step.aim for step in found.steps] == list(AIMS)
    assert [step.value for step in found.steps] == _value(problem, found.order)
    assert all(step.bound <= step.value for step in found.steps)
    assert _value(problem, found.order) < _value(problem, quick)
    assert not found.steps[-1].proven


@pytest.mark.slow
def test_an_interrupt_between_parts_keeps_the_best_so_far(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was told as better when the interrupt came is what is kept."""
    told: list[tuple[str, int]] = []

    def interrupt(aim: str, order: Order, value: int, bound: int) -> None:
        told.append((aim, value))
        if aim == "cost":
            raise KeyboardInterrupt

    found = solve(problem, seconds=120.0, progress=interrupt)  # type: ignore[arg-type]
    assert found.stopped
    assert found.order is not None
    assert fits(problem, found.order)
    assert worth(problem, found.order, "cost", {}) == told[-1][1]


def test_one_task_alone_is_left_the_same_starts(problem: Problem, least_heat: Order) -> None:
    part = Neighbourhood(problem)
    for each in least_heat.placed:
        whole = part.left(least_heat, {each.task})[each.task]
        alone = part.left_to(least_heat, each.task)
        assert all((a == b).all() for a, b in zip(whole, alone, strict=True))


def test_settled_is_sooner_for_nothing(problem: Problem, least_heat: Order) -> None:
    settled_one = settled(problem, least_heat, {}, set())
    at = {each.task: each.start for each in least_heat.placed}
    assert fits(problem, settled_one)
    assert _value(problem, settled_one)[2:] <= _value(problem, least_heat)[2:]
    sanding = {task.number for task in problem.tasks if task.optional}  # nearer to its coat
    assert all(
        each.start <= at[each.task] for each in settled_one.placed if each.task not in sanding
    )
    assert settled(problem, least_heat, {}, set(at)) == least_heat


def test_an_order_that_lost_a_day_is_mended_around_the_rest(
    problem: Problem, least_heat: Order
) -> None:
    coats = [each for each in least_heat.placed if problem.tasks[each.task].coat == 1]
    assert coats
    mended_ones = 0
    for lost in coats:
        day = problem.slots.day_of(lost.start)
        left = without(problem, {(lost.task, lost.mode, day)})
        assert mended(problem, least_heat, {}) == least_heat
        found = mended(left, least_heat, {})
        if found is None:
            continue
        mended_ones += 1
        assert fits(left, found)
        job = problem.tasks[lost.task].job
        others = [each for each in least_heat.placed if problem.tasks[each.task].job != job]
        assert set(others) <= set(found.placed)
        now = next(each for each in found.placed if each.task == lost.task)
        assert (now.mode, problem.slots.day_of(now.start)) != (lost.mode, day)
    assert mended_ones > 3
