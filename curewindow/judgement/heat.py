"""Heating plans for the jobs of a boat: what is to be put on and what bounds it, looked up."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.answers import Clock
from curewindow.boat.folder import jobs_asked_for
from curewindow.boat.schema import Job, Space
from curewindow.cautions.airflow import WetFilm
from curewindow.conditions.routine import out_of_order
from curewindow.findings import Finding, finding
from curewindow.heating import HeatedCoat, HeatPlan, HeatPlans, Room
from curewindow.heating.choice import LOOK_H
from curewindow.heating.models import HeatStatus
from curewindow.judgement.airing import room_of
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.coatahead import below_of, coat_ahead
from curewindow.judgement.films import burning_near
from curewindow.judgement.harden import hardening_plan
from curewindow.judgement.jobday import Found, all_waits, find
from curewindow.judgement.judging import (
    bounds_of,
)
from curewindow.judgement.kept import PlannedKept, facts_key, kept_or_made, name_of
from curewindow.judgement.news import as_of_news
from curewindow.judgement.planned import planned_heat
from curewindow.judgement.progress import next_of
from curewindow.order.delay import DAY_KWH
from curewindow.rules.work import WITH_PRODUCT
from curewindow.situation import Situation, read_situation
from curewindow.weather.forecast import Forecast
from curewindow.windows.grid import at_index, last_at_or_before

_A_DAY = timedelta(days=1)
_LIT_SOON = timedelta(days=2)


def heat_plans(
    folder: Path,
    now: datetime,
    *,
    job: str | None = None,
    setpoint_c: float | None = None,
    forecast: Forecast | None = None,
) -> HeatPlans:
    """Plan the heat for one job, or for all that have no start today and would have one sooner.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    job : str, optional
        Only this one, whether it has a start without heat or not.
    setpoint_c : float, optional
        Only this setpoint.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.

    Raises
    ------
    NotFoundError
        No job of that name.
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    ValueError
        ``now`` is not aware.
    """
    facts = read_situation(folder, now, forecast)
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    plans: list[HeatPlan] = []
    for each in jobs_asked_for(facts.work, job):
        found = find(facts, each, clocks)
        if job is None:
            told = heat_worth_it(facts, each, found, clocks, setpoint_c=setpoint_c, closer=True)
            plans += [] if told is None else [told]
            continue
        plans.append(
            heat_plan(
                facts, each, found, clocks, setpoint_c=setpoint_c, closer=True, other_ways=True
            )
        )
    notes = []
    if not facts.work.job:
        notes.append(finding("no jobs"))
    elif not plans:
        notes.append(finding("no heat wanted"))
    if len(plans) > 1:
        notes.append(finding("each heated alone"))
    return HeatPlans(
        boat=facts.boat.name,
        time_zone=facts.boat.place.time_zone,
        temperature_unit="°F" if facts.words.fahrenheit else "°C",
        as_of=facts.now,
        plans=plans,
        notes=notes,
    )


def heat_worth_it(
    facts: Situation,
    job: Job,
    found: Found | None,
    clocks: dict[str, Clock],
    *,
    setpoint_c: float | None = None,
    closer: bool = False,
) -> HeatPlan | None:
    """The heating plan of a job that is told unasked; None: heat would buy nothing there.

    Parameters
    ----------
    facts : Situation
    job : Job
    found : Found or None
        From `judgement.jobday.find`.
    clocks : dict of str to Clock
        By job.
    setpoint_c, closer
        As for :func:`heat_plan`.
    """
    if found is None:
        return None
    windows = found.judged.windows
    planned = None if setpoint_c is not None else planned_heat(facts, job, found.progress)
    if planned is not None and planned.purpose == "harden":
        return _lit_now(facts, job, planned)
    if not heat_may_help(facts, job, found):
        return hardened(facts, job, found, setpoint_c)
    # A day is what a fire is lit for, unless the plan that is kept has it lit.
    if windows and planned is None and windows[0].opens < facts.now + _A_DAY:
        return None
    plan = heat_plan(facts, job, found, clocks, setpoint_c=setpoint_c, closer=closer)
    if planned is not None or plan.purpose == "harden" or not (windows or found.waits):
        return plan
    if plan.status == "possible":
        return plan if _gains_a_day(facts, found, plan) else None
    opens = windows[0].opens if windows else facts.now
    return plan if opens > facts.now + timedelta(hours=LOOK_H) else None


def _gains_a_day(facts: Situation, found: Found, plan: HeatPlan) -> bool:
    """Is it lit soon, for a start a day before the first without it?"""
    assert plan.start is not None
    assert plan.light_at is not None
    windows = found.judged.windows
    # What is lit in days to come is decided by the weather of then.
    soon = plan.light_at < facts.now + _LIT_SOON
    return soon and (not windows or plan.start <= windows[0].opens - _A_DAY)


def heat_may_help(facts: Situation, job: Job, found: Found) -> bool:
    """Is it the conditions that stand in the way of a coat indoors today?"""
    if job.space is None or found.progress.step.do not in WITH_PRODUCT or found.refusal:
        return False
    if any(wait.until is None and wait.kind != "recoat" for wait in found.waits):
        return False
    day = facts.words.local(facts.now).date()
    return not any(facts.words.local(each.opens).date() == day for each in found.judged.windows)


def heat_plan(
    facts: Situation,
    job: Job,
    found: Found | None,
    clocks: dict[str, Clock],
    *,
    setpoint_c: float | None = None,
    closer: bool = False,
    other_ways: bool = False,
) -> HeatPlan:
    """The heating plan of a job's next step: the same for whoever asks at the same moment.

    Parameters
    ----------
    facts : Situation
    job : Job
    found : Found or None
        From `judgement.jobday.find`; None: done.
    clocks : dict of str to Clock
        By job.
    setpoint_c : float, optional
        Only this setpoint.
    closer : bool
        What-ifs, and what is missing, too.
    other_ways : bool
        With those, other ways.
    """
    planned = None
    if found is not None and setpoint_c is None:
        planned = planned_heat(facts, job, found.progress)
    if planned is not None and planned.purpose == "harden":
        return _lit_now(facts, job, planned)
    begun = _begun(
        facts, job, found, clocks, planned, setpoint_c=setpoint_c, closer=closer, ways=other_ways
    )
    if found is None or planned is not None:
        return begun
    sooner = hardened(facts, job, found, setpoint_c)
    if sooner is None or _buys_more(facts, found, begun, sooner):
        return begun
    return sooner


def hardened(facts: Situation, job: Job, found: Found, setpoint_c: float | None) -> HeatPlan | None:
    """The run that lets the films its next step waits for harden sooner; None: there is none."""
    plan = hardening_plan(facts, job, found, setpoint_c)
    return None if plan is None else _lit_now(facts, job, plan)


def _lit_now(facts: Situation, job: Job, plan: HeatPlan) -> HeatPlan:
    space = facts.boat.find_space(plan.space)
    return plan if space is None else _to_light_now(facts, job, space, plan)


def _buys_more(facts: Situation, found: Found, begun: HeatPlan, hardened: HeatPlan) -> bool:
    """Is a coat begun in the warmth worth more than a film below that hardens sooner?"""
    if begun.status != "possible" or not _gains_a_day(facts, found, begun):
        return False
    assert begun.start is not None
    assert begun.use is not None
    assert hardened.start is not None
    assert hardened.use is not None
    sooner = (hardened.start - begun.start) / _A_DAY
    more = begun.use.energy_kwh - begun.routine_kwh
    more -= hardened.use.energy_kwh - hardened.routine_kwh
    return DAY_KWH * sooner > more


def _begun(
    facts: Situation,
    job: Job,
    found: Found | None,
    clocks: dict[str, Clock],
    planned: HeatPlan | None,
    *,
    setpoint_c: float | None,
    closer: bool,
    ways: bool,
) -> HeatPlan:
    """The heating plan of a start, or why there is none."""
    if found is None:
        return _no_plan(facts, job, "cannot", finding("nothing to heat for"))
    space = None if job.space is None else facts.boat.find_space(job.space)
    if space is None:
        return _no_plan(facts, job, "cannot", finding("only a tent"))
    step = found.progress.step
    if step.sheet is None:
        return _no_plan(facts, job, "waits", finding("heat not needed", do=step.do))
    held = [wait for wait in found.waits if wait.until is None and wait.kind != "recoat"]
    if held:
        return _no_plan(facts, job, "waits", finding("waits", because=[held[0].why]))
    clock = clocks.get(job.name)
    if clock is not None and clock.state == "never again":
        return _no_plan(facts, job, "cannot", finding("no further coat"))
    # What is refused as it is, is refused with heat as well.
    if found.refusal is not None:
        refused = _no_plan(facts, job, "refused", finding("refused", because=[found.refusal]))
        return refused.model_copy(update={"cautions": found.cautions})
    plan = planned or _asked_now(facts, job, space, setpoint_c).plan(closer, ways)
    plan = _to_light_now(facts, job, space, plan)
    windows = found.judged.windows
    if windows and plan.status == "possible":
        note = finding("start without heat", begins=windows[0].opens)
        plan = plan.model_copy(update={"notes": [note, *plan.notes]})
    return plan


def _asked_now(
    facts: Situation,
    job: Job,
    space: Space,
    setpoint_c: float | None,
) -> _Asked:
    """The question for a start whose answer is told now."""
    series = facts.series(job)
    wet_near = burning_near(facts, space)
    key = (
        facts_key(facts, job.name),
        setpoint_c,
        [(film.sheet.name, film.job and film.job.name, film.share) for film in wet_near],
    )

    def asked(since: datetime) -> tuple[_Asked, HeatPlan]:
        one = _Asked(facts, job, space, setpoint_c, wet_near, repr(key), since)
        return one, one.plan()

    return as_of_news(facts, space.name, series, asked)


def _to_light_now(facts: Situation, job: Job, space: Space, plan: HeatPlan) -> HeatPlan:
    """The plan with the next time to light, where the best has passed and the latest has not."""
    best, latest = plan.light_at, plan.latest_light_at
    if best is None or latest is None or best >= facts.now:
        return plan
    series = facts.series(job)
    can = facts.hours_ok(series) & ~out_of_order(space.heating, facts.boat, series.times)
    can[: max(last_at_or_before(series, facts.now), 0)] = False
    light_at = min(at_index(series, int(np.argmax(can))) if can.any() else latest, latest)
    verdict = plan.verdict.changed(light_at=light_at)
    return plan.model_copy(update={"light_at": light_at, "verdict": verdict})


@dataclass(slots=True)
class _Asked:
    """One question for heat: what is to be put on, from when on."""

    facts: Situation
    job: Job
    space: Space
    setpoint_c: float | None
    wet_near: list[WetFilm]
    key: str
    since: datetime
    _task: HeatedCoat | None = None
    _room: Room | None = None

    def plan(self, closer: bool = False, other_ways: bool = False) -> HeatPlan:
        planned = kept_or_made(self._name("plan"), PlannedKept, self._made)
        if not closer or planned.plan.status not in ("possible", "cannot"):
            return planned.plan

        def made() -> HeatPlan:
            from curewindow.heating.compose import look_closer  # most answers are of kept plans

            room = self.room()
            assert room is not None  # else it would be 'no weather'
            return look_closer(self.task(), room, planned.planned(), other_ways=other_ways)

        return kept_or_made(self._name(f"closer {other_ways}"), HeatPlan, made)

    def _made(self) -> PlannedKept:
        from curewindow.heating.compose import plan_heating  # as above

        facts = self.facts
        planned = plan_heating(
            facts.boat,
            self.space,
            self.task(),
            self.room(),
            setpoint_c=self.setpoint_c,
            wet_near=self.wet_near,
        )
        return PlannedKept.of(planned)

    def task(self) -> HeatedCoat:
        if self._task is None:
            self._task = task_of(replace(self.facts, now=self.since), self.job)
        return self._task

    def room(self) -> Room | None:
        if self._room is None:
            self._room = room_of(self.facts, self.space, self.since)
        return self._room

    def _name(self, what: str) -> str:
        return name_of(what, self.key, self.since)


def task_of(facts: Situation, job: Job) -> HeatedCoat:
    """What is to be put on next, and what bounds it, from the moment of a situation on."""
    progress = next_of(job, facts.coats, facts.dones)
    assert progress is not None  # else nothing is asked
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    clock = clocks.get(job.name)
    below = below_of(facts, job, progress)
    waits = all_waits(facts, job, progress, clocks)
    earliest = max([facts.now, *(wait.until for wait in waits if wait.until is not None)])
    latest: datetime | None = None
    if below is None and clock is not None:
        bounds = bounds_of(facts, job, progress, clock)
        earliest = max(earliest, bounds.earliest or at_index(facts.series(job), -1))
        latest = bounds.latest
    return replace(
        coat_ahead(facts, job, progress, bare_wood=clock is None),
        earliest=earliest,
        latest=latest,
        below=below,
    )


def _no_plan(facts: Situation, job: Job, status: HeatStatus, verdict: Finding) -> HeatPlan:
    series = facts.series(job)
    return HeatPlan(
        job=job.name, where=series.where, space=series.space, status=status, verdict=verdict
    )
