"""What can hurt someone in a step, and what still can of a coat that is on, till its cause ends."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from curewindow.answers import Clock
from curewindow.boat.folder import job_by_name
from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Job, Space
from curewindow.cautions import cautions_for
from curewindow.cautions.airflow import vapour_cautions
from curewindow.cautions.products import product_cautions
from curewindow.cautions.spaces import fire_cautions, heater_cautions, sleeping_cautions
from curewindow.findings import Finding
from curewindow.judgement.clocks import milestone_at
from curewindow.judgement.progress import Progress
from curewindow.judgement.tins import tin_cautions
from curewindow.record.entries import Coat
from curewindow.rules.milestones import COVERED, HARD
from curewindow.sheets.schema import Hazard, Milestone, Sheet
from curewindow.situation import Situation

RAGS_FOR: Final = timedelta(hours=24)
"""Rags with drying oil may light themselves so long after the work. Common practice, no source."""
# What goes on after the tin is shut; the rest of a product's dangers end with the work.
_WHILE_CURING: Final[Hazard] = "methanol or oxime vapour"
_RAGS: Final[Hazard] = "self-heating rags"


def step_dangers(
    facts: Situation, job: Job, progress: Progress, clocks: dict[str, Clock]
) -> list[Finding]:
    """Cautions for the step at hand, with the products still wet in the air around it."""
    space = _space(facts, job)
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


def film_dangers(facts: Situation, clock: Clock) -> Iterator[Finding]:
    """Cautions that a coat which is on brings whatever is done today, each till its cause ends.

    A flame near wet film until it is touch dry; sleepers until it is hard; the vapour of
    what cures until it has cured; rags for :data:`RAGS_FOR`.
    """
    job = job_by_name(facts.work, clock.job)
    coat = _coat_of(facts, clock)
    space = _space(facts, job)
    sheet = facts.sheet(clock.sheet).sheet
    step = job.step[clock.step - 1] if clock.step <= len(job.step) else None
    if clock.state == "cured":
        return
    wet = clock.state in ("wet", "unknown")
    if wet:
        if space is not None:
            yield from fire_cautions([sheet], space, facts.boat, None)
        yield from vapour_cautions(sheet, job, space, step)
    if wet or not _reached(facts, job, coat, HARD):
        yield from sleeping_cautions([sheet], space, facts.boat)
    for caution in product_cautions(sheet, outdoors=space is None):
        if caution.kind == _WHILE_CURING and not _reached(facts, job, coat, (*COVERED, *HARD)):
            yield caution


def heater_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """Cautions of heaters that are lit by the log, for as long as they are, by job in the space.

    Where there is no job in it, the job is ''.
    """
    for space in facts.boat.space:
        held = None if space.heating is None else space.heating.held_at(facts.now)
        if held is None or held.setpoint_c is None:
            continue
        jobs = [job.name for job in facts.work.job if job.space == space.name]
        for caution in heater_cautions(space, facts.boat, None):
            yield from ((caution, job) for job in jobs or [""])


def rag_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """The rags of every coat of the last day, also of a job that has left the work list."""
    for coat in facts.coats:
        if not timedelta(0) <= facts.now - coat.end < RAGS_FOR:
            continue
        for caution in product_cautions(facts.sheet(coat.sheet).sheet, outdoors=False):
            if caution.kind == _RAGS:
                yield caution, coat.job


def _space(facts: Situation, job: Job) -> Space | None:
    return None if job.space is None else facts.boat.find_space(job.space)


def _coat_of(facts: Situation, clock: Clock) -> Coat:
    own = [
        coat
        for coat in facts.coats
        if (coat.job, coat.step, coat.coat) == (clock.job, clock.step, clock.coat)
    ]
    return max(own, key=lambda coat: (coat.end, coat.id))


def _reached(facts: Situation, job: Job, coat: Coat, names: tuple[Milestone, ...]) -> bool:
    """Is it known to have come so far? What nobody can tell has not; without a figure: once dry."""
    cure = facts.sheet(coat.sheet).sheet.cure
    if all(cure.hours(name) is None for name in names):
        return True
    at = milestone_at(facts, job, coat, names)
    return at is not None and at <= facts.now
