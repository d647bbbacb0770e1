"""How long a heating plan takes to find.

Run apart: pytest tests/benchmarks/bench_heating.py -s. Measured on two shared cores
of a small server, busy with other work: 1.6 s for 300 candidates over 16 days, run and judged;
1.2 s for a whole plan, 3.2 s for one with solvent to air out.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "heating"))
from cold_boat import SOLVENT, boat, heater, job, made, sheet, weather

from curewindow.heating.evaluate import VENTS, Candidates, evaluate
from curewindow.heating.plan import find


def quickest(run, times: int = 3) -> float:
    taken = []
    for _ in range(times):
        begin = time.perf_counter()
        run()
        taken.append(time.perf_counter() - begin)
    return min(taken)


@pytest.mark.benchmark
def test_three_hundred_candidates_over_sixteen_days_run_and_judged() -> None:
    """Each start of each candidate judged: 300 by 2305 grid points of 10 min."""
    _, task, room = made(boat(heater()), weather(days=16.0, step_min=10))
    setpoint, light = np.meshgrid(np.linspace(11.0, 27.0, 10), np.arange(30) * 72)
    as_they_are = np.full(300, VENTS.index("normal"))
    candidates = Candidates(
        setpoint.ravel(), light.ravel().astype(np.int64), np.full(300, -1, np.int64), as_they_are
    )
    taken = quickest(lambda: evaluate(task, room, candidates, room.power_w))
    print(f"300 candidates, 16 days, 10 min: {taken:.2f} s")
    assert taken < 2.0


@pytest.mark.benchmark
@pytest.mark.parametrize("aired", [False, True], ids=["no vapour", "solvent aired out"])
def test_a_whole_plan(aired: bool) -> None:
    of = sheet(**(SOLVENT if aired else {}))
    _, task, room = made(boat(heater()), weather(days=16.0, step_min=10), of, job=job(area="1 m²"))
    taken = quickest(lambda: find(task, room))
    print(f"a plan, {'aired' if aired else 'plain'}: {taken:.2f} s")
    assert taken < 4.0
