"""What can hurt someone in a step, and what still can of a coat that is on, till its cause ends."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Final

from curewindow.answers import Clock
from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Job, Space
from curewindow.cautions import cautions_for, gravest_first
from curewindow.cautions.airflow import confined_cautions, films_airflow_m3_h, vapour_cautions
from curewindow.cautions.fire import fire_cautions
from curewindow.cautions.products import product_cautions, sanding_cautions
from curewindow.cautions.spaces import heater_cautions, sleeping_cautions
from curewindow.findings import Finding, finding
from curewindow.judgement.below import chain_refusals, sanded_film
from curewindow.judgement.clocks import sands_first
from curewindow.judgement.films import Film, burning_near, films_of
from curewindow.judgement.progress import Progress
from curewindow.judgement.tins import tin_cautions
from curewindow.rules.sleep import LONG_LIVED, bunks_near, next_night, sleepers_said
from curewindow.rules.work import MAKES_DUST
from curewindow.sheets.schema import Hazard, Sheet
from curewindow.situation import Situation

RAGS_FOR: Final = timedelta(hours=72)
"""Rags with drying oil, and dust, that nobody has cleared away are told of so long.

Rags light themselves within hours to a day or two. Common practice, no source.
"""
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
    # the whole chain: what a later step cannot go on is put right before the first stroke
    said += list(chain_refusals(facts, job, progress.step_number).values())[:1]
    if progress.step.do in MAKES_DUST or sands_first(facts, job, progress, clocks.get(job.name)):
        said += sanded_film(facts, job)
    if space is not None:
        near = {place.name for place in joined_spaces(facts.boat, space)}
        jobs = {other.name: other.space for other in facts.work.job}
        said += [each for each, name in dust_dangers(facts) if jobs.get(name) in near]
    return gravest_first(said)


def film_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """Cautions that coats which are on bring whatever is done today, each till its cause ends.

    By their jobs, whether those are done or not, or have left the work list. A flame or spark
    while a film gives off solvent; sleepers until that has left and it is hard; what cures out
    of it until it has cured. Rags and dust: see `rag_dangers`, `dust_dangers`.
    """
    for film in films_of(facts):
        for each in _of_film(facts, film, film.sheet, film.space):
            yield each, film.coat.job


def _of_film(facts: Situation, film: Film, sheet: Sheet, space: Space | None) -> Iterator[Finding]:
    now = facts.now
    near = burning_near(facts, space)
    if film.burns(now) and film.job is None:
        yield finding("flammable vapour", products=(sheet.name,))
    elif film.job is not None and film.burns(now) and space is not None:
        known = films_airflow_m3_h(near) is not None
        yield from fire_cautions([sheet], space, facts.boat, None, airflow_known=known)
        yield from vapour_cautions([], film.job, space, None, near)
        yield from confined_cautions([sheet], space)
    if film.breathed(now):
        yield from sleeping_cautions([sheet], space, facts.boat)
    for caution in product_cautions(sheet, outdoors=film.outdoors):
        # Its mist has settled, and nobody sprays: what is left is given off by the film.
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


def night_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """Where nobody sleeps in the night that goes on, or comes next, for films that are on.

    Each space slept in that their air gets to; where nobody says where someone sleeps, or where
    a film is, all the boat. With each job it is for.
    """
    boat = facts.boat
    bed, _ = next_night(facts.now, facts.words.zone)
    at = max(bed, facts.now)
    found: dict[str, list[Film]] = {}
    for film in films_of(facts):
        if film.outdoors or not film.breathed(at):
            continue
        told_where = film.job is not None and sleepers_said(boat)
        for name in bunks_near(boat, film.space) if told_where else [""]:
            found.setdefault(name, []).append(film)
    for name, films in found.items():
        # in a cold that nobody knows of no time of a sheet is an end
        ends = [film.breathed_until if film.job else None for film in films]
        known = [each for each in ends if each is not None]
        said = finding(
            "nobody sleeps here tonight",
            space=name or None,
            products=tuple(dict.fromkeys(film.sheet.name for film in films)),
            until=max(known) if len(known) == len(ends) else None,
        )
        for job in dict.fromkeys(film.coat.job for film in films):
            yield said, job


def rag_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """The rags of every coat of the last days, also of a job that has left the work list.

    Until they are cleared away by the log, else for :data:`RAGS_FOR`.
    """
    for coat in facts.coats:
        over = not timedelta(0) <= facts.now - coat.end < RAGS_FOR
        if over or _cleared(facts, coat.job, coat.end):
            continue
        for caution in product_cautions(facts.sheet(coat.sheet).sheet, outdoors=False):
            if caution.kind == _RAGS:
                yield caution, coat.job


def dust_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """The dust of work done by the log, until it is wiped or cleared away.

    Whoever has put a coat on since has wiped it off; nobody says so, then as long as rags.
    """
    today = facts.words.local(facts.now).date()
    jobs = {job.name: job for job in facts.work.job}
    sanded = [(each.job, each.at, False) for each in facts.inspections if each.found == "sanded"]
    for done in facts.dones:
        job = jobs.get(done.job)
        if job is not None and done.step <= len(job.step):
            step = job.step[done.step - 1]
            if step.do in MAKES_DUST:
                sanded.append((done.job, done.at, step.do == "prepare"))
    for name, at, old_film in sanded:
        job = jobs.get(name)
        if job is None or job.space is None or not timedelta(0) <= facts.now - at < RAGS_FOR:
            continue
        coated = any(coat.job == name and coat.start >= at for coat in facts.coats)
        if coated or _cleared(facts, name, at) or _wiped(facts, job, at):
            continue
        # to test what is sanded helps while it is sanded; dust stays dust
        sanded_today = facts.words.local(at).date() == today
        yield from ((each, name) for each in sanding_cautions(old_film=old_film and sanded_today))


def _cleared(facts: Situation, job: str, since: datetime) -> bool:
    """Is what the work left behind burnt, soaked or off the boat by the log?"""
    return any(
        each.found == "cleared" and each.job == job and each.at >= since
        for each in facts.inspections
    )


def _wiped(facts: Situation, job: Job, since: datetime) -> bool:
    return any(
        each.at >= since and (each.job == job.name or each.space == job.space)
        for each in facts.wiped
    )


def _space(facts: Situation, job: Job) -> Space | None:
    return None if job.space is None else facts.boat.find_space(job.space)
