"""The day sheet put together: what can be done today, until when, and why not."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

from curewindow.answers import Clock
from curewindow.boat.folder import job_by_name
from curewindow.cautions import Caution
from curewindow.cautions.spaces import fire_cautions, sleeping_cautions
from curewindow.daysheet.changed import changes_of, weather_name
from curewindow.daysheet.dew import daylight, with_dewfall
from curewindow.daysheet.facts import Facts, gather
from curewindow.daysheet.heat import heat_may_help, heat_plan
from curewindow.daysheet.jobday import Found, find, job_day
from curewindow.daysheet.models import DayCaution, DaySheet, JobDay, Provenance
from curewindow.daysheet.plannedsteps import plan_now
from curewindow.daysheet.present import outdoors_now, spaces_now
from curewindow.daysheet.setaside import set_aside
from curewindow.daysheet.standing import clocks_of
from curewindow.findings import Finding, finding
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
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    return assemble(gather(folder, now.astimezone(UTC), forecast))


def assemble(facts: Facts) -> DaySheet:
    """Make the day sheet from what was read."""
    clocks = clocks_of(facts)
    by_job = {clock.job: clock for clock in clocks}
    days: list[JobDay] = []
    cautions: dict[Caution, list[str]] = {}
    all_found: dict[str, Found | None] = {}
    for job in facts.work.job:
        found = all_found[job.name] = find(facts, job, by_job)
        day = job_day(facts, job, found)
        if found is not None and day.status == "blocked" and heat_may_help(facts, job, found):
            day = day.model_copy(update={"heat": heat_plan(facts, job, found, by_job)})
        days.append(with_dewfall(facts, job, day))
        if found is not None and day.status in ("go", "refused"):
            for caution in found.cautions:
                cautions.setdefault(caution, []).append(job.name)
    for clock in clocks:
        for caution in _still_in_the_air(facts, clock):
            cautions.setdefault(caution, []).append(clock.job)
    order = {"refused": 0, "warning": 1, "reminder": 2}
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
        cautions=[
            DayCaution(
                topic=c.topic,
                short=c.short,
                text=c.text,
                urgency=c.urgency,
                jobs=list(dict.fromkeys(names)),
            )
            for c, names in sorted(cautions.items(), key=lambda item: order[item[0].urgency])
        ],
        provenance=provenance(facts),
        changes=changes_of(facts, days, all_found, weather_name(facts)),
        plan=plan_now(facts, {day.job: day for day in days}),
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


def _still_in_the_air(facts: Facts, clock: Clock) -> Iterator[Caution]:
    """A coat that is still wet binds flames and sleepers near it, whatever is done today."""
    if clock.state not in ("wet", "unknown"):
        return
    job = job_by_name(facts.work, clock.job)
    space = None if job.space is None else facts.boat.find_space(job.space)
    product = [facts.sheet(clock.sheet).sheet]
    if space is not None:
        yield from fire_cautions(product, space, facts.boat, None)
    yield from sleeping_cautions(product, space, facts.boat)


def _left_out(facts: Facts) -> list[Finding]:
    """Coats of jobs that are no longer in the work list, while they may still matter."""
    known = {job.name for job in facts.work.job}
    recent = facts.now - timedelta(days=30)
    names = {coat.job for coat in facts.coats if coat.job not in known and coat.end > recent}
    return [finding("job not in work list", other_job=name) for name in sorted(names)]


def provenance(facts: Facts) -> Provenance:
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
        spread=facts.words.sentence(forecast.spread),
        weather_notes=[facts.words.sentence(note) for note in forecast.notes],
        # the weather's own remarks are told apart
        notes=[note for note in dict.fromkeys(notes) if note.kind != "remark"],
    )
