"""One job on a day: its next step, its windows, what it waits for, and the line to go by."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from curewindow.answers import Clock, NextStep, Obstacle, Wait, Window
from curewindow.boat.effort import hands_on_assumed, hands_on_h
from curewindow.boat.schema import Job
from curewindow.cautions import refusal_of
from curewindow.cautions.fire import flammable
from curewindow.findings import Finding, finding
from curewindow.judgement.airing import airing_of
from curewindow.judgement.below import acts_over, waits_below
from curewindow.judgement.clocks import sands_first, waits_for
from curewindow.judgement.dangers import step_dangers
from curewindow.judgement.films import vapour_waits
from curewindow.judgement.judging import Judged, judge_job
from curewindow.judgement.models import JobDay, Status
from curewindow.judgement.progress import Progress, next_of
from curewindow.rules.limits import DRY_G_M2
from curewindow.situation import Situation
from curewindow.weather.grid import utc_of
from curewindow.windows.grid import first_at_or_after
from curewindow.windows.tins import carry_instead

_SOON = timedelta(minutes=30)  # a best start sooner than this is not worth naming


@dataclass(frozen=True, slots=True)
class Found:
    """Everything found for the next step of a job.

    ``refusal`` is why it may not be done at all as things are; None where it may. ``first`` is what
    is done to what is below.
    """

    ahead: NextStep
    progress: Progress
    waits: list[Wait]
    judged: Judged
    cautions: list[Finding]
    refusal: Finding | None
    first: tuple[Finding, ...] = ()


def all_waits(
    facts: Situation, job: Job, progress: Progress, clocks: dict[str, Clock]
) -> list[Wait]:
    """All that a job's next step waits for: other jobs, films below it, vapour beside it."""
    return [
        *waits_for(facts, job, progress, clocks),
        *waits_below(facts, job, progress),
        *vapour_waits(facts, job, progress),
    ]


