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
from curewindow.curing import recoat_bounds
from curewindow.findings import Finding, finding
from curewindow.heating import Below, HeatedCoat, HeatPlan, HeatPlans, Room
from curewindow.heating.choice import LOOK_H
from curewindow.heating.models import HeatStatus
from curewindow.judgement.airing import last_news, room_of
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.coatahead import coat_ahead
from curewindow.judgement.films import burning_near
from curewindow.judgement.jobday import Found, all_waits, find
from curewindow.judgement.judging import (
    bounds_of,
)
from curewindow.judgement.kept import PlannedKept, facts_key, kept_or_made, name_of
from curewindow.judgement.planned import planned_heat
from curewindow.judgement.progress import Progress, next_of
from curewindow.rules.work import WITH_PRODUCT
from curewindow.situation import Situation, read_situation
from curewindow.weather.forecast import Forecast
from curewindow.windows.grid import at_index, first_at_or_after, last_at_or_before

_A_SECOND = timedelta(seconds=1)
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
    if found is None or not heat_may_help(facts, job, found):
        return None
    windows = found.judged.windows
    planned = None if setpoint_c is not None else planned_heat(facts, job, found.progress)
    # A day is what a fire is lit for, unless the plan that is kept has it lit.
    if windows and planned is None and windows[0].opens < facts.now + _A_DAY:
        return None
    plan = heat_plan(facts, job, found, clocks, setpoint_c=setpoint_c, closer=closer)
    if planned is not None or not (windows or found.waits):
        return plan
    if plan.status == "possible":
        assert plan.start is not None
        assert plan.light_at is not None
        # What is lit in days to come is decided by the weather of then.
        soon = plan.light_at < facts.now + _LIT_SOON
        gains = not windows or plan.start <= windows[0].opens - _A_DAY
        return plan if soon and gains else None
    opens = windows[0].opens if windows else facts.now
    return plan if opens > facts.now + timedelta(hours=LOOK_H) else None


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
    if found is None:
        return _no_plan(facts, job, "cannot", finding("nothing to heat for"))
    space = None if job.space is None else facts.boat.find_space(job.space)
    if space is None:
        return _no_plan(facts, job, "cannot", finding("only a tent"))
    progress = found.progress
    if progress.step.sheet is None:
        return _no_plan(facts, job, "waits", finding("heat not needed", do=progress.step.do))
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
    told = None if setpoint_c is not None else planned_heat(facts, job, progress)
    plan = told or _asked_now(facts, job, space, setpoint_c).plan(closer, other_ways)
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
    """The question whose answer is told now.

    It is asked as things stood at the last news, and that answer holds until it is too late to
    light for it; then it is asked as of that moment, and so on. So what is told hangs on the news
    and on what has passed, never on the minute: a run once told stays told while it can be lit.
    Where heat opens nothing it is asked again from the next day on, when one more is in reach.
    """
    series = facts.series(job)
    wet_near = burning_near(facts, space)
    key = (
        facts_key(facts, job.name),
        setpoint_c,
        [(film.sheet.name, film.job and film.job.name, film.share) for film in wet_near],
    )
    since = last_news(facts, space.name, series)
    while True:
        asked = _Asked(facts, job, space, setpoint_c, wet_near, repr(key), since)
        plan = asked.plan()
        latest = plan.latest_light_at or plan.light_at
        again = facts.words.midnight_after(since) if latest is None else latest + _A_SECOND
        if again > facts.now:
            return asked
        point = first_at_or_after(series, again)
        if point > len(series.times) - 2:
            return asked
        since = at_index(series, point)


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


def below_of(facts: Situation, job: Job, progress: Progress) -> Below | None:
    """The coat below, where its times and its hours so far are known."""
    coat = progress.last_coat
    if coat is None or progress.step.sheet is None:
        return None
    if coat.start < at_index(facts.series(job), 0):
        return None
    sheet = facts.sheet(coat.sheet).sheet
    coming = facts.sheet(progress.step.sheet).sheet
    rule = recoat_bounds(sheet, progress.step.sheet, coming.kind, coat.sheet)
    if rule is None:
        return None
    hot = progress.step.between == "hot coat" and (progress.coat or 1) > 1
    return Below(sheet, rule, coat.start, coat.end, hot or rule.recoat.after == "never")


def _no_plan(facts: Situation, job: Job, status: HeatStatus, verdict: Finding) -> HeatPlan:
    series = facts.series(job)
    return HeatPlan(
        job=job.name, where=series.where, space=series.space, status=status, verdict=verdict
    )
