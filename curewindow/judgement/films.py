"""Coats that are on and still give something off: solvent, isocyanate, what cures out of them."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

from curewindow.answers import Wait
from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Job, Space
from curewindow.cautions.airflow import (
    WetFilm,
    airflow_m3_h,
    film_airflow_m3_h,
    solvent_airflow_m3_h,
)
from curewindow.cautions.fire import flammable
from curewindow.cautions.logged import Recorded, slowest_h
from curewindow.findings import finding
from curewindow.judgement.clocks import milestone_at
from curewindow.judgement.progress import Progress
from curewindow.record.entries import Coat
from curewindow.rules.milestones import COVERED, HARD, SKINNED
from curewindow.rules.sleep import least_breathed, not_to_sleep_over
from curewindow.rules.vapour import LEFT_AT_TOUCH_DRY, TOUCH_DRY_TIMES, within_reach
from curewindow.sheets.schema import Milestone, Sheet
from curewindow.situation import Situation

_LOOKED_BACK: Final = timedelta(days=30)
"""A coat that has been on for longer is told of no more (estimate)."""


@dataclass(frozen=True, slots=True)
class Film:
    """A coat that is on and may still give something off.

    Attributes
    ----------
    job : Job or None
        As large as the coat was; None: it has left the work list. Then nobody knows where the
        coat is, so it may be anywhere, and each time is the slowest on its sheet.
    space : Space or None
        None: outdoors, or nobody knows.
    coat : Coat
    sheet : Sheet
    skinned : datetime or None
        From when on most of its solvent has left; None: nobody can tell yet.
    gone : datetime or None
        From when on it gives off no solvent to speak of.
    hard : datetime or None
        From when on nobody minds sleeping over it, once the space has been aired.
    cured : datetime or None
        From when on nothing cures out of it any more.
    """

    job: Job | None
    space: Space | None
    coat: Coat
    sheet: Sheet
    skinned: datetime | None
    gone: datetime | None
    hard: datetime | None
    cured: datetime | None

    def burns(self, now: datetime) -> bool:
        """Does it give off vapour that a flame or spark lights?"""
        return flammable(self.sheet) and not _over(self.gone, now)

    def breathed(self, now: datetime) -> bool:
        """Does it give off what nobody sleeps over?"""
        return not_to_sleep_over(self.sheet) and not _over(self.breathed_until, now)

    @property
    def breathed_until(self) -> datetime | None:
        """When nobody minds sleeping over it any more; None: nobody can tell yet."""
        return None if self.hard is None or self.gone is None else max(self.hard, self.gone)

    def curing(self, now: datetime) -> bool:
        """Does anything still cure out of it?"""
        return not _over(self.cured, now)

    @property
    def outdoors(self) -> bool:
        """Is it known to be out of doors?"""
        return self.job is not None and self.space is None

    def about(self, spaces: Collection[str]) -> bool:
        """Is it, or may it be, in one of these spaces?"""
        return self.job is None or (self.space is not None and self.space.name in spaces)

    def wet(self, now: datetime) -> WetFilm:
        """As the airflow counts it."""
        share = LEFT_AT_TOUCH_DRY if _over(self.skinned, now) else 1.0
        return WetFilm(self.sheet, self.job, share)


def films_of(facts: Situation) -> list[Film]:
    """Every recorded coat that still gives something off, the last of each job first.

    Of one whose surface nobody knows anything of the last is not known: it goes on.
    """
    kept = facts._films.get("films")
    if kept is not None and kept[0] is facts:
        found: list[Film] = kept[1]
        return found
    jobs = {job.name: job for job in facts.work.job}
    made = [
        _film(facts, jobs[coat.job], coat) if coat.job in jobs else _left_film(facts, coat)
        for coat in sorted(facts.coats, key=lambda coat: (coat.end, coat.id), reverse=True)
        if timedelta(0) <= facts.now - coat.end < _LOOKED_BACK
    ]
    now = facts.now
    found = [e for e in made if e.burns(now) or e.breathed(now) or e.curing(now)]
    facts._films["films"] = (facts, found)
    return found


def burning_near(
    facts: Situation, space: Space | None, at: datetime | None = None
) -> list[WetFilm]:
    """Films whose vapour is about in a space: in it, or in one joined to it; now, or later."""
    if space is None:
        return []
    then = facts.now if at is None else max(at, facts.now)
    return [film.wet(then) for film in _burning(facts, space, then)]


def _burning(facts: Situation, space: Space, at: datetime) -> list[Film]:
    near = {each.name for each in joined_spaces(facts.boat, space)}
    return [film for film in films_of(facts) if film.about(near) and film.burns(at)]


def vapour_waits(facts: Situation, job: Job, progress: Progress) -> list[Wait]:
    """Films that are wet near, where nobody can air for them and the coat at hand together."""
    stem = progress.step.sheet
    space = None if job.space is None else facts.boat.find_space(job.space)
    if stem is None or space is None:
        return []
    sheet = facts.sheet(stem).sheet
    own = solvent_airflow_m3_h(sheet, job, progress.step)
    near = _burning(facts, space, facts.now)
    # What nobody can work out asks for more still: with the rest it is out of reach the sooner.
    films = [film for each in near if film_airflow_m3_h(film := each.wet(facts.now)) is not None]
    both = airflow_m3_h(sheet, job, progress.step, films)
    alone = not films or own is None or not within_reach(own, space.volume)
    if alone or both is None or within_reach(both, space.volume):
        return []
    wet = [film for film in near if not _over(film.skinned, facts.now)]
    ends = [film.skinned for film in wet]
    known = [each for each in ends if each is not None]
    until = max(known) if known and len(known) == len(ends) else None
    name = (wet or near)[0].coat.job
    why = finding("vapour of another coat", other_job=name, flow_m3_h=both, until=until)
    return [Wait(why=why, about=name, kind="drying", until=until)]


def _film(facts: Situation, job: Job, coat: Coat) -> Film:
    sheet = facts.sheet(coat.sheet).sheet
    cure = sheet.cure

    def at(names: tuple[Milestone, ...], times: float = 1.0) -> datetime | None:
        known = any(cure.hours(name) is not None for name in names)
        return milestone_at(facts, job, coat, names, times) if known else coat.end

    rows = any(cure.hours(name) is not None for name in SKINNED)
    hard = at(HARD)
    skinned = at(SKINNED) if rows else hard
    gone = at(SKINNED, TOUCH_DRY_TIMES) if rows else hard
    if hard is not None:
        hard = max(hard, coat.end + least_breathed(sheet))
    return Film(
        job=_as_large(job, coat),
        space=None if job.space is None else facts.boat.find_space(job.space),
        coat=coat,
        sheet=sheet,
        skinned=skinned,
        gone=gone,
        hard=hard,
        cured=at((*COVERED, *HARD)),
    )


def _left_film(facts: Situation, coat: Coat) -> Film:
    """A coat of a job that has left the work list, by the slowest column of its sheet."""
    sheet = facts.sheet(coat.sheet).sheet
    left = Recorded(coat, None, sheet)

    def at(names: tuple[Milestone, ...]) -> datetime:
        return coat.end + timedelta(hours=slowest_h(sheet, names) or 0.0)

    return Film(
        job=None,
        space=None,
        coat=coat,
        sheet=sheet,
        skinned=at(SKINNED),
        gone=left.gone,
        hard=left.hard,
        cured=at((*COVERED, *HARD)),
    )


def _as_large(job: Job, coat: Coat) -> Job:
    """The job with the area of the coat, where that was another."""
    if coat.area_m2 is None:
        return job
    share = coat.area_m2 / job.area if job.area else 1.0
    amount = None if job.amount is None else job.amount * share
    return job.model_copy(update={"area": coat.area_m2, "amount": amount})


def _over(at: datetime | None, now: datetime) -> bool:
    return at is not None and at <= now
