"""Spaces kept warm for a plan: lit the evening before, or for weeks."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import fields, replace
from functools import cache, partial
from typing import Any

import numpy as np

from curewindow.boat.hours import local_clock
from curewindow.boat.schema import Job, Space
from curewindow.cautions import cautions_for, refusal_of
from curewindow.cautions.alone import not_planned
from curewindow.conditions import (
    Changed,
    SpaceConditions,
    boat_conditions,
    learned_in,
    surface_series,
)
from curewindow.conditions.aired import ActingOn
from curewindow.conditions.routine import setpoints_c
from curewindow.order.given import WhenAsked
from curewindow.order.heaterruns import EVENING_RUNS, held_evenings, held_long_runs
from curewindow.order.modes import LEVELS
from curewindow.rules.sleep import attended
from curewindow.rules.unflued import unflued_for
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.situation import Situation
from curewindow.weather.continued import of_rows

Warmed = Mapping[tuple[str, float], SurfaceSeries]
KeptWarm = tuple[Warmed, Warmed, dict[tuple[str, float], FloatArray]]


def kept_warm(facts: Situation, left: list[Job]) -> KeptWarm:
    """Each heated space at each setpoint.

    Wood, stores and plating give off what they hold for days once they get warm: a space
    lit last evening is damper than one that has been warm for a week. So every setpoint
    is run :data:`curewindow.order.heaterruns.EVENING_RUNS` times, lit the evening before every
    seventh day and let go cold in between; and the warmest for weeks on end, beginning now
    and every :data:`curewindow.order.heaterruns.LONG_RUN_EVERY_DAYS` days from now.

    Parameters
    ----------
    facts : Situation
        With weather over the whole plan.
    left : list of Job
        Jobs that are not done.

    Returns
    -------
    warmed, steady : dict of (job, setpoint) to SurfaceSeries
        (evening runs x members, T) and (long runs x members, T), those when asked for.
    extra_w : dict of (space, setpoint) to ndarray, shape (T,)
        Heat beyond the routine's while it is held.
    """
    warmed: dict[tuple[str, float], SurfaceSeries] = {}
    steady: dict[tuple[str, float], Callable[[], SurfaceSeries]] = {}
    extra: dict[tuple[str, float], FloatArray] = {}
    for space, jobs in _planned_warm(facts, left):
        rows = facts.forecast.members
        found, held = _run(facts, space)
        for level, pulsed in _each_level(found, rows):
            extra[(space.name, level)] = _extra_w(facts, space, pulsed, held)
            for job in jobs:
                warmed[(job.name, level)] = _surface(facts, job, pulsed)
        # Most coats have starts enough without: run only when one asks.
        through = cache(partial(_for_long, facts, space))
        for job in jobs:
            steady[(job.name, LEVELS[-1])] = partial(_in_long_run, facts, job, through)
    for space in _lit_near_only(facts, left):
        # What it takes while someone is aboard: no coat beyond the forecast counts on it.
        one = replace(facts, forecast=of_rows(facts.forecast, np.zeros(1, np.int64)))
        found, held = _run(one, space)
        for level, pulsed in _each_level(found, 1):
            extra[(space.name, level)] = _extra_w(facts, space, pulsed, held)
    return warmed, WhenAsked(steady), extra


def _each_level(found: SpaceConditions, rows: int) -> Iterator[tuple[float, SpaceConditions]]:
    """The evening runs of each setpoint."""
    for number, level in enumerate(LEVELS):
        first = number * EVENING_RUNS * rows
        yield level, _rows_of(found, slice(first, first + EVENING_RUNS * rows))


def _extra_w(
    facts: Situation, space: Space, pulsed: SpaceConditions, held: BoolArray
) -> FloatArray:
    """Heat beyond the routine's while it is held, (T,) [W]."""
    routine_w = facts.conditions[space.name].heat_w
    rows = len(pulsed.heat_w) // EVENING_RUNS
    more = pulsed.heat_w.reshape(EVENING_RUNS, rows, -1) - routine_w[:rows]
    mean = np.nan_to_num(more).mean(axis=1)
    often = np.maximum(held.sum(axis=0), 1)
    found: FloatArray = np.where(held, mean, 0.0).sum(axis=0) / often
    return found


def warm_for_long(facts: Situation, left: list[Job]) -> KeptWarm:
    """As :func:`kept_warm`, with nothing but each space kept warm from now on.

    One run a setpoint instead of eight, for the many years of a season; and each only when it
    is asked for, as the cooler one is only where the warmest does not do. What the heat takes
    is left out: no season is weighed by it.
    """
    makers: dict[tuple[str, float], Callable[[], SurfaceSeries]] = {}
    for space, jobs in _planned_warm(facts, left):
        # One run serves all jobs in the space.
        run = cache(partial(_from_now_on, facts, space))
        for level in LEVELS:
            for job in jobs:
                makers[(job.name, level)] = partial(_in_run, facts, job, run, level)
    return {}, WhenAsked(makers), {}


def _from_now_on(facts: Situation, space: Space, level: float) -> SpaceConditions:
    """A space never cooler than a setpoint from now on."""
    routine = setpoints_c(space.heating, facts.boat, facts.forecast.times)
    from_now = facts.forecast.times >= _now(facts)
    held = np.where(from_now, np.fmax(routine, level), routine)
    return _with_setpoints(facts, space, [held])