def find(
    facts: Situation,
    job: Job,
    clocks: dict[str, Clock],
    *,
    all_windows: bool = False,
    through: datetime | None = None,
) -> Found | None:
    """Find all there is to say about the next step of a job.

    Parameters
    ----------
    facts : Situation
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
    waits = all_waits(facts, job, progress, clocks)
    judged = judge_job(facts, job, progress, waits, clock, all_windows=all_windows, through=through)
    said = step_dangers(facts, job, progress, clocks)
    refusal = refusal_of(said) or judged.refusal
    waits = [*waits, *_recoat_wait(facts, clock, progress)]
    ahead = _next_step(facts, job, progress, clock)
    first = tuple(acts_over(facts, job, progress, clock))
    return Found(ahead, progress, waits, judged, said, refusal, first)


def job_day(facts: Situation, job: Job, found: Found | None) -> JobDay:
    """A job on this day."""
    series = facts.series(job)
    if found is None:
        return JobDay(
            job=job.name,
            where=series.where,
            space=series.space,
            surface=series.surface,
            status="done",
            verdict=finding("done"),
        )
    words, judged, ahead = facts.words, found.judged, found.ahead
    today = words.local(facts.now).date()
    now_on = [w for w in judged.windows if words.local(w.opens).date() == today]
    later = next((w for w in judged.windows if words.local(w.opens).date() > today), None)
    status = _status(found.refusal, now_on, later or judged.if_wiped, _held(facts, found.waits))
    notes = [
        *judged.notes,
        *found.first,
        *found.progress.notes,
        hands_on_assumed(found.progress.step, job),
        _aired(facts, job, found),
        _wiping(facts, job, found),
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
        verdict=_verdict(facts, status, found, now_on, later),
        next=ahead,
        windows_today=now_on if status == "go" else [],
        next_window=later if status != "refused" else None,
        if_wiped=judged.if_wiped if status != "refused" else None,
        obstacles=judged.obstacles if status != "go" else [],
        waits=found.waits,
        cautions=found.cautions,
        typical_sheet=ahead.sheet is not None and facts.sheet(ahead.sheet).sheet.typical,
        notes=list(dict.fromkeys(note for note in notes if note is not None)),
    )


def _wiping(facts: Situation, job: Job, found: Found) -> Finding | None:
    """How a surface that is wet now counts as dry sooner."""
    verdict = found.judged.verdict
    if verdict is None:
        return None
    series = verdict.series
    now = min(first_at_or_after(series, facts.now), len(series.times) - 1)
    lying = series.lying_kg_m2
    wet_now = lying is not None and float(np.median(lying[:, now])) * 1000.0 > DRY_G_M2
    if not wet_now and found.judged.if_wiped is None:
        return None
    return finding("wipe and log", job=job.name)


def _aired(facts: Situation, job: Job, found: Found) -> Finding | None:
    """What the windows hold for where vapour wants the space open, or the coat is wet itself."""
    space = None if job.space is None else facts.boat.find_space(job.space)
    sheet = None if found.ahead.sheet is None else facts.sheet(found.ahead.sheet).sheet
    if space is None or sheet is None:
        return None
    verdict = found.judged.verdict
    given = None if verdict is None else verdict.given_off
    if given is None:
        if not flammable(sheet):
            return None
        return finding("times with space shut", space=space.name)
    if not given.aired:
        return finding("own water counted")
    flow, known = airing_of(facts, job, found.progress, sheet)
    return finding("times with vents open", flow_m3_h=flow, space=space.name, known=known)


def _held(facts: Situation, waits: list[Wait]) -> list[Wait]:
    """The waits that last beyond today."""
    today = facts.words.local(facts.now).date()
    return [w for w in waits if w.until is None or facts.words.local(w.until).date() > today]


def _status(
    refusal: Finding | None, now_on: list[Window], later: Window | None, held: list[Wait]
) -> Status:
    if refusal is not None:
        return "refused"
    if now_on:
        return "go"
    return "wait" if later is not None or held else "blocked"


def _next_step(facts: Situation, job: Job, progress: Progress, clock: Clock | None) -> NextStep:
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


def _recoat_wait(facts: Situation, clock: Clock | None, progress: Progress) -> list[Wait]:
    """The coat below, where it may not be recoated yet."""
    if clock is None or progress.coat is None or clock.state in ("never again", "sand first"):
        return []
    opens = clock.recoat_from
    if opens is not None and opens <= facts.now:
        return []
    why = finding("recoat not yet", until=opens)
    if clock.sheet in facts.lost:
        why = finding("sheet to put back", sheet=clock.sheet)
    return [Wait(why=why, about=clock.job, kind="recoat", until=opens)]


def _verdict(
    facts: Situation, status: Status, found: Found, now_on: list[Window], later: Window | None
) -> Finding:
    """When the step may start, or what it waits for."""
    judged, takes = found.judged, timedelta(hours=found.ahead.tail_h)
    wiped = [ahead_of("window once wiped", window, takes) for window in judged.wiped[:1]]
    if status == "refused":
        assert found.refusal is not None  # that is what makes it refused
        return finding("refused", because=[found.refusal])
    if status == "go":
        return _today(facts, found, now_on, wiped)
    held = _held(facts, found.waits)
    holds = [wait.why for wait in (held or found.waits)]
    # a wait that ends today is only half the reason why there is no start today
    if judged.obstacles and not (held and (later is not None or _open_ended(held))):
        holds.append(_with_figure(judged.obstacles[0]))
        holds += _tin_warm(facts, judged)
    ends = utc_of(facts.forecast.times[-1])
    ahead = [] if later is None else [ahead_of("window ahead", later, takes)]
    if ahead or wiped:
        ahead += [each for each in found.first if each.weight == "act"]
    if status == "blocked" or (held and not ahead and not wiped and not _open_ended(held)):
        return finding("no window", until=ends, because=holds)
    return finding("waits", because=[*ahead, *wiped, *holds])


def _tin_warm(facts: Situation, judged: Judged) -> list[Finding]:
    """What helps where the tin alone is too cold."""
    if judged.verdict is None or len(judged.obstacles) > 1:
        return []
    start = first_at_or_after(judged.verdict.series, facts.now)
    if start >= judged.verdict.points:
        return []
    helps = carry_instead(judged.verdict, judged.obstacles[0].why, start)
    return [] if helps is None else [helps]


def _today(facts: Situation, found: Found, now_on: list[Window], wiped: list[Finding]) -> Finding:
    """A start today: the first window, what to mind, and the others of the day."""
    takes = timedelta(hours=found.ahead.tail_h)
    first = now_on[0]
    begins = first.opens if first.opens > facts.now else None
    if found.ahead.sheet is None:
        return finding("hands on today", begins=begins, until=now_on[-1].closes)
    best = max(now_on, key=lambda window: window.confidence)
    later = best.best_start - max(first.opens, facts.now) > _SOON
    return finding(
        "start today",
        begins=begins,
        last_start=first.closes,
        until=first.closes + takes,
        at=best.best_start if later else None,
        chance=best.confidence,
        because=[
            *(note for note in (*found.first, *first.notes) if note.weight == "act"),
            *(ahead_of("window ahead", window, takes) for window in now_on[1:]),
            *wiped,
        ],
    )


def ahead_of(kind: str, window: Window, takes: timedelta) -> Finding:
    """A window to come, as a line tells it; 'takes': what the last start in it adds."""
    return finding(kind, begins=window.opens, until=window.closes + takes, chance=window.confidence)


def _open_ended(held: list[Wait]) -> bool:
    return any(wait.until is None for wait in held)


def _with_figure(obstacle: Obstacle) -> Finding:
    """An obstacle by the worst figure of the span, where one is known."""
    worst = obstacle.margin
    if worst is None or obstacle.why.kind != "limit broken":
        return obstacle.why
    return obstacle.why.changed(value=worst.value)
