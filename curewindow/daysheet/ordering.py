"""What an order of work is made from, gathered: where jobs stand, conditions, heat held."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import fields, replace
from datetime import UTC, datetime, time, timedelta
from functools import partial
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.answers import Clock
from curewindow.boat.folder import load_boat, load_work
from curewindow.boat.schema import Boat, Job, Step, Work
from curewindow.cautions import cautions_for, refusal_of
from curewindow.cautions.alone import not_planned
from curewindow.conditions import (
    boat_conditions,
    learned_in,
)
from curewindow.errors import WeatherError
from curewindow.findings import Finding, finding
from curewindow.heating import HeatPlan
from curewindow.judgement.airing import AirBeyond
from curewindow.judgement.assumed import log_of, with_runs
from curewindow.judgement.below import chain_acts, chain_refusals
from curewindow.judgement.clocks import clocks_of, comes_off, milestone_at
from curewindow.judgement.films import burning_near
from curewindow.judgement.judging import bounds_of, over_sleepers, someone_sleeps_near
from curewindow.judgement.keptwarm import KeptWarm, kept_warm
from curewindow.judgement.nearstarts import NearStarts
from curewindow.judgement.progress import Progress, next_of
from curewindow.order.given import CoatOn, Given, Stand
from curewindow.order.modes import LEVELS, NEAR_LEVELS
from curewindow.order.slots import SLOT_MIN
from curewindow.record.heat import with_heat
from curewindow.rules.limits import DRY_G_M2
from curewindow.rules.milestones import COVERED, DUST_DRY, HARD, SANDABLE, TOUCH_DRY
from curewindow.rules.work import WITH_PRODUCT
from curewindow.series import FloatArray
from curewindow.situation import Situation, read_situation
from curewindow.voice import full, short
from curewindow.voice.cautions import caution, whole_caution
from curewindow.weather.choose import get_forecast, raise_unless_begun
from curewindow.weather.continued import continued, known_until, most_usual, of_rows
from curewindow.weather.forecast import Forecast
from curewindow.weather.pastyears import past_years
from curewindow.weather.spread import as_ensemble

SHORTEST = timedelta(days=45)
LONGEST = timedelta(days=180)
NEAR = timedelta(days=10)
"""So far a forecast is worth planning by to the hour; behind it there is little skill left (common
practice, no source)."""
PAST_YEARS = 5
MOST_MEMBERS = 5
"""Members a plan is made with: the first, and others from the coldest to the warmest."""


def planned_until(work: Work, boat: Boat, now: datetime, days: float | None = None) -> datetime:
    """To when a plan looks: a fortnight beyond the date, within 45 to 180 days."""
    if days is not None:
        return now + timedelta(days=days)
    wanted = now + SHORTEST
    if work.done_by is not None:
        zone = ZoneInfo(boat.place.time_zone)
        end = datetime.combine(work.done_by, time(0), zone) + timedelta(days=15)
        wanted = max(wanted, end.astimezone(UTC))
    return min(wanted, now + LONGEST)


def weather_for_plan(
    folder: Path, boat: Boat, now: datetime, until: datetime, forecast: Forecast | None = None
) -> tuple[Forecast, datetime]:
    """The forecast carried on to ``until``, and when the forecast itself ends.

    Typical weather is the most usual of past years where any are at hand, else the
    forecast's last days over again; a note says which.
    """
    if forecast is None:
        place = f"{boat.name}, {boat.place.latitude}, {boat.place.longitude}"
        forecast = as_ensemble(get_forecast(boat, folder, now), place)
    forecast = in_slots(_fewer(forecast))
    known = known_until(forecast)
    if known >= until:
        return forecast, known
    try:
        past = past_years(boat, folder, PAST_YEARS, now=now, until=until)
    except WeatherError:
        return continued(forecast, until), known
    row = most_usual(past.weather, known)
    year = past.each()[row]
    several = len(past.years) if len(past.years) > 1 else None
    return continued(forecast, until, year, past.years[row], several), known


def in_slots(forecast: Forecast) -> Forecast:
    """The weather on the grid a plan is laid on, where it comes on a finer one that fits.

    Values of the moment; of rain the most until the next. Months ahead on ten minutes cost
    three times as much, and a plan knows no more for it.
    """
    seconds = forecast.times.astype("datetime64[s]").astype(np.int64)
    step_s, slot_s = int(seconds[1] - seconds[0]), SLOT_MIN * 60
    begins = np.flatnonzero(seconds % slot_s == 0)
    if step_s >= slot_s or slot_s % step_s or not begins.size:
        return forecast
    at = slice(int(begins[0]), None, slot_s // step_s)
    picked = np.arange(seconds.size)[at]
    fields = ("temp_c", "vapour_pa", "wind_ms", "cloud_frac", "sun_w_m2")
    return replace(
        forecast,
        times=forecast.times[at],
        gap_h=forecast.gap_h[at],
        rain_mm_h=np.maximum.reduceat(forecast.rain_mm_h, picked, axis=1),
        **{name: getattr(forecast, name)[:, at] for name in fields},
    )


def _fewer(forecast: Forecast) -> Forecast:
    if forecast.members <= MOST_MEMBERS:
        return forecast
    rank = 1 + np.argsort(np.nanmean(forecast.temp_c[1:], axis=1))
    spread = np.linspace(0, forecast.members - 2, MOST_MEMBERS - 1).round().astype(int)
    return of_rows(forecast, np.concatenate(([0], rank[spread])))


def facts_and_given(
    folder: Path,
    now: datetime,
    *,
    days: float | None = None,
    forecast: Forecast | None = None,
    work: Work | None = None,
    boat: Boat | None = None,
    near: Situation | None = None,
    lit: Mapping[str, HeatPlan] | None = None,
) -> tuple[Situation, Given]:
    """Gather everything an order of work is made from.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    days : float, optional
        How far to look; else a fortnight beyond the date everything is to be done by.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.
    work, boat : Work, Boat, optional
        Other than what is written, for what-ifs.
    near : Situation, optional
        As the day sheet has it: where it is, films that are on harden by its times.
    lit : mapping of str to HeatPlan, optional
        Heater runs taken as lit, by job (:func:`curewindow.judgement.assumed.assumed_runs`).

    Raises
    ------
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    """
    now = now.astimezone(UTC)
    written = load_boat(folder)
    plan_boat = written if boat is None else boat
    plan_work = load_work(folder, written) if work is None else work
    until = planned_until(plan_work, plan_boat, now, days)
    weather, known = weather_for_plan(folder, plan_boat, now, until, forecast)
    known = min(known, now + NEAR)
    facts = with_runs(read_situation(folder, now, weather), lit or {})
    if boat is not None or work is not None:
        last = max([now, *(log_of(run).at for run in (lit or {}).values())])
        plan_boat = with_heat(plan_boat, facts.heats, facts.readings, last)
        conditions = boat_conditions(
            plan_boat,
            weather,
            facts.readings,
            now,
            learned=learned_in(folder),
            drying=facts.drying,
        )
        facts = replace(
            facts, boat=plan_boat, work=plan_work, conditions=conditions, _series={}, _masks={}
        )
    return facts, given_of(facts, until, known, near=near)


def given_of(
    facts: Situation,
    until: datetime,
    known: datetime,
    held: Callable[..., KeptWarm] = kept_warm,
    *,
    near: Situation | None = None,
) -> Given:
    """What an order of work is made from, of facts gathered with weather up to ``until``.

    ``held`` makes the conditions of spaces that are kept warm, as :func:`kept_warm` does; films
    that are on harden as ``near`` has it, as far as that is known there.

    Raises
    ------
    WeatherError
        There is work left, and the weather begins hours after the moment asked about.
    """
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    lying = {job.name: facts.series(job) for job in facts.work.job}
    # A plan counts on the owner wiping dry what dew has left; it says where.
    series = {name: replace(each, lying_kg_m2=None) for name, each in lying.items()}
    stands = {job.name: _stand(facts, job, clocks.get(job.name)) for job in facts.work.job}
    if near is not None:
        by_job = {clock.job: clock for clock in clocks_of(near)}
        for job in facts.work.job:
            sooner = _stand(near, job, by_job.get(job.name))
            stands[job.name] = _known_first(sooner, stands[job.name])
    left = [job for job in facts.work.job if stands[job.name].step is not None]
    if left:
        raise_unless_begun(facts.forecast, facts.now, until, facts.words.zone)
    warmed, steady, extra = held(facts, left)
    extra = {**extra, **_at_other_setpoints(extra)}
    grid = next(iter(series.values())) if series else None
    empty = np.zeros(0, np.bool_)
    refused: dict[tuple[str, str], str] = {}
    bedtime: set[tuple[str, str]] = set()
    first: dict[tuple[str, int], tuple[Finding, ...]] = {}
    for job in left:
        begin = stands[job.name].step or 1
        never = chain_refusals(facts, job, begin)
        first |= {(job.name, n): acts for n, acts in chain_acts(facts, job, begin).items()}
        for number, step in enumerate(job.step[begin - 1 :], begin):
            if step.sheet is None:
                continue
            if number in never:
                refused[job.name, step.sheet] = short(never[number], facts.words)
            key = (job.name, step.sheet)
            if reason := _refusal(facts, job, step):
                refused[key] = reason
            if someone_sleeps_near(facts, job, facts.sheet(step.sheet).sheet):
                bedtime.add(key)
    weather = [full(note, facts.words) for note in facts.forecast.notes]
    return Given(
        boat=facts.boat,
        work=facts.work,
        now=facts.now,
        until=until,
        known_until=min(known, until),
        sheet=lambda stem: facts.sheet(stem).sheet,
        series=series,
        warmed=warmed,
        steady=steady,
        extra_w=extra,
        hours_ok=empty if grid is None else facts.hours_ok(grid),
        daylight_ok=empty if grid is None else facts.daylight_ok(grid),
        stands=stands,
        refused=refused,
        by_bedtime=frozenset(bedtime),
        first=first,
        notes=(*weather, *_not_lit(facts, left)),
        wet={
            name: (1000.0 * each.lying_kg_m2 > DRY_G_M2).mean(axis=0) >= 0.5
            for name, each in lying.items()
            if each.lying_kg_m2 is not None
        },
        wet_near=partial(burning_near, facts),
        air_asked=AirBeyond(facts, min(known, until)),
        near=NearStarts(facts, min(known, until)) if held is kept_warm else None,
    )


def _at_other_setpoints(
    extra_w: dict[tuple[str, float], FloatArray],
) -> dict[tuple[str, float], FloatArray]:
    """What other setpoints take: in a straight line with the difference to the outside."""
    found: dict[tuple[str, float], FloatArray] = {}
    low, high = LEVELS[0], LEVELS[-1]
    for space in {name for name, _ in extra_w}:
        cool, warm = extra_w[space, low], extra_w[space, high]
        for level in NEAR_LEVELS:
            share = (level - low) / (high - low)
            found[space, level] = np.maximum(cool + share * (warm - cool), 0.0)
    return {key: watts for key, watts in found.items() if key not in extra_w}


def _not_lit(facts: Situation, left: list[Job]) -> list[str]:
    """Heaters no plan counts on, and why."""
    wanted = {job.space for job in left}
    times = facts.forecast.times
    found = [
        not_planned(facts.boat, each, times) for each in facts.boat.space if each.name in wanted
    ]
    return list(
        dict.fromkeys(whole_caution(each, facts.words) for each in found if each is not None)
    )


def _stand(facts: Situation, job: Job, clock: Clock | None) -> Stand:
    progress = next_of(job, facts.coats, facts.dones)
    own = [coat for coat in facts.coats if coat.job == job.name]
    if not own:
        return Stand(None) if progress is None else Stand(progress.step_number, progress.coat)
    top = max(own, key=lambda c: c.layer)

    def at(names: tuple[str, ...]) -> datetime | None:
        return milestone_at(facts, job, top, names)  # type: ignore[arg-type]

    on = CoatOn(
        touch_dry=at(TOUCH_DRY),
        dust_dry=at(DUST_DRY),
        sandable=at(SANDABLE),
        hard=at(HARD),
        covered=at(COVERED),
    )
    if progress is None:
        return Stand(None, on=on)
    return Stand(progress.step_number, progress.coat, _next_on(facts, job, progress, clock, on))


def _known_first(near: Stand, far: Stand) -> Stand:
    """Where a job stands by the forecast itself; what lies beyond that by the weather behind it."""
    if near.on is None or far.on is None:
        return near
    by_far = {
        each.name: getattr(far.on, each.name)
        for each in fields(near.on)
        if getattr(near.on, each.name) is None
        # no end: that is not one which is later than known, where a missed one costs otherwise
        and (each.name != "closes" or near.on.missed == far.on.missed)
    }
    return replace(near, on=replace(near.on, **by_far))


def _next_on(
    facts: Situation, job: Job, progress: Progress, clock: Clock | None, on: CoatOn
) -> CoatOn:
    """When the next coat may and must go on the one that is on."""
    if clock is None or progress.step.do not in WITH_PRODUCT:
        return on
    if comes_off(facts, job, progress):
        # sanded back whenever that is, once it is hard enough: its interval is over by any clock
        over = facts.now - timedelta(days=1)
        return replace(on, opens=on.sandable, closes=over, missed="sand", spoilt=True)
    bounds = bounds_of(facts, job, progress, clock)
    if not bounds.allowed:
        why = bounds.notes[0]
        if clock.sheet in facts.lost:
            why = finding("sheet to put back", sheet=clock.sheet)
        return replace(on, allowed=False, why_not=short(why, facts.words))
    if bounds.latest is not None:
        return replace(on, opens=bounds.earliest, closes=bounds.latest, missed="never")
    if bounds.sand_after is not None:
        return replace(on, opens=bounds.earliest, closes=bounds.sand_after, missed="sand")
    return replace(on, opens=bounds.earliest)


def _refusal(facts: Situation, job: Job, step: Step) -> str:
    """Why a product may not be put on there at all as things are; '' where it may."""
    assert step.sheet is not None
    sheet = facts.sheet(step.sheet).sheet
    if poisoned := over_sleepers(facts, job, sheet):
        return short(poisoned, facts.words)
    space = None if job.space is None else facts.boat.find_space(job.space)
    refusal = refusal_of(cautions_for([sheet], job, space, facts.boat, step=step))
    return "" if refusal is None else caution(refusal, facts.words)
