"""The outlook over the season, put together, told and kept."""

from __future__ import annotations

import hashlib
import logging
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.answers import AllDone
from curewindow.boat.folder import RECORD_FILE, load_boat
from curewindow.daysheet.seasonfacts import (
    YEARS,
    SeasonFacts,
    date_of,
    season_facts,
    season_forecast,
)
from curewindow.daysheet.seasonwords import hours_sentences, note_sentences, sentences
from curewindow.errors import BoatError, NotFoundError
from curewindow.files import write_whole
from curewindow.order.answer import now_utc
from curewindow.order.horizon import monday_of
from curewindow.order.kept import key_of, load
from curewindow.order.plan import JobOutlook, Plan, SetsEnd
from curewindow.order.problem import Task
from curewindow.readback import OtherFormError, read_back
from curewindow.record.store import Record
from curewindow.season.answer import (
    DateFor,
    Outlook,
    Saving,
    StepOutlook,
    WorkableWeeks,
    YearOutcome,
)
from curewindow.season.ends import tracked
from curewindow.season.figures import (
    chance_by,
    chance_by_week,
    chance_range,
    day_for,
    days_saved,
)
from curewindow.season.hours import aboard_hours, workable_hours
from curewindow.season.planned import not_before
from curewindow.season.run import Season, run_season
from curewindow.series import FloatArray
from curewindow.situation import Situation
from curewindow.weather.forecast import Forecast
from curewindow.weather.pastyears import PastYears

log = logging.getLogger(__name__)

OUTLOOK_FILE = "outlook.json"
CHANCES = (50, 80, 95)


def make_outlook(
    folder: Path,
    now: datetime,
    *,
    years: int = YEARS,
    draws: int | None = None,
    days: float | None = None,
    seed: int = 1,
    forecast: Forecast | None = None,
    past: PastYears | None = None,
    keep: bool = True,
    refresh: bool = False,
    plan: Plan | None = None,
) -> Outlook:
    """Run the work through past years and say what is to be expected.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    years : int
        Past years at most.
    draws : int, optional
        Samples of pace and deliveries a year; else so many that there are 120 seasons.
    days : float, optional
        How far to look; else 180.
    seed : int
        The same seed gives the same answer.
    forecast, past : optional
        Weather at hand; else it is got as boat.toml says.
    keep : bool
        Keep it in the folder.
    refresh : bool
        Ask the archive anew.
    plan : Plan, optional
        What is gone by as far as the forecast carries; else the kept one, where it is today's.

    Raises
    ------
    CurewindowError
        A hand-written file, the weather or the record cannot be used; there is no past year,
        or nothing left to do that can be planned.
    ValueError
        ``now`` is not aware.
    """
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    plan = todays_plan(folder, now) if plan is None else plan
    soonest = {} if plan is None else not_before(plan)
    asked = (years, draws, days, seed, sorted((k, at.isoformat()) for k, at in soonest.items()))
    if forecast is None:
        forecast = season_forecast(folder, now)
    key = runs_key(folder, now, forecast, asked)
    if past is None and not refresh and (last := kept(folder)) is not None and last.key == key:
        return last
    known = season_facts(
        folder, now, years=years, days=days, forecast=forecast, past=past, refresh=refresh
    )
    given = known.given
    if not given.series or all(stand.step is None for stand in given.stands.values()):
        raise NotFoundError("everything on the work list is done: there is nothing to look out for")
    season = run_season(given, len(known.years), known.pace, draws, seed, soonest)
    if not any(problem.tasks for problem in season.problems):
        job, why = season.never[0] if season.never else ("the work", "no start")
        raise NotFoundError(f"nothing can be planned; '{job}': {why}")
    outlook = _outlook(known, season, key if past is None else "")
    if keep:
        store(folder, outlook)
    return outlook


def todays_plan(folder: Path, now: datetime) -> Plan | None:
    """The kept plan where it is of this day and of the work as it is written."""
    kept_plan = load(folder)
    plan = kept_plan.plan
    if plan is None or kept_plan.key != key_of(folder, ()):
        return None
    zone = ZoneInfo(plan.time_zone)
    today = plan.as_of.astimezone(zone).date() == now.astimezone(zone).date()
    return plan if today else None


