"""The far horizon of a plan: weeks and chances beyond the forecast, by the season's runs."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.cautions import cautions_for, gravest_first
from curewindow.daysheet.outlook import make_outlook
from curewindow.errors import NotFoundError, WeatherError
from curewindow.findings import finding
from curewindow.order.answer import part_of
from curewindow.order.given import Given
from curewindow.order.horizon import monday_of
from curewindow.order.plan import LaterStep, Plan
from curewindow.season.answer import Outlook, StepOutlook
from curewindow.voice.season import STOPPED, no_seasons_text, runs_text
from curewindow.weather.forecast import Forecast

HALF_PCT = 50.0
SURE_PCT = 90.0
DECIDES_PCT = 50.0
"""The end hangs on a job in so many of the seasons: its steps are marked."""


def seasons_for(
    folder: Path, now: datetime, plan: Plan, forecast: Forecast | None, *, keep: bool
) -> tuple[Outlook | None, str]:
    """The outlook a plan goes by, made or kept; else None and what to say of that.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    plan : Plan
        What is gone by as far as the forecast carries.
    forecast : Forecast, optional
        Weather at hand.
    keep : bool
        Keep it in the folder.
    """
    try:
        return make_outlook(folder, now, forecast=forecast, keep=keep, plan=plan), ""
    except (WeatherError, NotFoundError) as none:
        return None, no_seasons_text(str(none))
    except KeyboardInterrupt:  # enough: the order found is not to be lost with it
        return None, STOPPED


def with_seasons(plan: Plan, given: Given, outlook: Outlook) -> Plan:
    """A plan with the weeks, chances and the end that the seasons give.

    Jobs that this one year's weather had no place for are no longer left out where the
    weather of other years has one.

    Parameters
    ----------
    plan : Plan
        Its near steps exact, its later ones without weeks.
    given : Given
    outlook : Outlook
    """
    near = {step.key for step in plan.steps}
    known = {step.key for step in plan.later}
    at_all = {each.job for each in outlook.steps if any(each.begun_pct)}
    freed = [job for job in plan.left_out if job in at_all]
    more = [
        _of_job(given, each)
        for each in outlook.steps
        if each.job in freed and each.key not in near | known
    ]
    runs = {each.key: each for each in outlook.steps}
    beyond = None if plan.known_until is None else _monday(plan, plan.known_until)
    later = [_in_weeks(step, runs.get(step.key), outlook, beyond) for step in [*plan.later, *more]]
    # Of the same week they stay in the order found.
    later.sort(key=lambda step: step.week or date.max)
    often = {each.job for each in outlook.sets_end if each.share_pct >= DECIDES_PCT}
    done = outlook.all_done
    in_hand = plan.days_in_hand
    if plan.finish is None:
        in_hand = None
        if done.middle is not None and done.done_by is not None:
            in_hand = (done.done_by - done.middle).days
    return plan.model_copy(
        update={
            "all_done": done,
            "days_in_hand": in_hand,
            "steps": plan.steps
            if plan.finish is not None
            else [step.model_copy(update={"critical": step.job in often}) for step in plan.steps],
            "later": later,
            "left_out": {job: why for job, why in plan.left_out.items() if job not in freed},
            "sets_end": [] if plan.finish is not None else outlook.sets_end,
            "jobs_by": [] if plan.finish is not None else outlook.jobs,
            "notes": [*plan.notes, runs_text(done.years, done.seasons)],
        }
    )


def _monday(plan: Plan, at: datetime) -> date:
    return monday_of(at.astimezone(ZoneInfo(plan.time_zone)).date())


def _in_weeks(
    step: LaterStep, runs: StepOutlook | None, outlook: Outlook, beyond: date | None
) -> LaterStep:
    """The week in which half of the seasons have begun it, never before the forecast ends."""
    if runs is None:
        return step
    first = 0 if beyond is None else sum(each < beyond for each in outlook.mondays)
    weeks = list(zip(outlook.mondays, runs.begun_pct, strict=True))[first:]
    week = next(((day, pct) for day, pct in weeks if pct >= HALF_PCT), None)
    sure = next((day for day, pct in weeks if pct >= SURE_PCT), None)
    return step.model_copy(
        update={
            "week": None if week is None else week[0],
            "chance_pct": None if week is None else week[1],
            "sure_week": sure,
            "within_pct": runs.begun_pct[-1],
        }
    )


def _of_job(given: Given, each: StepOutlook) -> LaterStep:
    """A step of a job that is not in the order."""
    job = next(job for job in given.work.job if job.name == each.job)
    step = job.step[each.step - 1]
    space = None if job.space is None else given.boat.find_space(job.space)
    lit = None if space is None else space.heating
    sheets = [] if step.sheet is None else [given.sheet(step.sheet)]
    found = cautions_for(sheets, job, space, given.boat, lit, step=step)
    return LaterStep(
        **part_of(given, each),
        cautions=gravest_first([*found, *([finding("heat unattended")] if lit and sheets else [])]),
    )
