"""What a job's next product goes on by the record, and what comes of that."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time, timedelta
from typing import Final

from curewindow.answers import Clock, Wait
from curewindow.boat.effort import act_h, hands_on_h
from curewindow.boat.schema import Job, Step
from curewindow.boat.substrate import stands_before
from curewindow.clocks import NextCoat, clock_for
from curewindow.curing import recoat_bounds
from curewindow.findings import Finding, finding
from curewindow.judgement.clocks import (
    FilmBefore,
    comes_off,
    milestone_at,
    reached_at,
    sanded_at,
    spoilt_on,
)
from curewindow.judgement.progress import Progress, next_of
from curewindow.record.entries import Coat
from curewindow.record.spoilt import counting
from curewindow.rules.milestones import HARD, SANDABLE
from curewindow.rules.over import ACTS, Act, LowerFilm, Pair, before, film_of, pair_of
from curewindow.rules.work import MAKES_DUST, WITH_PRODUCT
from curewindow.sheets.families import FilmState
from curewindow.sheets.schema import Sheet
from curewindow.situation import Situation
from curewindow.windows.grid import at_index


@dataclass(frozen=True, slots=True)
class Over:
    """A product and what it is to go on.

    Attributes
    ----------
    pair : Pair
        The answer, without what has been done to it already.
    below : LowerFilm
    of_job : str
        The other job whose film it is; '' where it is the job's own, or stood there before.
    """

    pair: Pair
    below: LowerFilm
    of_job: str = ""


def film_below(facts: Situation, job: Job) -> Coat | None:
    """The film on top where a job is: its own, else another job's on the same panel.

    Another job's counts where the two wait for each other or nothing tells what is there:
    a panel has room for work side by side. A spoilt coat comes off before anything goes on.
    """
    sound = counting(facts.coats)
    own = [coat for coat in sound if coat.job == job.name]
    if own:
        return max(own, key=lambda c: c.layer)
    near = _on_same_panel(facts, job)
    others = [coat for coat in sound if coat.job in near]
    return max(others, key=lambda c: (c.end, c.id), default=None)


def _on_same_panel(facts: Situation, job: Job) -> set[str]:
    if job.space is None or job.panel is None:
        return set()
    stands = stands_before(job)
    linked = {*job.after, *job.after_touch_dry, *job.after_cured}
    return {
        other.name
        for other in facts.work.job
        if other.name != job.name
        and (other.space, other.panel) == (job.space, job.panel)
        and (other.name in linked or stands.unknown)
    }


def below_of(facts: Situation, job: Job) -> tuple[LowerFilm, str]:
    """What a job's next product goes on, and the other job whose film that is, or ''."""
    return _lower(facts, job, film_below(facts, job))


def _lower(facts: Situation, job: Job, top: Coat | None) -> tuple[LowerFilm, str]:
    if top is None:
        return before(stands_before(job)), ""
    of_job = "" if top.job == job.name else top.job
    sheet = facts.sheet(top.sheet).sheet
    if top.sheet in facts.lost:
        return LowerFilm(), of_job
    return film_of(top.sheet, sheet, "cured" if _cured(facts, top) else "fresh"), of_job


def _cured(facts: Situation, coat: Coat) -> bool:
    """Has it cured fully for certain?"""
    job = next((each for each in facts.work.job if each.name == coat.job), None)
    if job is None or facts.sheet(coat.sheet).sheet.cure.full_cure is None:
        return False
    at: datetime | None = milestone_at(facts, job, coat, ("full cure",))
    return at is not None and at <= facts.now


def over_of(facts: Situation, job: Job, progress: Progress) -> Over | None:
    """The pair of a job's next product and what is below; None for work without a product."""
    stem = progress.step.sheet
    if progress.step.do not in WITH_PRODUCT or stem is None:
        return None
    below, of_job = below_of(facts, job)
    pair = pair_of(stem, facts.sheet(stem).sheet, below)
    done = _done_already(facts, job, progress)
    acts = tuple(act for act in pair.acts if act not in done)
    return Over(replace(pair, acts=acts), below, of_job)


