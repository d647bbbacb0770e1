"""One job on a day: its next step, its windows, what it waits for, and the line to go by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import UTC, datetime

import numpy as np

from curewindow.answers import Clock, Window
from curewindow.boat.effort import hands_on_h, hands_on_note
from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Job
from curewindow.cautions import Caution, cautions_for
from curewindow.daysheet.airing import airing_of
from curewindow.daysheet.facts import Facts
from curewindow.daysheet.judging import Judged, judge_job
from curewindow.daysheet.models import JobDay, NextStep, Status, Wait
from curewindow.daysheet.progress import Progress, next_of
from curewindow.daysheet.standing import sands_first, waits_for
from curewindow.daysheet.tins import tin_cautions
from curewindow.daysheet.words import (
    go_text,
    hands_text,
    obstacle_text,
    waits_text,
    window_text,
)
from curewindow.rules.limits import DRY_G_M2
from curewindow.sheets.schema import Sheet
from curewindow.windows.grid import first_at_or_after
from curewindow.wording import Wording


@dataclass(frozen=True, slots=True)
class Found:
    """Everything found for the next step of a job.

    ``refusal`` says why it may not be done at all as things are; '' where it may.
    """

    ahead: NextStep
    progress: Progress
    waits: list[Wait]
    judged: Judged
    cautions: list[Caution]
    refusal: str


def find(
    facts: Facts,
    job: Job,
    clocks: dict[str, Clock],
    *,
    all_windows: bool = False,
    through: datetime | None = None,
) -> Found | None:
    """Find all there is to say about the next step of a job.

    Parameters
    ----------
    facts : Facts
    job : Job
    clocks : dict of str to Clock
        By job.
    all_windows : bool
        All windows to the end of the weather, not only today's and the next.
    through : datetime, optional
        All windows up to the end of this day, in the place of today, and the next.

    Returns
    -------
    Found or None
        None where the job is done.
    """
    progress = next_of(job, facts.coats, facts.dones)
    if progress is None:
        return None
    clock = clocks.get(job.name)
    waits = waits_for(facts, job, progress, clocks)
    judged = judge_job(facts, job, progress, waits, clock, all_windows=all_windows, through=through)
    said = _cautions(facts, job, progress, clocks)
    refusal = next((c.text for c in said if c.urgency == "refused"), judged.refusal)
    waits = [*waits, *_recoat_wait(facts, clock, progress)]
    return Found(_next_step(facts, job, progress, clock), progress, waits, judged, said, refusal)


def job_day(facts: Facts, job: Job, found: Found | None) -> JobDay:
    """A job on this day."""
    series = facts.series(job)
    if found is None:
        return JobDay(
            job=job.name,
            where=series.where,
            space=series.space,
            surface=series.surface,
            status="done",
            sentence="done",
        )
    words, judged, ahead = facts.words, found.judged, found.ahead
    today = words.local(facts.now).date()
    now_on = [w for w in judged.windows if words.local(w.opens).date() == today]
    later = next((w for w in judged.windows if words.local(w.opens).date() > today), None)
    status = _status(found.refusal, now_on, later or judged.if_wiped, _held(facts, found.waits))
    notes = [
        *judged.notes,
        found.progress.note,
        hands_on_note(found.progress.step, job) or "",
        _aired_note(facts, job, found),
        _wiping_note(facts, job, found),
    ]
    shown = later or judged.if_wiped
    for window in now_on[:1] or ([shown] if shown is not None else []):
        notes += window.notes
    return JobDay(
        job=job.name,
        where=series.where,
        space=series.space,
        surface=series.surface,
        status=status,
        sentence=_sentence(facts, status, found, now_on, later),
        next=ahead,
        windows_today=now_on if status == "go" else [],
        next_window=later if status != "refused" else None,
        if_wiped=judged.if_wiped if status != "refused" else None,
        obstacles=judged.obstacles if status != "go" else [],
        waits=found.waits,
        typical_sheet=ahead.sheet is not None and facts.sheet(ahead.sheet).sheet.typical,
        notes=list(dict.fromkeys(words.sentence(note) for note in notes if note)),
    )


def _wiping_note(facts: Facts, job: Job, found: Found) -> str:
    """How a surface that is wet now counts as dry sooner."""
    verdict = found.judged.verdict
    if verdict is None:
        return ""
    series = verdict.series
    now = min(first_at_or_after(series, facts.now), len(series.times) - 1)
    lying = series.lying_kg_m2
    wet_now = lying is not None and float(np.median(lying[:, now])) * 1000.0 > DRY_G_M2
    if not wet_now and found.judged.if_wiped is None:
        return ""
    return (
        "water lies on it, or will, by weather and air: once it is wiped dry and aired, say so "
        f"with 'curewindow log dry \"{job.name}\"'"
    )


def _aired_note(facts: Facts, job: Job, found: Found) -> str:
    """What the windows hold for where vapour wants the space open, or the coat is wet itself."""
    space = None if job.space is None else facts.boat.find_space(job.space)
    sheet = None if found.ahead.sheet is None else facts.sheet(found.ahead.sheet).sheet
    if space is None or sheet is None:
        return ""
    verdict = found.judged.verdict
    given = None if verdict is None else verdict.given_off
    if given is None:
        if "flammable solvent" not in sheet.hazards:
            return ""
        return (
            f"its times and limits hold for the {space.name} shut: aired for the vapour it is "
            "nearer to the air outside until the film is dry; read the surface again once it is "
            "open"
        )
    if not given.aired:
        return "the water it gives off itself is reckoned in"
    flow, known = airing_of(facts, job, found.progress, sheet)
    usual = "" if known else ", a usual figure as sheet or job lack one"
    return (
        f"its times and limits hold with {flow:.0f} m³/h of outside air through the {space.name} "
        f"until it is touch dry{usual}, and with it shut"
    )


def _held(facts: Facts, waits: list[Wait]) -> list[Wait]:
    """The waits that last beyond today."""
    today = facts.words.local(facts.now).date()
    return [w for w in waits if w.until is None or facts.words.local(w.until).date() > today]


def _status(refusal: str, now_on: list[Window], later: Window | None, held: list[Wait]) -> Status:
    if refusal:
        return "refused"
    if now_on:
        return "go"
    return "wait" if later is not None or held else "blocked"


def _next_step(facts: Facts, job: Job, progress: Progress, clock: Clock | None) -> NextStep:
    step = progress.step
    return NextStep(
        step=progress.step_number,
        of_steps=len(job.step),
        do=step.do,
        sheet=step.sheet,
        product=None if step.sheet is None else facts.sheet(step.sheet).sheet.name,
        coat=progress.coat,
        of_coats=step.coats if progress.coat is not None else None,
        hands_on_h=hands_on_h(step, job),
        sand_first=sands_first(facts, job, progress, clock),
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
    if clock.sheet in facts.lost:
        what = f"the sheet of its last coat, '{clock.sheet}', to be put back"
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
    said = cautions_for(sheets, job, space, facts.boat, step=progress.step)
    if progress.step.sheet is not None:
        stem = progress.step.sheet
        said += tin_cautions(facts, stem, facts.sheet(stem).sheet)
    return said


def _sooner(found: Found, words: Wording) -> str:
    """'; once wiped dry and logged: today 12:50 to 15:25': no water that lies there dries soon."""
    window = found.judged.if_wiped
    if window is None:
        return ""
    opens = window_text(window, found.ahead.hands_on_h, words)
    return f"; once wiped dry and logged: {opens}"


def _sentence(
    facts: Facts, status: Status, found: Found, now_on: list[Window], later: Window | None
) -> str:
    words, judged, ahead, waits = facts.words, found.judged, found.ahead, found.waits
    if status == "refused":
        return f"not like this: {words.sentence(found.refusal)}"
    if status == "go":
        if ahead.sheet is None:
            return hands_text(now_on, words)
        text = go_text(now_on, ahead.hands_on_h, words, judged.sand_after)
        return f"{text}{_sooner(found, words)}"
    why = waits_text(waits, words)
    held = _held(facts, waits)
    in_the_way = obstacle_text(judged.obstacles[0], words) if judged.obstacles else ""
    if in_the_way and not held:
        # a wait that ends today is only half the reason why there is no start today
        why = f"{why}, then {in_the_way}" if waits else in_the_way
    end = words.day(datetime.fromtimestamp(int(facts.forecast.times[-1].astype(int)), UTC))
    if status == "blocked":
        return f"no start up to {end}: {why or 'nobody aboard'}"
    following = "" if later is None else window_text(later, ahead.hands_on_h, words)
    if judged.if_wiped is not None and not held:
        return (f"{following}; " if following else "") + f"{why}{_sooner(found, words)}"
    if held:
        if following:
            return f"waits for {why}; then {following}"
        if judged.if_wiped is not None:
            return f"waits for {why}; then {in_the_way}{_sooner(found, words)}"
        if in_the_way and all(wait.until is not None for wait in waits):
            return f"waits for {why}; then no start up to {end}: {in_the_way}"
        return f"waits for {why}"
    return f"{following}; until then {why}" if why else following
