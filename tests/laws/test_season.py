"""The season where the answer is known in closed form, and what must hold for any season."""

from __future__ import annotations

import importlib.util
import math
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.season.ends import chain_of
from curewindow.season.figures import (
    chance_by,
    chance_by_week,
    chance_range,
    day_for,
    days_saved,
)
from curewindow.season.planned import bounded
from curewindow.season.prepared import prepare
from curewindow.season.run import finishes, samples_by_year
from curewindow.season.sampling import AT_HAND, SPREAD, Pace, Sample, pace_of, samples_of
from curewindow.season.schedule import places, schedule
from tests.cases import cases

_spec = importlib.util.spec_from_file_location(
    "season_work", Path(__file__).parents[1] / "season" / "work.py"
)
assert _spec is not None
assert _spec.loader is not None
work = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(work)


def test_waiting_for_a_good_day_is_geometric() -> None:
    """Days fit with chance p, each by itself: done by day n with chance 1 - (1 - p)^n.

    The geometric law of the waiting time: Feller, An Introduction to Probability Theory
    and Its Applications, volume 1, chapter VI.8 (from memory).
    """
    chance, years, slots = 0.2, 1500, work.days(80)
    dice = np.random.default_rng(7)
    ready = [
        prepare(work.problem(slots, [work.coat(0, dice.random(80) < chance, slots)]))
        for _ in range(years)
    ]
    finish = finishes(ready, [[Sample({}, {})]] * years, ["job 0"])[0]
    for day in (1, 3, 5, 10, 20):
        law = 1.0 - (1.0 - chance) ** day
        doubt = 4.0 * math.sqrt(law * (1.0 - law) / years)
        assert chance_by(finish, day) == pytest.approx(law, abs=doubt)
    assert day_for(finish, 0.5) in (3.0, 4.0)  # the median: ln 0.5 / ln 0.8 = 3.1
    assert finish.mean() == pytest.approx(1.0 / chance, abs=4.0 * math.sqrt(20.0 / years))


def test_the_later_of_two_deliveries() -> None:
    """Of two independent uniform times the later one has the mean 2/3 and the law x²."""
    slots = work.days(120)
    good = np.ones(120, np.bool_)
    tasks = [work.delivered(work.coat(n, good, slots), 0, 100) for n in range(2)]
    one = work.problem(slots, tasks)
    sampled = samples_by_year([one], Pace(spread=0.0), 1500, 3)
    finish = finishes([prepare(one)], sampled, ["job 0", "job 1"]).max(axis=0)
    assert finish.mean() == pytest.approx(66.7 + 1.0, abs=2.5)
    assert chance_by(finish, 51.0) == pytest.approx(0.25, abs=0.05)


@pytest.mark.parametrize(
    ("done", "of", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611)],
)
def test_what_few_years_leave_open(done: int, of: int, low: float, high: float) -> None:
    """Newcombe, R. G. (1998), Statistics in Medicine 17, 857-872, table I, method 3
    (from memory): Wilson's interval at 95 %."""
    assert chance_range(done / of, of, z=1.959964) == pytest.approx((low, high), abs=6e-5)


def test_pace_is_log_normal_and_learned() -> None:
    jobs = [f"job {n}" for n in range(50)]
    drawn = samples_of(jobs, [], Pace(), 400, 1)
    logs = np.log([[sample.pace[job] for job in jobs] for sample in drawn])
    assert logs.std() == pytest.approx(SPREAD, rel=0.06)
    assert abs(logs.mean()) < 0.05
    # Half of the variance is the owner's: shared by the jobs of one throw.
    assert logs.mean(axis=1).var() == pytest.approx(0.5 * SPREAD**2, rel=0.25)
    assert pace_of([1.5] * 4) == Pace()  # too few
    learned = pace_of([1.5] * 45 + [40.0])
    assert learned.logged == 45
    assert 1.4 < learned.median < 1.5
    assert learned.spread < SPREAD


GOOD = st.lists(st.booleans(), min_size=30, max_size=30).map(lambda row: np.array(row, np.bool_))


@cases(60)
@given(
    good=st.lists(GOOD, min_size=1, max_size=4),
    more=GOOD,
    aboard=GOOD,
    arrives=st.tuples(st.integers(0, 12), st.integers(0, 8), st.integers(0, 10)),
)
def test_never_sooner_for_less(
    good: list[np.ndarray], more: np.ndarray, aboard: np.ndarray, arrives: tuple[int, int, int]
) -> None:
    """Coats in a row: a later delivery, fewer hours or worse weather is never sooner."""
    early, width, later = arrives

    def finish(days: list[np.ndarray], there: np.ndarray, first: int) -> np.ndarray:
        slots = work.days(30, there)
        tasks = [work.coat(n, day, slots, job="hull", takes=2) for n, day in enumerate(days)]
        tasks[0] = work.delivered(tasks[0], first, first + width)
        one = work.problem(slots, tasks, work.in_a_row(tasks))
        return finishes([prepare(one)], samples_by_year([one], Pace(), 5, 1), ["hull"])[0]

    as_is = finish(good, aboard, early)
    assert (finish(good, aboard, early + later) >= as_is).all()
    assert (finish(good, aboard | more, early) <= as_is).all()
    assert (finish([day | more for day in good], aboard, early) <= as_is).all()
    assert (finish([np.ones(30, np.bool_)] * len(good), aboard, early) <= as_is).all()


