"""The day sheet put together: what can be done today, until when, and why not."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from curewindow.cautions import grade, rank
from curewindow.daysheet.changed import changes_of, weather_name
from curewindow.daysheet.models import DayCaution, DaySheet, Provenance
from curewindow.daysheet.plannedsteps import plan_now
from curewindow.daysheet.present import outdoors_now, spaces_now
from curewindow.daysheet.setaside import set_aside
from curewindow.findings import Finding, finding
from curewindow.judgement.below import launch_dangers
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.dangers import (
    dust_dangers,
    film_dangers,
    heater_dangers,
    night_dangers,
    rag_dangers,
)
from curewindow.judgement.dew import daylight, with_dewfall
from curewindow.judgement.heat import heat_worth_it
from curewindow.judgement.jobday import Found, find, job_day
from curewindow.judgement.models import JobDay
from curewindow.situation import Situation, read_situation
from curewindow.weather.forecast import Forecast


def day_sheet(folder: Path, now: datetime, *, forecast: Forecast | None = None) -> DaySheet:
    """Make the day sheet of a boat.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware; the moment it is, or is pretended to be.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.

    Returns
    -------
    DaySheet

    Raises
    ------
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    ValueError
        ``now`` is not aware.
    """
    return assemble(read_situation(folder, now, forecast))


def assemble(facts: Situation) -> DaySheet:
    """Make the day sheet from what was read."""
    clocks = clocks_of(facts)
    by_job = {clock.job: clock for clock in clocks}
    days: list[JobDay] = []
    all_found: dict[str, Found | None] = {}
    for job in facts.work.job:
        found = all_found[job.name] = find(facts, job, by_job)
        day = job_day(facts, job, found)
        if day.status in ("blocked", "wait"):
            day = day.model_copy(update={"heat": heat_worth_it(facts, job, found, by_job)})
        days.append(with_dewfall(facts, job, day))
    boat = facts.boat
    return DaySheet(
        boat=boat.name,
        place=boat.place.name,
        time_zone=boat.place.time_zone,
        temperature_unit="°F" if facts.words.fahrenheit else "°C",
        as_of=facts.now,
        day=facts.words.local(facts.now).date(),
        done_by=facts.work.done_by,
        jobs=days,
        clocks=[clock for clock in clocks if clock.state != "cured"],
        spaces=spaces_now(facts),
        outdoors=outdoors_now(facts),
        daylight=daylight(facts),
        cautions=_folded(_cautions(facts, days)),
        provenance=provenance(facts),
        changes=changes_of(facts, days, all_found, weather_name(facts)),
        plan=plan_now(facts, {day.job: day for day in days}, by_job),
        notes=[
            *(
                [finding("one pair of hands")]
                if sum(day.status == "go" for day in days) > 1
                else []
            ),
            *_left_out(facts),
            *set_aside(facts),
        ],
    )


def _cautions(facts: Situation, days: list[JobDay]) -> Iterator[tuple[Finding, str, bool]]:
    """Every caution with its job, and whether only later work has it.

    Of what is told: steps of today, what is refused, heat that is ordered, coats that are on,
    heaters that are lit, then steps of later days.
    """
    for day in days:
        if day.status in ("go", "refused"):
            yield from ((each, day.job, False) for each in day.cautions)
        if day.heat is not None and day.heat.status in ("possible", "refused"):
            yield from ((each, day.job, False) for each in day.heat.cautions)
    yield from ((each, job, False) for each, job in film_dangers(facts))
    yield from ((each, job, False) for each, job in night_dangers(facts))
    yield from ((each, job, False) for each, job in rag_dangers(facts))
    yield from ((each, job, False) for each, job in dust_dangers(facts))
    yield from ((each, job, False) for each, job in launch_dangers(facts))
    yield from ((each, job, False) for each, job in heater_dangers(facts))
    for day in days:
        if day.next_window is not None or day.if_wiped is not None:
            yield from ((each, day.job, True) for each in day.cautions)


def _folded(found: Iterable[tuple[Finding, str, bool]]) -> list[DayCaution]:
    """Each caution once with all its jobs, gravest first, those of later days last."""
    jobs: dict[Finding, list[str]] = {}
    later: dict[Finding, bool] = {}
    for caution, job, far in found:
        jobs.setdefault(caution, []).append(job)
        later[caution] = later.get(caution, True) and far
    return [
        DayCaution(
            danger=each,
            grade=grade(each),
            jobs=[job for job in dict.fromkeys(jobs[each]) if job],
            later=later[each],
        )
        for each in sorted(jobs, key=lambda each: (later[each], rank(each)))
    ]


def _left_out(facts: Situation) -> list[Finding]:
    """Coats of jobs that are no longer in the work list, while they may still matter."""
    known = {job.name for job in facts.work.job}
    recent = facts.now - timedelta(days=30)
    names = {coat.job for coat in facts.coats if coat.job not in known and coat.end > recent}
    return [finding("job not in work list", other_job=name) for name in sorted(names)]


def provenance(facts: Situation) -> Provenance:
    """What all of it rests on."""
    forecast = facts.forecast
    made = forecast.issued_at or forecast.fetched_at
    stems = sorted(
        {step.sheet for job in facts.work.job for step in job.step if step.sheet is not None}
    )
    loaded = [facts.sheet(stem) for stem in stems]
    notes: list[Finding] = []
    for conditions in facts.conditions.values():
        notes += conditions.notes
    return Provenance(
        weather=forecast.source,
        attribution=forecast.attribution,
        issued_at=forecast.issued_at,
        fetched_at=forecast.fetched_at,
        weather_age_h=round(max((facts.now - made).total_seconds() / 3600.0, 0.0), 2),
        weather_until=datetime.fromtimestamp(
            int(forecast.times[-1].astype("datetime64[s]").astype(int)), UTC
        ),
        last_reading=max((reading.at for reading in facts.readings), default=None),
        typical_sheets=[sheet.stem for sheet in loaded if sheet.sheet.typical],
        own_sheets=[sheet.stem for sheet in loaded if sheet.own],
        weather_name=weather_name(facts),
        members=forecast.members,
        spread=forecast.spread,
        weather_notes=list(forecast.notes),
        # what is to be said of the weather is told apart
        notes=[note for note in dict.fromkeys(notes) if note not in forecast.notes],
    )