_BY_PREPARING: tuple[Act, ...] = ("scrape", "wash", "degrease", "sand")


def _done_already(facts: Situation, job: Job, progress: Progress) -> set[Act]:
    """What the job's own steps since the last film have done, or the owner has answered."""
    below = film_below(facts, job)
    own = None if below is None or below.job != job.name else below
    done = _by_steps(job, 0 if own is None else own.step, progress.step_number)
    last = progress.last_coat
    if last is not None and sanded_at(facts, job, last) is not None:
        done.add("sand")
    return done


def _by_steps(job: Job, begun: int, number: int) -> set[Act]:
    """What steps of a job after one and before another do to what is below, or was answered."""
    done: set[Act] = {"test patch"} if job.step[number - 1].tested else set()
    for step in job.step[begun : number - 1]:
        if step.do == "prepare":
            done |= set(_BY_PREPARING)
        elif step.do == "sand":
            done |= {"scrape", "sand"}
    return done


def refused_over(facts: Situation, job: Job, progress: Progress) -> Finding | None:
    """Why the next product does not go on what is below; None where it may."""
    over = over_of(facts, job, progress)
    if over is None or over.pair.allowed:
        return None
    name = facts.sheet(progress.step.sheet or "").sheet.name
    return never_over(name, over.below, over.pair, over.of_job)


def never_over(
    product: str, below: LowerFilm, pair: Pair, of_job: str = "", *, step: int | None = None
) -> Finding:
    """A product that does not go on what is below; ``step``: of a later step, by its number."""
    return finding(
        "does not go on",
        product=product,
        film=below.bare or below.film or "",
        cure="fresh" if below.film is not None and below.state == "fresh" else None,
        other_job=of_job or None,
        count=step,
        state=pair.why,
        refuses=True,
    )


def acts_over(
    facts: Situation, job: Job, progress: Progress, clock: Clock | None
) -> Iterator[Finding]:
    """What is done to what is below before the next product, each with its time."""
    over = over_of(facts, job, progress)
    if over is None or not over.pair.allowed:
        return
    if comes_off(facts, job, progress):
        hours = hands_on_h(Step(do="sand"), job)
        yield finding("first done to it", do_first="take off", hours=hours)
    below, pair = over.below, over.pair
    film = below.bare or below.film
    if below.bare == "bare steel" and _rusts_again(facts, job, progress):
        hours = act_h("clean again", job)
        yield finding("first done to it", do_first="clean again", film=film, hours=hours)
    if (state := _no_times(below, progress.step.sheet or "", facts)) is not None:
        yield finding("no times for pair", sheet=progress.step.sheet, state=state)
    to_do = tuple(act for act in ACTS if act in pair.acts and act != "test patch")
    if "wash" not in to_do and below.film == "epoxy" and clock is not None and clock.to_check:
        # it set in damp or cold, and nobody has looked: that is what brings the bloom
        to_do = ("wash", *to_do)
    patch: tuple[Act, ...] = ("test patch",) if "test patch" in pair.acts else ()
    name = facts.sheet(progress.step.sheet or "").sheet.name
    yield from _acts((*to_do, *patch), name, job, film, known=pair.known)
    if not patch and not pair.known and not below.told:
        yield finding("below not told")


def _acts(
    acts: Iterable[Act], product: str, job: Job, film: str | None, *, known: bool
) -> Iterator[Finding]:
    """What is done to what is below, each as a finding with its time."""
    for act in acts:
        hours = act_h(act, job)
        if act == "test patch":
            yield finding(
                "test patch first", product=product, film=film, known=known or None, hours=hours
            )
        else:
            yield finding("first done to it", do_first=act, film=film, hours=hours)


