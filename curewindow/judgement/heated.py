"""Conditions as they really are under a plan: its heat put on, one heater's spaces in turn."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from curewindow.boat.schema import Job
from curewindow.conditions import Changed, boat_conditions, learned_in
from curewindow.conditions.routine import setpoints_c
from curewindow.heating import HeatPlan
from curewindow.order.problem import Order, Problem
from curewindow.order.walk import PlacedWork
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.situation import Situation


def done_of(
    problem: Problem, order: Order, runs: Mapping[int, HeatPlan] | None = None
) -> list[PlacedWork]:
    """The pieces of work of an order, for the second look.

    ``runs``: heater runs told for some tasks, in the place of those the order knows.
    """
    found = []
    for each in order.placed:
        task = problem.tasks[each.task]
        mode = task.modes[each.mode]
        k = mode.place(each.start)
        assert k is not None
        warm = None
        if (run := (runs or {}).get(task.number)) is not None:
            warm = _span(run)
        elif mode.warm_until[k] > mode.warm_from[k]:
            warm = (
                problem.slots.at(int(mode.warm_from[k])),
                problem.slots.at(int(mode.warm_until[k])),
            )
        found.append(
            PlacedWork(
                job=task.job,
                step=task.step,
                coat=task.coat,
                sitting=task.sitting,
                start=problem.slots.at(each.start),
                end=problem.slots.at(each.start + task.hands),
                extra_sanding=task.optional,
                warm=warm,
            )
        )
    return found


def _span(run: HeatPlan) -> tuple[datetime, datetime]:
    assert run.light_at is not None
    assert run.hold_until is not None
    return run.light_at, run.hold_until


def conditions_under(
    facts: Situation, problem: Problem, order: Order, runs: Mapping[int, HeatPlan] | None = None
) -> dict[str, SurfaceSeries]:
    """Conditions at every job's surface with the heat of an order put on.

    Parameters
    ----------
    facts : Situation
        With weather over the whole plan.
    problem : Problem
    order : Order
    runs : mapping of int to HeatPlan, optional
        Heater runs told for some tasks, in the place of those the order knows.

    Returns
    -------
    dict of str to SurfaceSeries
        By job.
    """
    runs = runs or {}
    held = _setpoints(facts, problem, order, runs)
    if not held:
        return {job.name: _wiped(facts, job) for job in facts.work.job}
    changed = {
        name: Changed(setpoint_c=values, air_changes_h=_vents(facts, name, runs))
        for name, values in held.items()
    }
    conditions = boat_conditions(
        facts.boat,
        facts.forecast,
        facts.readings,
        facts.now,
        changed=changed,
        learned=learned_in(facts.folder),
        drying=facts.drying,
    )
    warm = replace(facts, conditions=conditions, _series={})
    return {job.name: _wiped(warm, job) for job in facts.work.job}


def _wiped(facts: Situation, job: Job) -> SurfaceSeries:
    """Conditions at a job's surface, what dew has left there wiped dry."""
    return replace(facts.series(job), lying_kg_m2=None)


def _vents(facts: Situation, space: str, runs: Mapping[int, HeatPlan]) -> FloatArray | None:
    """Air changes (1, T) as the runs of a space have its vents; NaN: as they are."""
    times = facts.forecast.times
    found = np.full(times.size, np.nan)
    for run in runs.values():
        if run.space == space and run.ventilation != "normal" and run.air_changes_h is not None:
            begin, end = _span(run)
            found[(times >= _moment(begin)) & (times < _moment(end))] = run.air_changes_h
    return None if np.isnan(found).all() else found[np.newaxis, :]


def _setpoints(
    facts: Situation, problem: Problem, order: Order, runs: Mapping[int, HeatPlan]
) -> dict[str, FloatArray]:
    """Setpoints (1, T) of the spaces whose heat is otherwise than by their routine."""
    times = facts.forecast.times
    routine = {
        space.name: setpoints_c(space.heating, facts.boat, times) for space in facts.boat.space
    }
    kept: dict[str, FloatArray] = {}
    needed: dict[str, BoolArray] = {}
    for each in order.placed:
        task = problem.tasks[each.task]
        mode = task.modes[each.mode]
        k = mode.place(each.start)
        assert k is not None
        if task.space is None or mode.warm_until[k] <= mode.warm_from[k]:
            continue
        begin = _moment(problem.slots.at(int(mode.warm_from[k])))
        end = _moment(problem.slots.at(int(mode.warm_until[k])))
        level = mode.level_c
        if (run := runs.get(task.number)) is not None:
            begin, end = (_moment(at) for at in _span(run))
            level = run.setpoint_c
        inside = (times >= begin) & (times <= end)
        needed.setdefault(task.space, np.zeros(times.size, np.bool_))[inside] = True
        if level is not None:
            own = kept.setdefault(task.space, routine[task.space].copy())
            own[inside] = np.fmax(own[inside], level)
    for heater in problem.heaters:
        if heater.at_once >= len(heater.spaces):
            continue
        wanted = np.stack(
            [needed.get(name, np.zeros(times.size, np.bool_)) for name in heater.spaces]
        )
        full = wanted.sum(axis=0) >= heater.at_once
        for number, name in enumerate(heater.spaces):
            off = full & ~wanted[number]
            if off.any() and np.isfinite(routine[name]).any():
                own = kept.setdefault(name, routine[name].copy())
                own[off] = np.nan
    return {name: values[np.newaxis, :] for name, values in kept.items()}


def _moment(when: datetime) -> np.datetime64:
    return np.datetime64(when.astimezone(UTC).replace(tzinfo=None), "s")
