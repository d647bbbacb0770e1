"""Heat as far as the forecast carries: one run for a step, whoever tells it."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import boats
import pytest
from click.testing import CliRunner

from curewindow.cli.main import command
from curewindow.daysheet.assemble import day_sheet
from curewindow.daysheet.ordering import facts_and_given
from curewindow.daysheet.planning import make_plan
from curewindow.demo import files as demofiles
from curewindow.judgement.heat import heat_plans
from curewindow.order.delay import delay_weights
from curewindow.order.plan import Plan, PlannedStep
from tests.fewer_jobs import only_jobs

pytestmark = pytest.mark.slow

AT = "2026-11-25 08:30"


@pytest.fixture(scope="module")
def boat(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Plan]:
    folder = tmp_path_factory.mktemp("near") / "boat"
    demofiles.write(folder, boats.NOW)
    only_jobs(folder, "forepeak frames", "wet locker primer", "wet locker cork")
    return folder, make_plan(folder, boats.NOW, days=20, seconds=8.0).plan


def heated(plan: Plan) -> list[PlannedStep]:
    return [step for step in plan.steps if step.setpoint_c is not None]


def test_every_heated_step_within_the_forecast_has_its_own_run(boat: tuple[Path, Plan]) -> None:
    _, plan = boat
    assert plan.verified
    assert heated(plan)
    for step in heated(plan):
        run = step.heat
        assert run is not None
        assert run.status == "possible"
        assert (run.start, run.job, run.space) == (step.start, step.job, step.space)
        assert (step.setpoint_c, step.heat_from) == (run.setpoint_c, run.light_at)
        assert step.heat_until == run.hold_until
        assert run.light_at is not None
        assert run.latest_light_at is not None
        assert run.hold_until is not None
        assert plan.as_of <= run.light_at <= run.latest_light_at <= step.start < run.hold_until
        # nobody is told to hold more than the heater gets to
        assert run.reached_c is not None
        assert run.setpoint_c is not None
        assert run.reached_c >= run.setpoint_c - 0.5
        assert run.use is not None
        assert run.use.energy_kwh > 0.0
        # whoever is aboard from eight to six leaves it alone at night
        if run.light_at.date() != run.hold_until.date():
            assert any(each.kind == "heat unattended" for each in run.cautions)


def test_heat_and_day_sheet_tell_the_run_of_the_plan(boat: tuple[Path, Plan]) -> None:
    folder, plan = boat
    sheet = {day.job: day for day in day_sheet(folder, boats.NOW).jobs}
    told = 0
    for step in heated(plan):
        day = sheet[step.job]
        assert day.next is not None
        if (day.next.step, day.next.coat) != (step.step, step.coat):
            continue
        alone = heat_plans(folder, boats.NOW, job=step.job).plans[0]
        if alone.status == "waits":
            continue  # what comes before it is for the log to tell
        assert step.heat is not None
        assert (alone.light_at, alone.setpoint_c, alone.hold_until) == (
            step.heat.light_at,
            step.heat.setpoint_c,
            step.heat.hold_until,
        )
        assert alone.use == step.heat.use
        if day.heat is not None:
            assert day.heat.verdict == alone.verdict
        told += 1
    text = CliRunner(env={"COLUMNS": "100"}).invoke(
        command, ["plan", "--boat", str(folder), "--at", AT, "--kept"]
    )
    assert text.exit_code == 0
    assert "light the heater" in " ".join(text.output.split())
    data = json.loads(
        CliRunner()
        .invoke(command, ["plan", "--boat", str(folder), "--at", AT, "--kept", "--json"])
        .output
    )
    runs = [step["heat"] for step in data["steps"] if step["heat"] is not None]
    assert len(runs) == len(heated(plan))


def test_a_run_that_can_no_longer_be_lit_is_not_told(boat: tuple[Path, Plan]) -> None:
    folder, plan = boat
    first = min(heated(plan), key=lambda step: step.start)
    assert first.heat is not None
    assert first.heat.latest_light_at is not None
    late = first.heat.latest_light_at + timedelta(minutes=1)
    for each in heat_plans(folder, late, job=first.job).plans:
        assert each.light_at is None or each.light_at >= late - timedelta(minutes=10)


def test_a_surface_is_made_ready_right_before_its_coat(tmp_path: Path) -> None:
    """Dust, bloom and a cold surface age badly: common practice, no source."""
    folder = tmp_path / "boat"
    demofiles.write(folder, boats.NOW)
    only_jobs(folder, "saloon benches", "pump well")
    made = make_plan(folder, boats.NOW, days=20, seconds=8.0, keep=False)
    problem, order = made.problem, made.solved.order
    assert order is not None
    at = {each.task: each.start for each in order.placed}
    _, ready = delay_weights(problem)
    coats = [task for task in problem.tasks if task.coat == 1 and ready[task.number] > 0]
    assert coats
    for coat in coats:
        before = [t for t in problem.tasks if ready[t.number] < 0 and t.job == coat.job]
        last = max(at[t.number] + t.hands for t in before)
        assert (at[coat.number] - last) * problem.slots.hours <= 24.0


def test_a_second_plan_of_a_morning_reads_the_opened_starts_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "boat"
    demofiles.write(folder, boats.NOW)
    only_jobs(folder, "forepeak frames", "pump well")

    def starts() -> list[tuple[bytes, ...]]:
        facts, given = facts_and_given(folder, boats.NOW, days=20)
        assert given.near is not None
        found = [
            given.near.heated(job, number, False)
            for job in facts.work.job
            for number, step in enumerate(job.step, 1)
            if step.sheet is not None
        ]
        told = [each for each in found if each is not None]
        assert told
        return [
            tuple(v.tobytes() for v in (each.start, each.light, each.end, each.series.air_c))
            for each in told
        ]

    first = starts()
    asked: list[object] = []
    monkeypatch.setattr("curewindow.heating.opened.opened_starts", lambda *_: asked.append(1))
    assert starts() == first
    assert not asked
    # another heater is another question
    text = (folder / "boat.toml").read_text()
    changed = text.replace("5 kW", "4 kW", 1)
    assert changed != text
    (folder / "boat.toml").write_text(changed)
    with pytest.raises(AssertionError):
        starts()
    assert asked