def chain_acts(facts: Situation, job: Job, first_step: int) -> dict[int, tuple[Finding, ...]]:
    """What is done first before the first coat of each product step to come, by its number."""
    found: dict[int, tuple[Finding, ...]] = {}
    top = film_below(facts, job)
    begun = top.step if top is not None and top.job == job.name else 0
    for number, sheet, below, _ in _chain(facts, job, first_step):
        stem = job.step[number - 1].sheet or ""
        pair = pair_of(stem, sheet, below)
        if pair.allowed and begun != number:
            done = _by_steps(job, begun, number)
            acts = tuple(act for act in pair.acts if act not in done)
            film = below.bare or below.film
            found[number] = tuple(_acts(acts, sheet.name, job, film, known=pair.known))
        begun = number
    return found


def _no_times(below: LowerFilm, stem: str, facts: Situation) -> str | None:
    """Whether the sheet of a film lacks times for the next coat, and what stands in for them."""
    if below.sheet is None or below.state != "fresh" or below.stem == stem:
        return None
    rule = recoat_bounds(below.sheet, stem, facts.sheet(stem).sheet.kind, below.stem)
    if rule is None:
        return "none"
    return "self" if rule.borrowed else None


STAYS_BRIGHT: Final = timedelta(hours=24)
"""Bare steel is coated the working day it is cleaned, or cleaned again: design guide of the US
Naval Facilities Engineering Command (no blasted surface is left unprimed beyond the normal
workday, else it is blasted again); a day and a night is common practice, no source."""


def _rusts_again(facts: Situation, job: Job, progress: Progress) -> bool:
    """Was the steel cleaned so long ago that it is to be cleaned again?"""
    cleaned = [
        done.at
        for done in facts.dones
        if done.job == job.name
        and done.step < progress.step_number
        and done.step <= len(job.step)
        and job.step[done.step - 1].do in MAKES_DUST
    ]
    return bool(cleaned) and facts.now - max(cleaned) > STAYS_BRIGHT


def sanded_film(facts: Situation, job: Job) -> Iterator[Finding]:
    """What the dust of the film under a step can do that makes dust."""
    lying = spoilt_on(facts, job)
    below, _ = below_of(facts, job) if lying is None else _lower(facts, job, lying)
    name: str = below.film or ""
    if below.sheet is not None:
        name = below.sheet.name
        if below.state == "fresh" and below.film in ("epoxy", "zinc-rich epoxy"):
            yield finding("fresh film sanded", product=name, state="epoxy")
        elif below.state == "fresh" and "isocyanate" in below.sheet.hazards:
            yield finding("fresh film sanded", product=name, state="isocyanate")
    if below.film in ("hard antifouling", "eroding antifouling"):
        yield finding("antifouling sanded")
    rags = below.sheet is not None and "self-heating rags" in below.sheet.hazards
    if below.film == "oil" or rags:
        yield finding("oily dust", film=name)
    if below.sheet is None and below.told and below.bare is None:
        yield finding("old paint")


_LAUNCH_AHEAD: Final = timedelta(days=3650)
"""Beyond that no coat is late, whatever is written."""


def launch_dangers(facts: Situation) -> Iterator[tuple[Finding, str]]:
    """Coats below the waterline that will not be fit for water by the launch, with their jobs."""
    zone = facts.words.zone
    day, today = facts.work.launch, facts.words.local(facts.now).date()
    if day is None or not today < day < today + _LAUNCH_AHEAD:
        return
    launch = datetime.combine(day, time(0), zone).astimezone(UTC)
    for job in facts.work.job:
        if not job.below_waterline:
            continue
        if (late := _late_for(facts, job, launch)) is not None:
            yield late, job.name


def _late_for(facts: Situation, job: Job, launch: datetime) -> Finding | None:
    """Is a coat of a job, on or still to come, in the water too soon?"""
    for coat in (each for each in facts.coats if each.job == job.name):
        sheet = facts.sheet(coat.sheet).sheet
        hours = sheet.cure.hours("immersion")
        if hours is None:
            continue
        at = milestone_at(facts, job, coat, ("immersion",))
        known = at_index(facts.series(job), len(facts.series(job).times) - 1)
        slow = coat.end + timedelta(hours=max(hours))
        too_late = at > launch if at is not None else launch <= known or slow > launch
        if too_late:
            return finding(
                "launch before immersion", job=job.name, product=sheet.name, at=launch, until=at
            )
    ahead = next_of(job, facts.coats, facts.dones)
    for step in [] if ahead is None else job.step[ahead.step_number - 1 :]:
        if step.sheet is None:
            continue
        sheet = facts.sheet(step.sheet).sheet
        hours = sheet.cure.hours("immersion")
        if hours is not None and facts.now + timedelta(hours=min(hours)) > launch:
            return finding("launch before immersion", job=job.name, product=sheet.name, at=launch)
    return None


