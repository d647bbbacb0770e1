"""Small work lists whose every order can be tried: what is allowed, how soon, and what it takes.

Three tasks in two spaces that share a heater and a tool, in slots of six hours that each count as
a day, so that none is lost unseen. The rules are counted here slot by slot, apart from the code's
own.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from itertools import product
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from curewindow.order.apart import keep_apart
from curewindow.order.asking import ask
from curewindow.order.costs import add_heat
from curewindow.order.early import earliest_starts, latest_starts_within
from curewindow.order.model import build_model
from curewindow.order.problem import (
    HeatSource,
    Mode,
    Order,
    Placed,
    Precedence,
    Problem,
    Task,
)
from curewindow.order.quick import finish_of, quick_order
from curewindow.order.settle import fits, latest_starts, settled
from curewindow.order.slots import Slots
from curewindow.order.solve import solve
from curewindow.order.work import SearchWork
from tests.cases import cases

COUNT, A_DAY, A_BLOCK = 16, 1, 2
SPACES = ("saloon", "forepeak")
LEVEL_C = 20.0
DAY_KWH = 4.0


@st.composite
def modes(draw: Any) -> Mode:
    """Starts, and for how long after each its film is wet and its space kept warm."""
    starts = np.array(sorted(draw(st.sets(st.integers(0, 11), min_size=2, max_size=6))))
    wet = draw(st.integers(1, 3))
    warm = draw(st.booleans())
    until = starts + wet
    return Mode(
        level_c=LEVEL_C if warm else None,
        starts=starts,
        ends=starts + 1,
        set_until=until,
        dust_until=until,
        hard=until,
        covered=until,
        warm_from=np.maximum(starts - 1, 0) if warm else starts,
        warm_until=until if warm else starts,
    )


@st.composite
def problems(draw: Any) -> Problem:
    tasks = []
    for number in range(3):
        dusty = draw(st.booleans())
        tasks.append(
            Task(
                number=number,
                job=f"job {number}",
                step=1,
                coat=None,
                sitting=1,
                of_sittings=1,
                do="sand" if dusty else "coat",
                sheet=None if dusty else "varnish",
                space=SPACES[number % 2],
                hands=1,
                hands_h=6.0,
                modes=tuple(draw(st.lists(modes(), min_size=1, max_size=2))),
                dusty=dusty,
                tools=(("clamp", 1),) if draw(st.booleans()) else (),
            )
        )
    links = []
    for before, after in draw(st.sampled_from([(), ((0, 1),), ((0, 1), (1, 2)), ((0, 2),)])):
        wait, wide = draw(st.integers(1, 3)), draw(st.integers(1, 4))
        opens = tuple(mode.starts + wait for mode in tasks[before].modes)
        closes = tuple(table + wide for table in opens) if draw(st.booleans()) else None
        links.append(Precedence(before, after, "recoat", opens, closes, "never"))
    slot = np.arange(COUNT)
    kwh = {
        (space, LEVEL_C): np.array(
            draw(st.lists(st.integers(1, 5), min_size=COUNT, max_size=COUNT)), np.float64
        )
        for space in SPACES
    }
    lit = {}
    for space in sorted(draw(st.sets(st.sampled_from(SPACES)))):
        begin = draw(st.integers(0, 8))
        lit[space] = ((begin, begin + draw(st.integers(1, 4))),)
    now = datetime(2026, 3, 2, tzinfo=UTC)
    return Problem(
        slots=Slots(now, 360, np.ones(COUNT, np.bool_), slot // A_DAY, slot * 3 // A_DAY),
        tasks=tuple(tasks),
        links=tuple(links),
        reach={space: frozenset({space}) for space in SPACES},
        heaters=(HeatSource("saloon", SPACES, draw(st.integers(1, 2)), kwh, lit=lit),),
        done_by=None,
        known_until=COUNT,
        left_out=(),
        notes=(),
        now=now,
        tool_counts={"clamp": draw(st.integers(1, 2))},
        day_kwh=draw(st.sampled_from([0.0, DAY_KWH])),
    )


def waiting(problem: Problem, order: Order) -> float:
    """kWh that waiting is worth: a day each for every four slots a job is begun later.

    Of a coat with a start on every second day only twice as much, and so on.
    """
    day = problem.slots.day.tolist()
    worth = 0.0
    for each in order.placed:
        task = problem.tasks[each.task]
        open_ = {day[start] for mode in task.modes for start in mode.starts.tolist()}
        rare = min(max(len(set(day)) / len(open_), 1.0), 4.0)
        worth += each.start * (1.0 if task.sheet is None else rare)
    return problem.day_kwh * worth * 6.0 / 24.0


def every_order(problem: Problem) -> list[Order]:
    choices = [
        [
            Placed(task.number, number, int(start))
            for number, mode in enumerate(task.modes)
            for start in mode.starts
        ]
        for task in problem.tasks
    ]
    orders = []
    for placed in product(*choices):
        row = tuple(sorted(placed, key=lambda each: (each.start, each.task)))
        orders.append(Order(row, finish_of(problem, row)))
    return orders


def blocks(mode: Mode, k: int) -> set[int]:
    return {slot // A_BLOCK for slot in range(int(mode.warm_from[k]), int(mode.warm_until[k]))}


def allowed(problem: Problem, order: Order) -> bool:
    """Each rule counted out: hands, tools, heater, dust, and who waits for whom."""
    runs = []
    for each in order.placed:
        task, mode = problem.tasks[each.task], problem.tasks[each.task].modes[each.mode]
        runs.append((each, task, mode, mode.starts.tolist().index(each.start)))
    (heater,) = problem.heaters
    for slot in range(COUNT):
        if sum(each.start == slot for each, *_ in runs) > 1:
            return False
        clamps = sum(
            bool(task.tools)
            for each, task, mode, k in runs
            if each.start <= slot < mode.set_until[k]
        )
        if clamps > problem.tool_counts["clamp"]:
            return False
        dust = {task.space for each, task, *_ in runs if task.dusty and each.start == slot}
        wet = {
            task.space
            for each, task, mode, k in runs
            if task.sheet and each.start <= slot < mode.dust_until[k]
        }
        if dust & wet:
            return False
        warmed = {task.space for _, task, mode, k in runs if slot // A_BLOCK in blocks(mode, k)}
        logged = {
            space
            for space, spans in heater.lit.items()
            for begin, until in spans
            if any(at // A_BLOCK == slot // A_BLOCK for at in range(begin, until))
        }
        # What the log has lit is lit; an order adds no space for which there is no room.
        added = warmed - logged
        if added and len(added) + len(logged) > heater.at_once:
            return False
    at = {each.task: (each, k) for each, _, _, k in runs}
    for link in problem.links:
        (first, k), (then, _) = at[link.before], at[link.after]
        if then.start < link.opens[first.mode][k]:
            return False
        if link.closes is not None and then.start > link.closes[first.mode][k]:
            return False
    return True


def heat(problem: Problem, order: Order) -> float:
    """kWh of all blocks in which a space is kept warm, each once."""
    held = set()
    for each in order.placed:
        task, mode = problem.tasks[each.task], problem.tasks[each.task].modes[each.mode]
        k = mode.starts.tolist().index(each.start)
        held |= {(task.space, block) for block in blocks(mode, k)}
    kwh = problem.heaters[0].kwh
    return sum(
        kwh[space, LEVEL_C][A_BLOCK * at : A_BLOCK * at + A_BLOCK].sum() for space, at in held
    )


def _coat(number: int, *modes: Mode) -> Task:
    return Task(
        number, f"job {number}", 1, None, 1, 1, "coat", "varnish", SPACES[number % 2], 1, 6.0, modes
    )


def _mode(starts: list[int], wet: int, *, warm: bool = False) -> Mode:
    at = np.array(starts)
    heat = (LEVEL_C, np.maximum(at - 1, 0), at + wet) if warm else (None, at, at)
    return Mode(heat[0], at, at + 1, at + wet, at + wet, at + wet, at + wet, heat[1], heat[2])


def cold_but_later() -> Problem:
    """Three coats of which one goes on sooner with heat, and no later without in another order."""
    now, slot = datetime(2026, 3, 2, tzinfo=UTC), np.arange(COUNT)
    kwh = {(space, LEVEL_C): np.ones(COUNT) for space in SPACES}
    return Problem(
        slots=Slots(now, 360, np.ones(COUNT, np.bool_), slot // A_DAY, slot * 3 // A_DAY),
        tasks=(
            _coat(0, _mode([0, 1], 1)),
            _coat(1, _mode([0, 1], 1), _mode([0, 1, 6], 2)),
            _coat(2, _mode([0, 1], 1), _mode([0, 5], 3, warm=True)),
        ),
        links=(),
        reach={space: frozenset({space}) for space in SPACES},
        heaters=(HeatSource("saloon", SPACES, 1, kwh),),
        done_by=None,
        known_until=COUNT,
        left_out=(),
        notes=(),
        now=now,
        tool_counts={"clamp": 1},
    )


def lit_by_log() -> Problem:
    """A heater that warms one space at a time, and is lit by the log in the other one."""
    problem = cold_but_later()
    (heater,) = problem.heaters
    tasks = (
        _coat(0, _mode([0, 1], 1)),
        _coat(1, _mode([2, 4, 9], 2, warm=True)),
        _coat(2, _mode([3, 6], 1), _mode([3, 5], 2, warm=True)),
    )
    return replace(problem, tasks=tasks, heaters=(replace(heater, lit={"saloon": ((0, 5),)}),))


@cases(25)
@example(problem=lit_by_log())
@given(problem=problems())
def test_what_fits_is_what_the_rules_allow(problem: Problem) -> None:
    for order in every_order(problem)[::7]:
        assert fits(problem, order) is allowed(problem, order)


def in_model(problem: Problem, starts: dict[int, int]) -> bool:
    """Is there a way in the constraint model with every task where it stands?"""
    model, modes = build_model(problem, pins=starts)
    keep_apart(model, modes)
    add_heat(model, modes)
    search, status = ask(model, SearchWork(5.0), 5.0)
    return search.status_name(status) in ("OPTIMAL", "FEASIBLE")


@cases(10)
@example(problem=lit_by_log())
@given(problem=problems())
def test_the_model_lets_in_what_the_rules_allow_and_nothing_else(problem: Problem) -> None:
    """Some that are and some that are not, the earliest first: those keep a wait to the slot."""
    found: dict[tuple[tuple[int, int], ...], bool] = {}
    for order in every_order(problem):
        starts = tuple(sorted((each.task, each.start) for each in order.placed))
        found[starts] = found.get(starts, False) or allowed(problem, order)
    kinds = [[starts for starts, kept in found.items() if kept is kind] for kind in (True, False)]
    for some in kinds:
        some.sort(key=lambda starts: sum(start for _, start in starts))
        for starts in {*some[:4], *some[:: 1 + len(some) // 4]}:
            assert in_model(problem, dict(starts)) is found[starts]


@cases(10)
@example(problem=cold_but_later())
@example(problem=lit_by_log())
@given(problem=problems())
def test_the_search_finds_the_soonest_and_then_the_least_heat_and_waiting(problem: Problem) -> None:
    orders = [each for each in every_order(problem) if allowed(problem, each)]
    found = solve(problem, seconds=20.0, aims=("date", "cost"))
    if not orders:
        assert found.order is None
        assert found.possible is False
        return
    assert found.order is not None
    assert allowed(problem, found.order)
    day = min(problem.slots.day_of(each.finish) for each in orders)
    assert problem.slots.day_of(found.order.finish) == day
    in_time = [each for each in orders if problem.slots.day_of(each.finish) == day]
    costs = [heat(problem, each) + waiting(problem, each) for each in in_time]
    assert heat(problem, found.order) + waiting(problem, found.order) == pytest.approx(
        min(costs), abs=0.3
    )
    told = {step.aim: step.value for step in found.steps if step.proven}
    # what a slot of waiting is worth is counted in whole 0.01 kWh
    assert told == {"date": day, "cost": pytest.approx(100 * min(costs), abs=30)}


@cases(25)
@given(problem=problems(), last_day=st.integers(3, 12))
def test_no_order_begins_a_task_sooner_or_later_than_its_row_lets_it(
    problem: Problem, last_day: int
) -> None:
    early, late = earliest_starts(problem), latest_starts_within(problem, last_day)
    for order in every_order(problem):
        if not allowed(problem, order):
            continue
        in_time = problem.slots.day_of(order.finish) <= last_day
        for each in order.placed:
            assert each.start >= early[each.task]
            assert not in_time or each.start <= late[each.task]


@cases(25)
@example(problem=lit_by_log())
@given(problem=problems())
def test_a_quick_order_is_allowed_and_settles_for_nothing(problem: Problem) -> None:
    quick = quick_order(problem)
    if quick is None:
        return
    assert allowed(problem, quick)
    sooner = settled(problem, quick, {}, set())
    assert allowed(problem, sooner)
    before = heat(problem, quick) + waiting(problem, quick)
    assert heat(problem, sooner) + waiting(problem, sooner) <= before
    assert sooner.finish <= quick.finish


@cases(25)
@given(problem=problems())
def test_a_task_may_slip_as_far_as_its_row_and_the_last_day_let_it(problem: Problem) -> None:
    """Each alone may, with the others where they are; and all together keep every wait."""
    quick = quick_order(problem)
    if quick is None:
        return
    at = {each.task: each for each in quick.placed}
    latest, day = latest_starts(problem, quick), problem.slots.day_of(quick.finish)

    def wait(link: Precedence, before: int) -> tuple[int, float]:
        first = at[link.before].mode
        k = problem.tasks[link.before].modes[first].starts.tolist().index(before)
        closes = np.inf if link.closes is None else link.closes[first][k]
        return int(link.opens[first][k]), float(closes)

    for number, here in at.items():
        mode = problem.tasks[number].modes[here.mode]
        for start, hard in zip(mode.starts.tolist(), mode.hard.tolist(), strict=True):
            moved = {task: each.start for task, each in at.items()} | {number: start}
            waits = [(wait(link, moved[link.before]), moved[link.after]) for link in problem.links]
            kept = all(opens <= after <= closes for (opens, closes), after in waits)
            if start >= here.start and kept and problem.slots.day_of(hard) <= day:
                assert latest[number] >= start
        assert problem.slots.day_of(mode.hard[mode.starts.tolist().index(latest[number])]) <= day
    for link in problem.links:
        assert wait(link, latest[link.before])[0] <= latest[link.after]
        assert latest[link.after] <= wait(link, at[link.before].start)[1]


def test_sanding_for_a_missed_interval_stands_right_before_its_coat() -> None:
    """Sanded days before, a surface takes dust and bloom: it goes as late as it fits."""
    now, slot = datetime(2026, 3, 2, tzinfo=UTC), np.arange(COUNT)
    first, second = _coat(0, _mode([0], 1)), _coat(1, _mode([COUNT - 2], 1))
    sanding = replace(
        _coat(2, _mode(list(range(1, COUNT - 1)), 1)), do="sand", sheet=None, sanding_of=1
    )
    closes = (np.array([2]),)
    problem = Problem(
        slots=Slots(now, 360, np.ones(COUNT, np.bool_), slot // A_DAY, slot // COUNT),
        tasks=(first, second, sanding),
        links=(
            Precedence(0, 1, "recoat", (np.array([1]),), closes, "sand", 2),
            Precedence(2, 1, "step", (np.arange(2, COUNT),)),
        ),
        reach={space: frozenset({space}) for space in SPACES},
        heaters=(),
        done_by=None,
        known_until=COUNT,
        left_out=(),
        notes=(),
        now=now,
    )
    early = (Placed(0, 0, 0), Placed(2, 0, 1), Placed(1, 0, COUNT - 2))
    for before in ({}, {2: 1}):
        order = settled(problem, Order(early, finish_of(problem, early)), before, set())
        assert {each.task: each.start for each in order.placed} == {
            0: 0,
            2: COUNT - 3,
            1: COUNT - 2,
        }
