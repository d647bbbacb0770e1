"""Who waits may stop at any time and keeps the best order there is."""

from __future__ import annotations

import boats
import pytest

from curewindow.order import search as searching
from curewindow.order.quick import quick_order
from curewindow.order.settle import fits
from curewindow.order.solve import solve


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


def test_the_same_problem_gives_the_same_order_again(problem) -> None:
    """Two workers and a fixed seed: the same as long as the time suffices to prove each aim."""
    one = solve(problem, seconds=60, workers=1)
    other = solve(problem, seconds=60, workers=1)
    assert one.order == other.order
    assert [s.value for s in one.steps] == [s.value for s in other.steps]
