"""Who waits may stop at any time and keeps the best order there is."""

from __future__ import annotations

import signal
import subprocess
import sys
import time
from types import SimpleNamespace

import boats
import pytest
from ortools.sat.python import cp_model

from curewindow.order import search as searching
from curewindow.order.asking import ask
from curewindow.order.quick import quick_order
from curewindow.order.settle import fits
from curewindow.order.solve import solve
from curewindow.order.work import Work


@pytest.fixture
def problem():
    return boats.workshop(tasks=12)


def test_asked_to_stop_it_keeps_the_best_so_far(problem) -> None:
    found = solve(problem, seconds=30, stop=lambda: True)
    assert found.stopped or found.proven
    assert found.order is not None
    assert fits(problem, found.order)


def test_an_interrupt_while_the_model_is_built_leaves_the_quick_order(
    problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    def interrupted(*args: object, **more: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(searching, "build_model", interrupted)
    found = solve(problem, seconds=30)
    assert found.stopped
    assert found.order == quick_order(problem)


@pytest.mark.slow
def test_every_better_order_is_told_with_its_bound(problem) -> None:
    told: list[tuple[str, int, int]] = []
    found = solve(
        problem,
        seconds=30,
        progress=lambda aim, order, value, bound: told.append((aim, value, bound)),
    )
    assert found.order is not None
    assert told[0][0] == "date"
    assert all(bound <= value for _, value, bound in told)


@pytest.mark.slow
def test_the_same_problem_gives_the_same_order_again(problem) -> None:
    one = solve(problem, seconds=60)
    other = solve(problem, seconds=60)
    assert one.order == other.order
    assert [s.value for s in one.steps] == [s.value for s in other.steps]


HARD = """
import signal, time
from types import SimpleNamespace
from ortools.sat.python import cp_model
from curewindow.order.asking import ask
from curewindow.order.work import Work

signal.signal(signal.SIGINT, signal.default_int_handler)
cp = cp_model.CpModel()
nests, birds = range(14), range(15)  # one more than there is room for: hard to refute
sits = [[cp.new_bool_var(f"{bird} in {nest}") for nest in nests] for bird in birds]
for row in sits:
    cp.add_bool_or(row)
for nest in nests:
    for bird in birds:
        for other in range(bird):
            cp.add_bool_or([~sits[bird][nest], ~sits[other][nest]])
print("asking", flush=True)
begun = time.monotonic()
try:
    ask(SimpleNamespace(cp=cp), Work(60.0), 60.0)
except KeyboardInterrupt:
    print("interrupted after", time.monotonic() - begun)
"""


def test_an_interrupt_reaches_who_waits_while_the_solver_works() -> None:
    """A real one, sent to a real process amid a search that takes far longer than the test."""
    waits = subprocess.Popen([sys.executable, "-c", HARD], stdout=subprocess.PIPE, text=True)
    assert waits.stdout is not None
    assert waits.stdout.readline() == "asking\n"
    time.sleep(1.0)
    waits.send_signal(signal.SIGINT)
    said, _ = waits.communicate(timeout=45.0)
    assert waits.returncode == 0
    assert said.startswith("interrupted after")
    assert 0.9 <= float(said.split()[-1]) < 40.0


def test_a_model_that_is_not_valid_is_said_to_be() -> None:
    cp = cp_model.CpModel()
    one = cp.new_bool_var("one")
    cp.add_hint(one, 1)
    cp.add_hint(one, 0)  # twice the same hint is not valid
    with pytest.raises(ValueError, match="not valid"):
        ask(SimpleNamespace(cp=cp), Work(5.0), 5.0)  # type: ignore[arg-type]