def waits_below(facts: Situation, job: Job, progress: Progress) -> Iterator[Wait]:
    """Another job's film on the same panel, until it bears what the step puts on or fits to it."""
    for film in films_below(facts, job, progress):
        other = film.job
        if film.names:
            until = reached_at(facts, film)
        else:
            until = recoat_from(facts, other, film.coat, progress.step.sheet or "")
        if until is not None and until <= facts.now:
            continue
        why = finding("film of other job soft", other_job=other.name, until=until)
        yield Wait(why=why, about=other.name, kind="drying", until=until)


def films_below(facts: Situation, job: Job, progress: Progress) -> Iterator[FilmBefore]:
    """The film that :func:`waits_below` waits for, whether it is there yet or not."""
    top = film_below(facts, job)
    if top is None or top.job == job.name:
        return
    other = next(each for each in facts.work.job if each.name == top.job)
    step = progress.step
    if step.do in ("coat", "seal") and step.sheet is not None:
        under, kind = facts.sheet(top.sheet).sheet, facts.sheet(step.sheet).sheet.kind
        yield FilmBefore(other, top, rule=recoat_bounds(under, step.sheet, kind, top.sheet))
    else:
        yield FilmBefore(other, top, SANDABLE if step.do in MAKES_DUST else HARD)


def recoat_from(facts: Situation, job: Job, coat: Coat, stem: str) -> datetime | None:
    """When a coat of another job may have a product on it."""
    under = facts.sheet(coat.sheet).sheet
    coming = NextCoat(stem, facts.sheet(stem).sheet.kind)
    return clock_for(coat, under, coming, facts.series(job), facts.now, coat.coat).recoat_from


def _planned_below(facts: Situation, job: Job) -> tuple[LowerFilm, str] | None:
    """The film that a job it waits for will leave on the same panel, before it is there."""
    for name in (*job.after_cured, *job.after, *job.after_touch_dry):
        other = next(each for each in facts.work.job if each.name == name)
        if job.panel is None or (other.space, other.panel) != (job.space, job.panel):
            continue
        stems = [step.sheet for step in other.step if step.sheet is not None]
        if stems:
            state: FilmState = "cured" if name in job.after_cured else "fresh"
            return film_of(stems[-1], facts.sheet(stems[-1]).sheet, state), name
    return None


def _chain(
    facts: Situation, job: Job, first_step: int
) -> Iterator[tuple[int, Sheet, LowerFilm, str]]:
    """Each product step to come, with what it goes on: the film of the step before it, fresh."""
    below, of_job = below_of(facts, job)
    if film_below(facts, job) is None and (planned := _planned_below(facts, job)) is not None:
        below, of_job = planned
    for number in range(first_step, len(job.step) + 1):
        step: Step = job.step[number - 1]
        if step.do not in WITH_PRODUCT or step.sheet is None:
            continue
        sheet = facts.sheet(step.sheet).sheet
        yield number, sheet, below, of_job
        below, of_job = film_of(step.sheet, sheet, "fresh"), ""


def chain_refusals(facts: Situation, job: Job, first_step: int) -> dict[int, Finding]:
    """For each product step to come that does not go on what is before it: why, by its number."""
    found: dict[int, Finding] = {}
    for number, sheet, below, of_job in _chain(facts, job, first_step):
        pair = pair_of(job.step[number - 1].sheet or "", sheet, below)
        if not pair.allowed:
            later = number if number > first_step else None
            found[number] = never_over(sheet.name, below, pair, of_job, step=later)
    return found
