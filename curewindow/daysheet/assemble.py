"""The day sheet put together: what can be done today, until when, and why not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, datetime
from pathlib import Path

from curewindow.answers import Clock, Window
from curewindow.boat.effort import hands_on_h, hands_on_note
from curewindow.boat.schema import Job
from curewindow.cautions import Caution, cautions_for
from curewindow.cautions.spaces import joined_spaces
from curewindow.daysheet.facts import Facts, gather
from curewindow.daysheet.judging import Judged, judge_job
from curewindow.daysheet.models import (
    DayCaution,
    DaySheet,
    JobDay,
    NextStep,
    Provenance,
    Status,
    Wait,
)
from curewindow.daysheet.present import outdoors_now, spaces_now
from curewindow.daysheet.progress import WITH_PRODUCT, Progress, next_of
from curewindow.daysheet.standing import clocks_of, waits_for
from curewindow.daysheet.words import (
    go_text,
    hands_text,
    obstacle_text,
    waits_text,
    window_text,
)
from curewindow.sheets.schema import Sheet
from curewindow.weather.forecast import Forecast

EACH_BY_ITSELF = "each job is judged by itself: two that say go may not fit one pair of hands"


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
    for job in facts.work.job:
        day, said = _job_day(facts, job, by_job)
        days.append(day)
        if day.status in ("go", "refused"):
            for caution in said:
                cautions.setdefault(caution, []).append(job.name)
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
        cautions=[
            DayCaution(topic=c.topic, text=c.text, urgency=c.urgency, jobs=names)
            for c, names in sorted(cautions.items(), key=lambda item: order[item[0].urgency])
        ],
        provenance=_provenance(facts),
        notes=[EACH_BY_ITSELF] if sum(day.status == "go" for day in days) > 1 else [],
    )


def _job_day(facts: Facts, job: Job, clocks: dict[str, Clock]) -> tuple[JobDay, Sequence[Caution]]:
    where = facts.series(job).where
    progress = next_of(job, facts.coats, facts.dones)
    if progress is None:
        return JobDay(job=job.name, where=where, status="done", sentence="done"), ()
    clock = clocks.get(job.name)
    waits = waits_for(facts, job, progress, clocks)
    judged = judge_job(facts, job, progress, waits, clock)
    today = facts.words.local(facts.now).date()
    now_on = [w for w in judged.windows if facts.words.local(w.opens).date() == today]
    later = next((w for w in judged.windows if facts.words.local(w.opens).date() > today), None)
    said = _cautions(facts, job, progress, clocks)
    refusal = next((c.text for c in said if c.urgency == "refused"), judged.refusal)
    waits += _recoat_wait(facts, clock, progress)
    status = _status(refusal, now_on, later, waits)
    ahead = _next_step(facts, job, progress, clock)
    notes = [*judged.notes, progress.note, hands_on_note(progress.step, job) or ""]
    for window in now_on[:1] or ([later] if later is not None else []):
        notes += window.notes
    day = JobDay(
        job=job.name,
        where=where,
        status=status,
        sentence=_sentence(facts, status, ahead, now_on, later, waits, judged, refusal),
        next=ahead,
        windows_today=now_on if status == "go" else [],
        next_window=later if status != "refused" else None,
        obstacles=judged.obstacles if status != "go" else [],
        waits=waits,
        typical_sheet=ahead.sheet is not None and facts.sheet(ahead.sheet).sheet.typical,
        notes=list(dict.fromkeys(facts.words.sentence(note) for note in notes if note)),
    )
    return day, said


def _status(refusal: str, now_on: list[Window], later: Window | None, waits: list[Wait]) -> Status:
    if refusal:
        return "refused"
    if now_on:
        return "go"
    return "wait" if later is not None or waits else "blocked"


def _next_step(facts: Facts, job: Job, progress: Progress, clock: Clock | None) -> NextStep:
    step = progress.step
    over = clock is not None and clock.state == "sand first" and step.do in WITH_PRODUCT
    return NextStep(
        step=progress.step_number,
        of_steps=len(job.step),
        do=step.do,
        sheet=step.sheet,
        product=None if step.sheet is None else facts.sheet(step.sheet).sheet.name,
        coat=progress.coat,
        of_coats=step.coats if progress.coat is not None else None,
        hands_on_h=hands_on_h(step, job),
        sand_first=progress.sands_first or over,
        note=step.note,
    )


def _recoat_wait(facts: Facts, clock: Clock | None, progress: Progress) -> list[Wait]:
    """The coat below, where it may not be recoated yet."""
    if clock is None or progress.coat is None or clock.state in ("never again", "sand first"):
        return []
    opens = clock.recoat_from
    if opens is not None and opens <= facts.now:
        return []
    what = "the coat below to be ready for the next"
    return [Wait(what=what, about=clock.job, kind="recoat", until=opens)]


def _cautions(
    facts: Facts, job: Job, progress: Progress, clocks: dict[str, Clock]
) -> list[Caution]:
    """Cautions for the step at hand, with the products still wet in the air around it."""
    space = None if job.space is None else facts.boat.find_space(job.space)
    stems = [progress.step.sheet] if progress.step.sheet is not None else []
    if space is not None:
        near = {place.name for place in joined_spaces(facts.boat, space)}
        stems += [
            clocks[other.name].sheet
            for other in facts.work.job
            if other.space in near
            and other.name in clocks
            and clocks[other.name].state in ("wet", "unknown")
        ]
    sheets: list[Sheet] = [facts.sheet(stem).sheet for stem in dict.fromkeys(stems)]
    return cautions_for(sheets, job, space, facts.boat, step=progress.step)


def _sentence(
    facts: Facts,
    status: Status,
    ahead: NextStep,
    now_on: list[Window],
    later: Window | None,
    waits: list[Wait],
    judged: Judged,
    refusal: str,
) -> str:
    words = facts.words
    if status == "refused":
        return f"not like this: {words.sentence(refusal)}"
    if status == "go":
        if ahead.sheet is None:
            return hands_text(now_on, words)
        return go_text(now_on, ahead.hands_on_h, words, judged.sand_after)
    # what ends today is no reason why there is no start today
    tonight = words.local(facts.now).date()
    held = [w for w in waits if w.until is None or words.local(w.until).date() > tonight]
    if judged.obstacles and not held:
        waits = []
    why = waits_text(waits, words)
    if not waits and judged.obstacles:
        why = obstacle_text(judged.obstacles[0], words)
    if status == "blocked":
        end = words.day(datetime.fromtimestamp(int(facts.forecast.times[-1].astype(int)), UTC))
        return f"no start up to {end}: {why or 'nobody aboard'}"
    following = "" if later is None else window_text(later, ahead.hands_on_h, words)
    if waits:
        after = f"; then {following}" if following else ""
        return f"waits for {why}{after}"
    return f"{following}; until then {why}" if why else following


def _provenance(facts: Facts) -> Provenance:
    forecast = facts.forecast
    made = forecast.issued_at or forecast.fetched_at
    stems = sorted(
        {step.sheet for job in facts.work.job for step in job.step if step.sheet is not None}
    )
    loaded = [facts.sheet(stem) for stem in stems]
    notes = [*forecast.notes]
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
        notes=list(dict.fromkeys(facts.words.sentence(note) for note in notes)),
    )