def _in_run(
    facts: Situation, job: Job, run: Callable[[float], SpaceConditions], level: float
) -> SurfaceSeries:
    return _surface(facts, job, run(level))


def _planned_warm(facts: Situation, left: list[Job]) -> Iterator[tuple[Space, list[Job]]]:
    """Spaces whose heater a plan may light, with the jobs there that put something on."""
    for space in facts.boat.space:
        jobs = [
            job
            for job in left
            if job.space == space.name and any(step.sheet is not None for step in job.step)
        ]
        if jobs and _planned_with(facts, space):
            warm = [job for job in jobs if may_be_warm(facts, job, space)]
            if warm:
                yield space, warm


def may_be_warm(facts: Situation, job: Job, space: Space) -> bool:
    """May the heater there be lit over what the job puts on?"""
    return not any(
        refusal_of(
            cautions_for(
                [facts.sheet(step.sheet).sheet], job, space, facts.boat, space.heating, step=step
            )
        )
        for step in job.step
        if step.sheet is not None
    )


def _planned_with(facts: Situation, space: Space) -> bool:
    """May its heater be lit the evening before, and held for days?

    Not one without a flue, nor one that is not left alone.
    """
    if space.heating is None or space.logged_only:
        return False
    return not_planned(facts.boat, space, facts.forecast.times) is None


def lit_near(facts: Situation, space: Space) -> bool:
    """May a plan light its heater as far as the forecast carries, if only while someone is aboard?

    Not one without a flue.
    """
    if space.heating is None or space.logged_only:
        return False
    return unflued_for(facts.boat, space) is None


def _lit_near_only(facts: Situation, left: list[Job]) -> Iterator[Space]:
    """Spaces whose heater a plan may light in the hours aboard, and not beyond them."""
    for space in facts.boat.space:
        wanted = [
            job
            for job in left
            if job.space == space.name and any(step.sheet is not None for step in job.step)
        ]
        if not lit_near(facts, space) or _planned_with(facts, space):
            continue
        if any(may_be_warm(facts, job, space) for job in wanted):
            yield space


def _run(facts: Situation, space: Space) -> tuple[SpaceConditions, BoolArray]:
    """All setpoints lit of an evening in one march, as more members; when heat is held."""
    routine = setpoints_c(space.heating, facts.boat, facts.forecast.times)
    hours, _ = _hours(facts)
    aboard = attended(facts.boat, facts.forecast.times)
    held = held_evenings(hours, aboard)
    # Never cooler than the routine.
    warm = [np.fmax(routine, level) for level in LEVELS]
    setpoints = [np.where(each, level, routine) for level in warm for each in held]
    return _with_setpoints(facts, space, setpoints), held


def _for_long(facts: Situation, space: Space) -> SpaceConditions:
    """The warmest setpoint held for weeks, all long runs in one march."""
    routine = setpoints_c(space.heating, facts.boat, facts.forecast.times)
    hours, now_h = _hours(facts)
    held = held_long_runs(hours, attended(facts.boat, facts.forecast.times), now_h)
    warm = np.fmax(routine, LEVELS[-1])
    return _with_setpoints(facts, space, [np.where(each, warm, routine) for each in held])


def _in_long_run(facts: Situation, job: Job, run: Callable[[], SpaceConditions]) -> SurfaceSeries:
    return _surface(facts, job, run())


def _with_setpoints(facts: Situation, space: Space, setpoints: list[FloatArray]) -> SpaceConditions:
    """All setpoints in one run, each as so many more members as the weather has."""
    rows = facts.forecast.members
    changed = Changed(setpoint_c=np.repeat(setpoints, rows, axis=0))
    found = boat_conditions(
        facts.boat,
        of_rows(facts.forecast, np.tile(np.arange(rows), len(setpoints))),
        facts.readings,
        facts.now,
        only=[space.name],
        changed={space.name: changed},
        learned=learned_in(facts.folder),
        drying=facts.drying,
    )
    return found[space.name]


def _now(facts: Situation) -> np.datetime64:
    return np.datetime64(int(facts.now.timestamp()), "s")


def _hours(facts: Situation) -> tuple[FloatArray, float]:
    """Hours since the midnight today began with, by the boat's clock; and how many it is now."""
    zone = facts.boat.place.time_zone
    day, second = local_clock(facts.forecast.times, zone)
    today, since = local_clock(np.array([_now(facts)]), zone)
    hours = 24.0 * (day - today[0]) + second / 3600.0
    return np.asarray(hours, dtype=np.float64), float(since[0]) / 3600.0


def _surface(facts: Situation, job: Job, conditions: SpaceConditions) -> SurfaceSeries:
    return surface_series(
        facts.boat,
        job,
        None,
        facts.forecast,
        facts.readings,
        facts.now,
        spaces={**facts.conditions, conditions.space: conditions},
    )


def _rows_of(conditions: SpaceConditions, rows: slice) -> SpaceConditions:
    """Some members of a space's conditions."""
    total = len(conditions.air_c)
    picked: dict[str, Any] = {}
    for each in fields(conditions):
        value = getattr(conditions, each.name)
        if isinstance(value, np.ndarray) and value.ndim == 2 and len(value) == total:
            picked[each.name] = value[rows]
        elif isinstance(value, Mapping):
            picked[each.name] = {name: part[rows] for name, part in value.items()}
        elif isinstance(value, ActingOn):
            picked[each.name] = value.of_rows(rows)
    return replace(conditions, **picked)
