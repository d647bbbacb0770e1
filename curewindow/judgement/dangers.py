"""What can hurt someone in a step, and what still can of a coat that is on, till its cause ends."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from curewindow.answers import Clock
from curewindow.boat.schema import Job, Space
from curewindow.cautions import cautions_for
from curewindow.cautions.airflow import airflow_m3_h, confined_cautions, vapour_cautions
from curewindow.cautions.fire import fire_cautions
from curewindow.cautions.products import product_cautions
from curewindow.cautions.spaces import heater_cautions, sleeping_cautions
from curewindow.findings import Finding
from curewindow.judgement.below import refused_over
from curewindow.judgement.films import Film, burning_near, films_of
from curewindow.judgement.progress import Progress
from curewindow.judgement.tins import tin_cautions
from curewindow.rules.sleep import LONG_LIVED
from curewindow.sheets.schema import Hazard, Sheet
from curewindow.situation import Situation

RAGS_FOR: Final = timedelta(hours=24)
"""Rags with drying oil may light themselves so long after the work. Common practice, no source."""
_WHILE_CURING: Final[tuple[Hazard, ...]] = ("methanol or oxime vapour",)
"""What goes on after the tin is shut, till it is closed up or hard; others end with the work."""
_RAGS: Final[Hazard] = "self-heating rags"


def step_dangers(
    facts: Situation, job: Job, progress: Progress, clocks: dict[str, Clock]
) -> list[Finding]:
    """Cautions for the step at hand, with the films that still give off vapour around it."""
    space = _space(facts, job)
    stem = progress.step.sheet
    sheets: list[Sheet] = [] if stem is None else [facts.sheet(stem).sheet]
    films = burning_near(facts, space)
    said = cautions_for(sheets, job, space, facts.boat, step=progress.step, films=films)
    if stem is not None:
        said += tin_cautions(facts, stem, sheets[0])
    if (never := refused_over(facts, job, progress)) is not None:
        said.insert(0, never)
    return said


def film_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """Cautions that coats which are on bring whatever is done today, each till its cause ends.

    By their jobs, whether those are done or not. A flame or spark while a film gives off
    solvent; sleepers until that has left and it is hard; what cures out of it until it has
    cured; rags for :data:`RAGS_FOR`, see `rag_dangers`.
    """
    for film in films_of(facts):
        name, sheet, space = film.job.name, film.sheet, film.space
        for each in _of_film(facts, film, sheet, space):
            yield each, name


def _of_film(facts: Situation, film: Film, sheet: Sheet, space: Space | None) -> Iterator[Finding]:
    now = facts.now
    near = burning_near(facts, space)
    if film.burns(now) and space is not None:
        known = airflow_m3_h(None, film.job, None, near) is not None
        yield from fire_cautions([sheet], space, facts.boat, None, airflow_known=known)
        yield from vapour_cautions([], film.job, space, None, near)
        yield from confined_cautions([sheet], space)
    if film.breathed(now):
        yield from sleeping_cautions([sheet], space, facts.boat)
    for caution in product_cautions(sheet, outdoors=space is None):
        long_lived = caution.kind in LONG_LIVED and film.breathed(now)
        if long_lived or (caution.kind in _WHILE_CURING and film.curing(now)):
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