@cases(60)
@given(good=st.lists(GOOD, min_size=2, max_size=5))
def test_one_pair_of_hands(good: list[np.ndarray]) -> None:
    """No two coats on one day; with many hands each has its own first good day."""
    slots = work.days(30)
    tasks = [work.coat(n, day, slots) for n, day in enumerate(good)]
    ready = prepare(work.problem(slots, tasks))
    done = [each for each in schedule(ready).values() if math.isfinite(each)]
    assert len(set(done)) == len(done)
    many = schedule(ready, many_hands=True)
    for number, day in enumerate(good):
        first = float(np.flatnonzero(day)[0] + 1) if day.any() else math.inf
        # 30 is the end of what is known: not done within it
        assert many[f"job {number}"] == (first if first < 30 else math.inf)


def test_at_hand_counts_as_here_now() -> None:
    slots = work.days(40)
    task = work.delivered(work.coat(0, np.ones(40, np.bool_), slots), 10, 20)
    ready = prepare(work.problem(slots, [task]))
    key = ("job 0", "parts")
    days = [
        schedule(ready, Sample({}, {key: share}))["job 0"] for share in (AT_HAND, 0.0, 0.5, 1.0)
    ]
    assert days == [1.0, 11.0, 16.0, 21.0]
    assert schedule(ready)["job 0"] == 21.0  # as planned: on its latest day


def test_days_saved_where_some_never_end() -> None:
    finish = np.array([[10.0, math.inf], [30.0, 20.0]])
    assert days_saved(finish, replace_all(finish, 10.0), 100.0) == (pytest.approx(30.0), True)
    assert days_saved(finish[1:], finish[1:], 100.0) == (0.0, False)
    assert day_for(finish, 0.75) == 30.0
    assert day_for(finish, 0.95) == math.inf


def replace_all(values: np.ndarray, by: float) -> np.ndarray:
    return np.full_like(values, by)


def test_a_slow_owner_is_done_later() -> None:
    """Work without a product: hours times pace, whole slots, one after the other."""
    slots = replace(work.days(60), minutes=60)
    starts = np.arange(60, dtype=np.int64)
    plain = work.coat(0, np.ones(60, np.bool_), slots)
    mode = replace(plain.modes[0], starts=starts, hard=starts + 4, ends=starts + 4)
    task = replace(plain, do="fit", sheet=None, coat=None, hands=4, hands_h=4.0, modes=(mode,))
    ready = prepare(work.problem(slots, [task]))
    assert [schedule(ready, Sample({"job 0": f}, {}))["job 0"] for f in (0.5, 1.0, 1.3, 2.0)] == [
        2.0,
        4.0,
        6.0,
        8.0,
    ]


def test_the_end_hangs_on_what_it_waited_for() -> None:
    """Small seasons, a slot a day, whose critical chain is seen by eye."""
    slots = work.days(30)
    always, late = np.ones(30, np.bool_), np.arange(30) >= 12

    def chain(problem) -> list[tuple[int, str, int]]:
        ready = prepare(problem)
        return [each for each in chain_of(ready, places(ready)) if each[2] > 0]

    def coat(number: int, good: np.ndarray, **more):
        return work.coat(number, good, slots, **more)

    # The one waits twelve days for weather, the other for nothing.
    assert chain(work.problem(slots, [coat(0, late), coat(1, always)])) == [(0, "conditions", 12)]
    # Two in a row, the first hard after five days.
    row = [coat(0, always, takes=5), coat(1, always)]
    assert chain(work.problem(slots, row, work.in_a_row(row))) == [(1, "cure", 4)]
    # One pair of hands: whichever comes second waits a day for the first.
    ((_, kind, days),) = chain(work.problem(slots, [coat(0, always), coat(1, always)]))
    assert (kind, days) == ("hands", 1)
    # What arrives late sets the end, and what came before it does not.
    tasks = [work.delivered(coat(0, always), 9, 9), coat(1, always)]
    assert chain(work.problem(slots, tasks)) == [(0, "delivery", 9)]
    # What is never done decides, and waits to the last.
    never = [coat(0, np.zeros(30, np.bool_)), coat(1, late)]
    assert chain(work.problem(slots, never)) == [(0, "conditions", 30)]


def test_nothing_is_sooner_than_the_plan_has_it() -> None:
    slots = work.days(30)
    always = np.ones(30, np.bool_)
    tasks = [work.coat(n, always, slots) for n in range(3)]
    soonest = {tasks[0].key: work.NOW + timedelta(days=7), "job 1": work.NOW + timedelta(days=11)}
    at = places(prepare(bounded(work.problem(slots, tasks), soonest)))
    assert [at[n].start for n in range(3)] == [7, 11, 0]
    assert bounded(work.problem(slots, tasks), {}).tasks == tuple(tasks)


def test_weeks_count_what_is_begun_in_them() -> None:
    begun_d = np.array([0.5, 6.9, 7.0, 20.0, np.inf])
    assert chance_by_week(begun_d, np.array([7.0, 14.0, 28.0])).tolist() == [0.4, 0.6, 0.8]
