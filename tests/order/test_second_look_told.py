"""What the second look finds wrong is never kept quiet: the plan says it is not to be trusted."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import boats
import pytest
from click.testing import CliRunner

from curewindow.cli.main import command
from curewindow.daysheet import planning, secondlook
from curewindow.demo import files as demofiles
from curewindow.order.problem import Order, Problem
from tests.fewer_jobs import only_jobs

DAYS = 12
AT = "2026-11-25 08:30"


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    demofiles.write(tmp_path / "boat", boats.NOW)
    only_jobs(tmp_path / "boat", "saloon doors", "chart table")
    return tmp_path / "boat"


def two_at_once(problem: Problem, order: Order) -> Order:
    """One piece begun with another, at a start its own table allows."""
    for first in order.placed:
        for index, second in enumerate(order.placed):
            starts = problem.tasks[second.task].modes[second.mode].starts
            if second is not first and first.start in starts:
                placed = list(order.placed)
                placed[index] = replace(second, start=first.start)
                return replace(order, placed=tuple(placed))
    raise AssertionError("no two pieces of this work could begin together")


def test_an_order_that_breaks_a_rule_is_told_as_such(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settled = planning.settled
    monkeypatch.setattr(
        planning, "settled", lambda left, *rest: two_at_once(left, settled(left, *rest))
    )
    made = planning.make_plan(folder, boats.NOW, days=DAYS)
    assert not made.plan.verified
    assert any("at the same time" in fault for fault in made.plan.faults)
    told = CliRunner(env={"COLUMNS": "80"}).invoke(
        command, ["plan", "--boat", str(folder), "--at", AT, "--kept"]
    )
    assert "at the same time" in " ".join(told.output.split())


def test_a_sound_order_is_looked_at_with_the_heat_it_puts_on(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Every order is looked at again, and in the conditions its own heat gives."""
    seen: list[tuple[Order, object]] = []
    conditions_under = secondlook.conditions_under

    def counted(facts: object, problem: Problem, order: Order, runs: object) -> object:
        seen.append((order, found := conditions_under(facts, problem, order, runs)))
        return found

    monkeypatch.setattr(secondlook, "conditions_under", counted)
    made = planning.make_plan(folder, boats.NOW, days=DAYS, keep=False)
    assert made.plan.verified
    assert made.solved.order in [order for order, _ in seen]
