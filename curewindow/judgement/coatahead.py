"""A coat that is only thought of, as what is to be heated for."""

from __future__ import annotations

from datetime import datetime

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job
from curewindow.curing import recoat_bounds
from curewindow.heating import Below, HeatedCoat
from curewindow.judgement.airing import airing_of, water_kg_h
from curewindow.judgement.judging import rule_for_next, someone_sleeps_near
from curewindow.judgement.progress import Progress
from curewindow.situation import Situation
from curewindow.windows.grid import at_index, first_at_or_after


def coat_ahead(facts: Situation, job: Job, progress: Progress, *, bare_wood: bool) -> HeatedCoat:
    """A step's coat, whenever it may come; what is below it is for the caller to say.

    Parameters
    ----------
    facts : Situation
    job : Job
    progress : Progress
        The step and the coat.
    bare_wood : bool
        Nothing is on the wood yet, where it is wood.
    """
    step = progress.step
    assert step.sheet is not None
    sheet = facts.sheet(step.sheet).sheet
    airing, known = airing_of(facts, job, progress, sheet)
    series = facts.series(job)
    more = progress.coat is not None and progress.coat < step.coats
    return HeatedCoat(
        job=job,
        step=step,
        sheet=sheet,
        hands_on_h=hands_on_h(step, job),
        base=series,
        hours_ok=facts.hours_ok(series),
        zone=facts.words.zone,
        earliest=facts.now,
        bare_wood=job.bare_wood and bare_wood,
        airing_m3_h=airing,
        airing_known=known,
        water_kg_h=water_kg_h(sheet, job, progress),
        by_bedtime=someone_sleeps_near(facts, job, sheet),
        next_rule=rule_for_next(facts, job, progress, sheet) if more else None,
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


def from_now(facts: Situation, job: Job) -> datetime:
    """The first grid point nobody has missed yet."""
    series = facts.series(job)
    return at_index(series, min(first_at_or_after(series, facts.now), len(series.times) - 2))
