"""A space run again with a change that is only thought of, beside how it is."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.answers import Clock
from curewindow.boat.named import job_or_space
from curewindow.boat.schema import Job, Space
from curewindow.cautions import gravest_first
from curewindow.cautions.airflow import solvent_airflow_m3_h
from curewindow.cautions.alone import lit_alone
from curewindow.cautions.fire import flammable
from curewindow.cautions.spaces import heater_cautions
from curewindow.conditions import Changed
from curewindow.conditions.course import utc64
from curewindow.conditions.wetness import dew_and_frost
from curewindow.errors import CurewindowError, QuantityError
from curewindow.explain.change import Intervention, as_finding, changed_inputs, meant, with_heater
from curewindow.explain.control import BEYOND, control_conditions, control_facts
from curewindow.explain.ifmodels import Course, JobCompared, JobThen, Lying, WhatIf
from curewindow.explain.unflued import refuse_unflued
from curewindow.explain.vapour import over_vapour, refuse_over_vapour, warms
from curewindow.findings import Finding, finding
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.jobday import find, job_day
from curewindow.series import FloatArray
from curewindow.situation import Situation, read_situation
from curewindow.weather.choose import raise_unless_begun
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import utc_of

_LOOKED_AT = timedelta(hours=24)  # of a change without an end
_COLD_C = 12.0
HELD_G_M2 = 100.0
"""More than a tenth of a millimetre does not stay in drops and films on paint (estimate)."""


def what_if(
    folder: Path,
    now: datetime,
    name: str,
    change: Intervention,
    *,
    days: float = 3.0,
    forecast: Forecast | None = None,
) -> WhatIf:
    """Say what a change would do to a space, its surfaces and its jobs.

    Nothing is written.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    name : str
        A space, or a job in one: then its own surface is looked at, else the coldest.
    change : Intervention
        What would be done.
    days : float
        So far ahead windows are told.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.

    Raises
    ------
    NotFoundError
        No job or space of that name.
    QuantityError
        A change that begins before now, or ends before it begins.
    CurewindowError
        Outdoors, a space known from readings alone, warmth without a heater; a
        hand-written file, the weather or the record cannot be used.
    """
    facts = read_situation(folder, now, forecast)
    target = job_or_space(facts.boat, facts.work, name)
    space = _space(facts, target)
    change = meant(change, facts.boat, space)
    until = _until(facts, change)
    assumed: list[Finding] = []
    ahead = max(until, facts.now + timedelta(days=days)) + BEYOND
    doubted = facts.forecast.members > 1
    near = [space.name, *_leaning(facts, space), *change.doors]
    facts = control_facts(facts, ahead, near)
    if doubted:
        assumed.append(finding("as forecast alone", until=_last(facts)))
    refuse_unflued(facts, space, change, until)
    refuse_over_vapour(facts, space, change)
    inputs, more = changed_inputs(change, facts.boat, space, facts.forecast)
    assumed += more
    then = _then(facts, space, change, inputs)
    job = target if isinstance(target, Job) else None
    jobs = [job] if job else [j for j in facts.work.job if j.space == space.name]
    compared = _compared(facts, then, jobs, facts.now + timedelta(days=days))
    surface, before = _course(facts, space, job, change.start, until)
    _, after = _course(then, space, job, change.start, until)
    lying = _lying(facts, then, space, _span(facts, change.start, until))
    words = facts.words
    return WhatIf(
        boat=facts.boat.name,
        time_zone=facts.boat.place.time_zone,
        temperature_unit="°F" if words.fahrenheit else "°C",
        as_of=facts.now,
        space=space.name,
        surface=surface,
        change=as_finding(change, space),
        start=change.start,
        until=until,
        before=before,
        after=after,
        lying=lying,
        jobs=compared,
        cautions=_cautions(then, space, jobs, change, until),
        notes=list(
            dict.fromkeys(
                (
                    *assumed,
                    *_reached(change, after),
                    *_dries(inputs, space, after),
                    *([finding("water runs down")] if any(map(_runs_down, lying)) else []),
                    *facts.conditions[space.name].notes,
                )
            )
        ),
        attribution=facts.forecast.attribution,
    )


def _space(facts: Situation, target: Job | Space | None) -> Space:
    space = target if isinstance(target, Space) else None
    if isinstance(target, Job) and target.space is not None:
        space = facts.boat.find_space(target.space)
    if space is None:
        raise CurewindowError(
            "outdoors nothing can be heated or aired: name a space, or a job in one"
        )
    if space.logged_only:
        raise CurewindowError(
            f"the {space.name} is known from readings alone: give its volume and panels in "
            "boat.toml to ask what would be"
        )
    return space


def _until(facts: Situation, change: Intervention) -> datetime:
    """End of the hours looked at."""
    words = facts.words
    if change.start < facts.now:
        raise QuantityError(f"{words.when(change.start)} is over: a change begins now or later")
    if change.until is not None and change.until <= change.start:
        raise QuantityError(
            f"the change would end {words.when(change.until)}, before it begins "
            f"{words.when(change.start)}"
        )
    last = _last(facts)
    until = min(change.until or change.start + _LOOKED_AT, last)
    if until <= change.start:
        raise QuantityError(f"the weather is known until {words.when(last)} only")
    raise_unless_begun(facts.forecast, change.start, until, words.zone)
    return until


def _last(facts: Situation) -> datetime:
    """End of the weather known."""
    return utc_of(facts.forecast.times[-1])


def _then(facts: Situation, space: Space, change: Intervention, inputs: Changed) -> Situation:
    """What would be known if it were done."""
    conditions = control_conditions(
        facts, facts.forecast, [space.name, *_leaning(facts, space)], {space.name: inputs}
    )
    return replace(
        facts,
        boat=with_heater(change, facts.boat, space, facts.forecast),
        conditions={**facts.conditions, **conditions},
        changed={space.name: inputs},
        _series={},
        _masks={},
    )


def _lying(facts: Situation, then: Situation, space: Space, span: slice) -> list[Lying]:
    """Water and frost on the panels, both ways, where there is any in the hours looked at."""
    found = []
    both = (facts.conditions[space.name], then.conditions[space.name])
    for panel in both[0].lying_kg_m2:
        figures = []
        for conditions in both:
            lying = 1000.0 * conditions.lying_kg_m2[panel][0, span]
            frost = 1000.0 * conditions.frost_kg_m2[panel][0, span]
            figures += [_most(lying - frost), _most(frost)]
        if any(figure is not None and figure >= 1.0 for figure in figures):
            found.append(
                Lying(
                    panel=panel,
                    water_before_g_m2=figures[0],
                    frost_before_g_m2=figures[1],
                    water_after_g_m2=figures[2],
                    frost_after_g_m2=figures[3],
                )
            )
    return found


def _most(values: FloatArray) -> float | None:
    return None if np.isnan(values).any() or not values.size else round(float(values.max()), 1)


def _runs_down(lying: Lying) -> bool:
    return max(lying.water_before_g_m2 or 0.0, lying.water_after_g_m2 or 0.0) > HELD_G_M2


def _dries(inputs: Changed, space: Space, after: Course) -> tuple[Finding, ...]:
    """What a condensing dehumidifier is worth in this cold."""
    drier = inputs.dehumidifier
    kind = drier.kind if drier is not None else ""
    if drier is None and inputs.drying is not None and space.dehumidifier is not None:
        kind = space.dehumidifier.kind
    on = inputs.drying is not None and bool(np.nanmax(inputs.drying) > 0.0)
    lowest = after.air_lowest_c
    if kind != "condensing" or not on or lowest is None or lowest >= _COLD_C:
        return ()
    return (finding("drier in the cold"),)


def _span(facts: Situation, start: datetime, until: datetime) -> slice:
    """Points of the weather between two moments; between two of its points, the next one."""
    times = facts.forecast.times
    first = int(np.searchsorted(times, utc64(start)))
    return slice(first, max(first + 1, int(np.searchsorted(times, utc64(until), side="right"))))


def _leaning(facts: Situation, space: Space) -> list[str]:
    """Spaces with a panel against this one."""
    return [other.name for other in facts.boat.space if _lies_against(other, space)]


def _lies_against(other: Space, space: Space) -> bool:
    return not other.logged_only and any(panel.outside == space.name for panel in other.panel)


def _compared(
    facts: Situation, then: Situation, jobs: list[Job], until: datetime
) -> list[JobCompared]:
    clocks = [{clock.job: clock for clock in clocks_of(each)} for each in (facts, then)]
    found = []
    for job in jobs:
        before, after = (
            _job(each, job, known, until) for each, known in zip((facts, then), clocks, strict=True)
        )
        if before.status != "done":
            found.append(JobCompared(job=job.name, before=before, after=after))
    return found


def _job(facts: Situation, job: Job, clocks: dict[str, Clock], until: datetime) -> JobThen:
    found = find(facts, job, clocks, through=until)
    day = job_day(facts, job, found)
    windows = [] if found is None or day.status == "refused" else found.judged.windows
    return JobThen(
        status=day.status,
        verdict=day.verdict,
        windows=[window for window in windows if window.opens <= until],
    )


def _course(
    facts: Situation, space: Space, job: Job | None, start: datetime, until: datetime
) -> tuple[str, Course]:
    """How the space fares between two moments, and the surface's name."""
    conditions = facts.conditions[space.name]
    cut = _span(facts, start, until)
    times = conditions.times[cut]
    if job is None:
        surface = np.min([_middle(course) for course in conditions.surface_c.values()], axis=0)[cut]
        name = "coldest surface"
    else:
        series = facts.series(job)
        surface = _middle(series.surface_c)[cut]
        name = series.surface or series.space
    air, humidity, dew_point = (
        _middle(values)[cut]
        for values in (conditions.air_c, conditions.rh_pct, conditions.dew_point_c)
    )
    heat = _middle(conditions.heat_w)[cut]
    dew, frost = dew_and_frost(surface, dew_point)
    step_h = (
        float((times[1] - times[0]) / np.timedelta64(1, "s")) / 3600.0 if times.size > 1 else 0.0
    )
    lowest, lowest_at = _least(surface, times)
    above, above_at = _least(surface - dew_point, times)
    kwh = float(heat[:-1].sum()) * step_h / 1000.0
    return name, Course(
        surface_c=lowest,
        surface_at=lowest_at,
        above_dew_k=above,
        above_dew_at=above_at,
        wet_h=round(float(dew.sum()) * step_h, 1),
        frost_h=round(float(frost.sum()) * step_h, 1),
        air_lowest_c=_least(air, times)[0],
        air_highest_c=_negative(_least(-air, times)[0]),
        rh_highest_pct=_negative(_least(-humidity, times)[0]),
        rh_mean_pct=None if np.isnan(humidity).any() else round(float(humidity.mean()), 1),
        heat_kwh=None if np.isnan(kwh) else round(kwh, 1),
    )


