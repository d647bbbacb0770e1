"""A plan with the heat over films that are on: told with the step each film is waited for by."""

from __future__ import annotations

from collections.abc import Mapping

from curewindow.cautions import gravest_first
from curewindow.heating import HeatPlan
from curewindow.order.plan import Plan, PlannedStep
from curewindow.order.problem import Problem


def idle_runs(plan: Plan, runs: Mapping[str, HeatPlan]) -> set[str]:
    """Jobs whose next step an order begins no sooner for the run it takes as lit."""
    first = _first_steps(plan)
    return {job for job, run in runs.items() if not _sooner(first.get(job), run)}


def _sooner(step: PlannedStep | None, run: HeatPlan) -> bool:
    if step is None:
        return False  # beyond the forecast
    otherwise = run.verdict.moment("otherwise")
    return otherwise is None or step.start < otherwise


def _first_steps(plan: Plan) -> dict[str, PlannedStep]:
    found: dict[str, PlannedStep] = {}
    for step in sorted(plan.steps, key=lambda each: each.start):
        found.setdefault(step.job, step)
    return found


def with_hardening(plan: Plan, problem: Problem, runs: Mapping[str, HeatPlan]) -> Plan:
    """The plan with each run told at the step that begins the sooner for it, and its fuel.

    Parameters
    ----------
    plan : Plan
        Made with these runs taken as lit.
    problem : Problem
    runs : mapping of str to HeatPlan
        By job.
    """
    if not runs:
        return plan
    first = {job: step.key for job, step in _first_steps(plan).items()}
    steps = [
        _with_run(step, runs[step.job])
        if step.job in runs and first[step.job] == step.key
        else step
        for step in plan.steps
    ]
    uses = [(run.use, run.routine_kwh) for run in runs.values()]
    kwh = sum(max(use.energy_kwh - usual, 0.0) for use, usual in uses if use is not None)
    per = problem.heaters[0].kwh_per_unit if problem.heaters else 1.0
    return plan.model_copy(
        update={
            "steps": steps,
            "heat_kwh": round(plan.heat_kwh + kwh, 1),
            "fuel_amount": round((plan.heat_kwh + kwh) / per, 1),
        }
    )


def _with_run(step: PlannedStep, run: HeatPlan) -> PlannedStep:
    cautions = gravest_first(list(dict.fromkeys([*step.cautions, *run.cautions])))
    return step.model_copy(update={"heat_before": run, "cautions": cautions})
