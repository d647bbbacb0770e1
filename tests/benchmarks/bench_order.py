"""Timings of the order of work: twelve jobs to the proven best, forty jobs within a bound.

    python tests/benchmarks/bench_order.py [--jobs 12] [--jobs 40] ...

Prints how long conditions and tables take, when a first order is at hand, how far each
aim is brought and in what time, and what the second look says. CPU time stands beside
the clock's: on a machine with other work the clock's is the longer.
"""

from __future__ import annotations

import argparse
import importlib.util
import tempfile
import time
from datetime import timedelta
from pathlib import Path

from curewindow.daysheet.ordering import facts_and_given
from curewindow.daysheet.secondlook import look_again
from curewindow.order.build import build_problem
from curewindow.order.early import earliest_starts, least_day
from curewindow.order.quick import quick_order
from curewindow.order.settle import settled
from curewindow.order.solve import solve


def _boats():
    path = Path(__file__).parents[1] / "order" / "boats.py"
    spec = importlib.util.spec_from_file_location("boats", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


class _Watch:
    def __init__(self) -> None:
        self._wall, self._cpu = time.perf_counter(), time.process_time()

    def __str__(self) -> str:
        wall, cpu = time.perf_counter() - self._wall, time.process_time() - self._cpu
        return f"{wall:6.2f} s ({cpu:.2f} s CPU)"


def run(jobs: int, seconds: float, days: float) -> None:
    boats = _boats()
    with tempfile.TemporaryDirectory() as place:
        folder = boats.write_boat(Path(place) / "boat", jobs)
        watch = _Watch()
        facts, given = facts_and_given(folder, boats.NOW, days=days)
        print(f"\n{jobs} jobs, {days:.0f} days ahead\n  conditions      {watch}")
        watch = _Watch()
        problem = build_problem(given)
        starts = sum(mode.starts.size for task in problem.tasks for mode in task.modes)
        needed = sum(not task.optional for task in problem.tasks)
        print(
            f"  tables          {watch}  {needed} steps to be done, "
            f"{len(problem.tasks) - needed} sandings at need, {len(problem.links)} relations, "
            f"{starts} allowed starts"
        )
        for job, why in problem.left_out:
            print(f"    left out: {job}: {why[:80]}")
        watch = _Watch()
        early = earliest_starts(problem)
        first = quick_order(problem)
        print("  least day", least_day(problem, early))
        print(f"  first order     {watch}  {_finish(problem, first)}")
        watch = _Watch()
        found = solve(problem, seconds=seconds)
        print(f"  search          {watch}  proven: {found.proven}")
        for step in found.steps:
            gap = 100.0 * (step.value - step.bound) / step.value if step.value else 0.0
            print(
                f"    {step.aim:7} {step.value:6} bound {step.bound:6} gap {gap:5.1f} % "
                f"{step.work:6.2f} s of work"
            )
        assert found.order is not None
        order = settled(problem, found.order, {}, set())
        watch = _Watch()
        faults = look_again(facts, given, problem, order)
        print(f"  second look     {watch}  faults: {len(faults)}  {_finish(problem, order)}")
        for fault in faults[:5]:
            print(f"    {fault.rule}: {fault.job} {fault.at:%d %b %H:%M} {fault.text}")


def _finish(problem, order) -> str:
    if order is None:
        return "no order"
    when = problem.slots.at(order.finish)
    return (
        f"done {when:%d %b %H:%M} UTC, day {(when - problem.slots.first) / timedelta(days=1):.1f}"
    )


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--jobs", type=int, action="append")
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--days", type=float, default=60.0)
    asked = parser.parse_args()
    for jobs in asked.jobs or [12, 40]:
        run(jobs, asked.seconds, asked.days if jobs <= 12 else max(asked.days, 120.0))