def _middle(values: FloatArray) -> FloatArray:
    return np.asarray(np.median(values, axis=0), dtype=np.float64)


def _least(
    values: FloatArray, times: np.ndarray[tuple[int, ...], np.dtype[np.datetime64]]
) -> tuple[float | None, datetime | None]:
    """The least value and when; None where any is unknown."""
    if np.isnan(values).any():
        return None, None
    at = int(np.argmin(values))
    return round(float(values[at]), 1) + 0.0, utc_of(times[at])


def _negative(value: float | None) -> float | None:
    return None if value is None else -value + 0.0


def _reached(change: Intervention, after: Course) -> tuple[Finding, ...]:
    """Does the heater get there?"""
    wanted, highest = change.setpoint_c, after.air_highest_c
    if wanted is None or np.isnan(wanted) or highest is None or highest >= wanted - 0.3:
        return ()
    return (finding("heater too weak", temp_c=highest, other_temp_c=wanted),)


def _cautions(
    then: Situation, space: Space, jobs: list[Job], change: Intervention, until: datetime
) -> list[Finding]:
    """What to say with it: a heater at night or left alone, and air that solvent vapour needs."""
    told: list[Finding] = []
    if warms(change) or change.drier_on:
        told += over_vapour(then, then.boat, space, change)
    if change.drier_on and any(_gives_vapour(then, job) for job in jobs):
        told.append(finding("drier over vapour"))
    if change.setpoint_c is not None or change.power_w is not None:
        used = then.boat.find_space(space.name)
        told += heater_cautions(used, then.boat, None)
        if used is not None and used.heating is not None and warms(change):
            told += lit_alone(then.boat, used, change.start, until)
    changes = change.air_changes_h
    if changes is None and change.vent == "closed":
        changes = space.air_change or 0.0
    if changes is None or not space.volume:
        return gravest_first(told)
    for job in jobs:
        for step in job.step:
            if step.sheet is None:
                continue
            sheet = then.sheet(step.sheet).sheet
            if not flammable(sheet):
                continue
            needs = solvent_airflow_m3_h(sheet, job, step)
            if needs is None or needs > changes * space.volume:
                told.append(finding("too little air for vapour", job=job.name, flow_m3_h=needs))
                break
    return gravest_first(told)


def _gives_vapour(facts: Situation, job: Job) -> bool:
    """Does a product of this job give off flammable vapour?"""
    stems = [step.sheet for step in job.step if step.sheet is not None]
    return any(flammable(facts.sheet(stem).sheet) for stem in stems)
