"""The same morning gives the same plan, whatever else the machine does."""

from __future__ import annotations

import shutil
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import boats
import pytest

from curewindow.daysheet.ordering import facts_and_given
from curewindow.daysheet.planning import make_plan
from curewindow.demo import files as demofiles
from curewindow.order import work
from curewindow.order.build import build_problem
from curewindow.order.kept import load
from curewindow.order.plan import Plan
from curewindow.order.problem import Problem
from curewindow.order.settle import fits
from curewindow.order.solve import solve
from curewindow.voice.plan import CUT_SHORT

TIMES_AS_FAST = 3.0
AN_HOUR_S = 3600.0
DAYS = 30


def clock_running(monkeypatch: pytest.MonkeyPatch, times_as_fast: float) -> None:
    """As a machine so many times as slow has it: less gets done by the same clock."""
    begun, own = time.monotonic(), time.monotonic
    monkeypatch.setattr(work.time, "monotonic", lambda: begun + times_as_fast * (own() - begun))


@pytest.fixture(scope="module")
def problem(tmp_path_factory: pytest.TempPathFactory) -> Problem:
    """Four jobs, one of them heated: too much to be searched to its end in the work there is."""
    folder = boats.write_boat(tmp_path_factory.mktemp("four") / "boat", 4)
    _, given = facts_and_given(folder, boats.NOW, days=DAYS)
    return build_problem(given)


def test_a_slow_machine_finds_what_a_quick_one_finds(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = solve(problem, seconds=2.0)
    assert one.order is not None
    assert not one.proven, "or the bound on the work decides nothing"
    clock_running(monkeypatch, TIMES_AS_FAST)
    monkeypatch.setattr(work, "FAR", AN_HOUR_S)  # this machine may be busy in truth
    assert solve(problem, seconds=2.0) == one


def test_one_too_slow_to_be_waited_for_says_so_and_has_an_order(
    problem: Problem, monkeypatch: pytest.MonkeyPatch
) -> None:
    clock_running(monkeypatch, AN_HOUR_S)
    found = solve(problem, seconds=2.0)
    assert found.cut_short
    assert found.order is not None
    assert fits(problem, found.order)


def told(plan: Plan) -> Plan:
    """A plan but for when it was made and how long that took."""
    return plan.model_copy(update={"made_at": plan.as_of, "seconds": 0.0})


def a_morning(folder: Path) -> Path:
    """Two jobs of the demo, one that heat is put on for."""
    demofiles.write(folder, boats.NOW)
    text = (folder / "work.toml").read_text(encoding="utf-8")
    head, *jobs = text.split("[[job]]")
    kept = [job for job in jobs if '"forepeak frames"' in job or 'name = "chart table"' in job]
    (folder / "work.toml").write_text("[[job]]".join([head, *kept]), encoding="utf-8")
    return folder


@pytest.fixture(params=["two jobs", pytest.param("whole", marks=pytest.mark.slow)])
def planned(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[Path, Callable[[Path], Plan]]:
    """A boat folder, and how it is planned."""
    folder = tmp_path / "boat"
    if request.param == "whole":
        demofiles.write(folder, boats.NOW)
        return folder, lambda at: make_plan(at, boats.NOW, seconds=4.0).plan
    a_morning(folder)
    return folder, lambda at: make_plan(at, boats.NOW, days=8, seconds=2.0).plan


def test_the_same_morning_gives_the_same_plan_beside_a_busy_neighbour(
    planned, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, plan_of = planned
    monkeypatch.setattr(work, "FAR", AN_HOUR_S)
    other = Path(shutil.copytree(folder, tmp_path / "other"))
    one = plan_of(folder)
    assert one.steps
    busy = [subprocess.Popen([sys.executable, "-c", "while True: pass"]) for _ in range(1)]
    try:
        clock_running(monkeypatch, TIMES_AS_FAST)
        again = plan_of(other)
    finally:
        for each in busy:
            each.kill()
            each.wait()
    assert told(again).model_dump_json() == told(one).model_dump_json()


def test_made_anew_from_the_same_weather_and_log_nothing_moves(
    planned, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder, plan_of = planned
    monkeypatch.setattr(work, "FAR", AN_HOUR_S)
    plan_of(folder)
    before = load(folder)
    after = plan_of(folder)
    assert before.plan is not None
    assert {step.key: step.start for step in after.steps} == {
        step.key: step.start for step in before.plan.steps
    }
    assert after.heat_kwh == before.plan.heat_kwh
    assert (load(folder).placed, load(folder).warmed) == (before.placed, before.warmed)


def test_a_plan_cut_short_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    folder = a_morning(tmp_path / "boat")
    monkeypatch.setattr(work, "FAR", 0.0)
    plan = make_plan(folder, boats.NOW, days=8, seconds=2.0, keep=False).plan
    assert plan.steps
    assert CUT_SHORT in plan.notes