def runs_key(folder: Path, now: datetime, forecast: Forecast, asked: object = ()) -> str:
    """A name that is another one as soon as the day, the forecast, what is written or done is.

    Readings are no part of it: they come every few minutes and move a season by little.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    forecast : Forecast
        The weather before it is carried on.
    asked : object
        What else the seasons are run with, such as how many.
    """
    boat = load_boat(folder)
    with Record(folder / RECORD_FILE, read_only=True) as record:
        rows = ([each.id for each in record.coats()], [each.id for each in record.done()])
    weather = hashlib.sha256()
    for values in (forecast.times, forecast.temp_c, forecast.vapour_pa, forecast.rain_mm_h):
        weather.update(np.ascontiguousarray(values).tobytes())
    files = [folder / name for name in boat.weather.past if (folder / name).is_file()]
    past = [(each.name, each.stat().st_size, each.stat().st_mtime_ns) for each in files]
    day = now.astimezone(ZoneInfo(boat.place.time_zone)).date()
    return key_of(folder, (rows, weather.hexdigest(), past, day.isoformat(), asked))


def _outlook(known: SeasonFacts, season: Season, key: str) -> Outlook:
    facts = known.facts
    zone = ZoneInfo(facts.boat.place.time_zone)
    slots = season.problems[0].slots
    horizon_d = slots.count * slots.hours / 24.0

    def on(days: float) -> date | None:
        if not np.isfinite(days):
            return None
        # What ends at midnight is done on the day before.
        return (slots.first + timedelta(days=days, seconds=-1)).astimezone(zone).date()

    end = date_of(facts.work, facts.boat, facts.now)
    by_d = None if end is None else (end - slots.first) / timedelta(days=1)
    beyond = by_d is not None and by_d > horizon_d
    chance = None if by_d is None or beyond else chance_by(season.finish_d, by_d)
    low_high = None if chance is None else chance_range(chance, len(known.years))
    finish_d = season.finish_d
    savings = []
    for name, without in (
        ("bad weather", season.good_weather_d),
        ("only one pair of hands", season.many_hands_d),
        ("waiting for deliveries", season.at_hand_d),
    ):
        without_d = without.max(axis=0)
        days, more = days_saved(finish_d, without_d, horizon_d)
        share = None if chance is None or by_d is None else _pct(chance_by(without_d, by_d))
        savings.append(
            Saving(
                without=name,
                days=round(days, 1),
                chance_pct=share,
                at_least=more,
            )
        )
    jobs = [
        JobOutlook(
            job=job,
            chance_pct=None if chance is None or by_d is None else _pct(chance_by(row, by_d)),
            middle=on(day_for(row, 0.5)),
            late=on(day_for(row, 0.95)),
        )
        for job, row in zip(season.jobs, season.job_d, strict=True)
    ]
    mean_d = np.minimum(season.job_d, horizon_d).mean(axis=(1, 2))
    order = sorted(range(len(jobs)), key=lambda n: (jobs[n].chance_pct or 0.0, -mean_d[n]))
    rest = None
    if chance is not None and by_d is not None and len(jobs) > 1:
        others = np.delete(season.job_d, order[0], axis=0).max(axis=0)
        rest = _pct(chance_by(others, by_d))
    curve_d = np.arange(0, int(horizon_d) + 1)
    first_day = slots.first.astimezone(zone).date()
    curve_on = [first_day + timedelta(days=int(n)) for n in curve_d]
    ends_d = [_since(slots.first, each + timedelta(days=1), zone) for each in curve_on]
    found = tracked(season)
    monday = monday_of(first_day)
    mondays = [monday + timedelta(days=7 * n) for n in range(-(-(len(curve_on) + 6) // 7))]
    ends = np.array([_since(slots.first, each + timedelta(days=7), zone) for each in mondays])
    base = {
        "boat": facts.boat.name,
        "time_zone": facts.boat.place.time_zone,
        "as_of": facts.now,
        "made_at": now_utc(),
        "until": slots.at(slots.count),
        "done_by": facts.work.done_by,
        "all_done": AllDone(
            middle=on(day_for(finish_d, 0.5)),
            late=on(day_for(finish_d, 0.9)),
            done_by=facts.work.done_by,
            chance_pct=None if chance is None else _pct(chance),
            until=slots.at(slots.count).astimezone(zone).date(),
            years=len(known.years),
            seasons=finish_d.size,
            without=[job for job, _ in season.never],
        ),
        "chance_pct": None if chance is None else _pct(chance),
        "chance_low_pct": None if low_high is None else _pct(low_high[0]),
        "chance_high_pct": None if low_high is None else _pct(low_high[1]),
        "dates": [
            DateFor(chance_pct=each, on=on(day_for(finish_d, each / 100.0))) for each in CHANCES
        ],
        "curve_on": curve_on,
        "curve_pct": [_pct(chance_by(finish_d, each)) for each in ends_d],
        "years": [
            YearOutcome(
                year=label,
                early=on(day_for(row, 0.1)),
                middle=on(day_for(row, 0.5)),
                late=on(day_for(row, 0.9)),
            )
            for label, row in zip(known.years, finish_d, strict=True)
        ],
        "jobs": [jobs[n] for n in order],
        "chance_rest_pct": rest,
        "sets_end": [
            SetsEnd(
                job=each.job,
                share_pct=_pct(each.share),
                kind=each.kind,
                days=round(each.days, 1),
            )
            for each in found.decides
        ],
        "mondays": mondays,
        "steps": [_step(task, found.begun_d[key], ends) for key, task in found.tasks.items()],
        "savings": savings,
        "weeks_from": [
            first_day + timedelta(days=7 * n) for n in range(aboard_hours(season.problems[0]).size)
        ],
        "aboard_hours": aboard_hours(season.problems[0]).tolist(),
        "workable": _workable(facts, season),
        "seasons": season.finish_d.size,
        "words": [],
        "hours_words": [],
        "notes": note_sentences(known, season, beyond=beyond),
        "key": key,
    }
    outlook = Outlook.model_validate(base)
    told = {"words": sentences(outlook, facts.words), "hours_words": hours_sentences(outlook)}
    return outlook.model_copy(update=told)


def _since(first: datetime, day: date, zone: ZoneInfo) -> float:
    """Days from a moment to the midnight a local day begins with."""
    midnight = datetime(day.year, day.month, day.day, tzinfo=zone)
    return (midnight.astimezone(UTC) - first) / timedelta(days=1)


def _step(task: Task, begun_d: FloatArray, ends_d: FloatArray) -> StepOutlook:
    return StepOutlook(
        key=task.key,
        part=task.part,
        job=task.job,
        step=task.step,
        coat=task.coat if task.sheet is not None else None,
        sitting=task.sitting,
        of_sittings=task.of_sittings,
        begun_pct=[_pct(float(each)) for each in chance_by_week(begun_d, ends_d)],
    )


def _pct(share: float) -> float:
    return round(100.0 * share, 1)


def _workable(facts: Situation, season: Season) -> list[WorkableWeeks]:
    found = []
    for each in workable_hours(season.problems):
        found.append(
            WorkableWeeks(
                product=facts.sheet(each.sheet).sheet.name,
                place=each.space or "outdoors",
                jobs=list(each.jobs),
                hours_as_is=each.as_is.mean(axis=0).round(1).tolist(),
                hours_warmed=each.warmed.mean(axis=0).round(1).tolist(),
                poor_year_hours=np.quantile(each.warmed, 0.1, axis=0, method="inverted_cdf")
                .round(1)
                .tolist(),
            )
        )
    return found


def store(folder: Path, outlook: Outlook) -> None:
    """Keep an outlook in the boat folder, whole or not at all.

    Raises
    ------
    BoatError
        The folder cannot be written to.
    """
    path = folder / OUTLOOK_FILE
    try:
        write_whole(path, outlook.model_dump_json(indent=1) + "\n")
    except OSError as bad:
        raise BoatError(f"cannot be written: {bad.strerror}", file=path) from None


def kept(folder: Path) -> Outlook | None:
    """The outlook last made; None where there is none or it cannot be read."""
    path = folder / OUTLOOK_FILE
    try:
        return read_back(path.read_bytes(), Outlook)
    except FileNotFoundError:
        return None
    except OtherFormError:
        log.warning("the kept outlook %s is an older version's: it is not used", path)
        return None
    except (OSError, ValueError) as bad:
        log.warning("the kept outlook %s cannot be used (%s)", path, bad)
        return None
