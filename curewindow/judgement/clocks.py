"""Where every coat stands, and what has to come first before a job can go on."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, datetime, time

import numpy as np

from curewindow.answers import Clock, Wait
from curewindow.boat.folder import job_by_name
from curewindow.boat.joined import connected_spaces
from curewindow.boat.schema import Delivery, Job
from curewindow.clocks import NextCoat, clock_for, latest_coats, sort_clocks
from curewindow.curing import CureModel, RecoatRule
from curewindow.findings import Finding, finding
from curewindow.judgement.progress import Progress, next_of
from curewindow.record.entries import Coat, Inspection
from curewindow.rules.milestones import COVERED, DUST_DRY, HARD, SANDABLE, TOUCH_DRY, Milestones
from curewindow.rules.work import MAKES_DUST, WITH_PRODUCT
from curewindow.sheets.schema import Milestone
from curewindow.situation import Situation
from curewindow.windows.grid import at_index, position


@dataclass(frozen=True, slots=True)
class FilmBefore:
    """A film that has to come to a milestone before a step goes on.

    Attributes
    ----------
    job : Job
        Whose film it is.
    coat : Coat
    names : tuple of str
        The first of these milestones its sheet has; none where ``rule`` says what it waits for.
    rule : RecoatRule or None
        Its recoat interval has to have begun.
    """

    job: Job
    coat: Coat
    names: Milestones = ()
    rule: RecoatRule | None = None


def clocks_of(facts: Situation) -> list[Clock]:
    """The clock of the youngest coat of each job, next deadline first.

    The youngest film lies on top, whatever number it was written down with. Coats of
    jobs that are no longer in the work list are left out.
    """
    youngest: dict[str, Coat] = {}
    for coat in sorted(facts.coats, key=lambda c: c.layer):
        youngest[coat.job] = coat
    clocks = [
        _clock(facts, job, youngest[job.name]) for job in facts.work.job if job.name in youngest
    ]
    by_job = {clock.job: clock for clock in clocks}
    return sort_clocks(_within_reach(facts, clock, by_job) for clock in clocks)


def _within_reach(facts: Situation, clock: Clock, clocks: dict[str, Clock]) -> Clock:
    """A clock without a last moment that passes before the next coat can be put on at all."""
    if clock.next_deadline is None:
        return clock
    job = job_by_name(facts.work, clock.job)
    ahead = next_of(job, facts.coats, facts.dones)
    waits = [] if ahead is None else waits_for(facts, job, ahead, clocks)
    late = [w for w in waits if w.until is not None and w.until > clock.next_deadline]
    if not late:
        return clock
    passed = finding("interval passes waiting", at=clock.next_deadline, because=(late[0].why,))
    return _unbound(clock, passed)


def _clock(facts: Situation, job: Job, coat: Coat) -> Clock:
    step = job.step[coat.step - 1] if coat.step <= len(job.step) else None
    ahead = next_of(job, facts.coats, facts.dones)
    coming = [] if ahead is None else job.step[ahead.step_number - 1 :]
    stem = next((s.sheet for s in coming if s.do in WITH_PRODUCT), None)
    following = None if stem is None else NextCoat(stem, facts.sheet(stem).sheet.kind)
    of_coats = coat.coat if step is None or following is None else step.coats
    covering = [other.name for other in facts.work.job if job.name in other.after_cured]
    ready = [] if not covering else _under_cured(facts, job, coat)
    soft = any(at is None or at > facts.now for at in ready)
    clock = clock_for(
        coat,
        facts.sheet(coat.sheet).sheet,
        following,
        facts.series(job),
        facts.now,
        of_coats,
        covering=() if soft else covering,
        looked=last_look(facts, coat),
        bare_wood=job.bare_wood
        and not any(other.job == job.name and other.end < coat.end for other in facts.coats),
    )
    if coat.sheet in facts.lost:
        notes = [*clock.notes, finding("sheet to put back", sheet=coat.sheet)]
        return clock.model_copy(update={"state": "unknown", "notes": notes})
    if soft:
        said = [finding("cover waits for coat below", other_job=name) for name in covering]
        clock = clock.model_copy(update={"notes": [*clock.notes, *said]})
    sanded = sanded_at(facts, job, coat)
    if coat.spoilt is not None:
        return _spoilt(clock, coat.spoilt, sanded)
    if sanded is not None and clock.recoat_after == "sand":
        # what asks for sanding is answered: it neither ends nor is it too late
        said = [*clock.notes, finding("sanded", at=sanded)]
        return clock.model_copy(
            update={
                "state": "recoat open" if clock.state == "sand first" else clock.state,
                "recoat_until": None,
                "recoat_after": None,
                "next_deadline": None,
                "deadline_for": "",
                "notes": said,
            }
        )
    asks_for_sanding = clock.next_deadline is not None and clock.recoat_after == "sand"
    if asks_for_sanding and sanded_anyway(job, coat.step, coat.coat, of_coats):
        # the interval that asks for sanding does not bind who sands between coats
        return _unbound(clock, finding("sanded anyway"))
    return clock


def _spoilt(clock: Clock, found: datetime, sanded: datetime | None) -> Clock:
    """The clock of a spoilt coat: it has no recoat interval, only to come off."""
    off = sanded is not None and sanded >= found
    said = finding("coat spoilt", at=found, until=sanded if off else None)
    return clock.model_copy(
        update={
            "state": "recoat open" if off else "sand first",
            "recoat_from": sanded if off else clock.recoat_from,
            "recoat_until": None if off else found,
            "recoat_after": None if off else "sand",
            "next_deadline": None,
            "deadline_for": "",
            "notes": [*clock.notes, said],
        }
    )


def spoilt_on(facts: Situation, job: Job) -> Coat | None:
    """The spoilt coat that lies on top of a job and has not been taken off by the log."""
    own = [coat for coat in facts.coats if coat.job == job.name]
    top = max(own, key=lambda c: c.layer, default=None)
    if top is None or top.spoilt is None:
        return None
    sanded = sanded_at(facts, job, top)
    return None if sanded is not None and sanded >= top.spoilt else top


def comes_off(facts: Situation, job: Job, progress: Progress) -> bool:
    """Is a spoilt coat to be taken off before the next step?"""
    return progress.coat is not None and spoilt_on(facts, job) is not None


def _unbound(clock: Clock, why: Finding) -> Clock:
    """A clock with no last moment for the next coat, and why it has none."""
    notes = [*clock.notes, why]
    return clock.model_copy(update={"next_deadline": None, "deadline_for": "", "notes": notes})


def sanded_anyway(job: Job, step: int, coat: int, of_coats: int) -> bool:
    """Is sanding planned between a coat and the next, of the same step or as a step of its own?"""
    if step > len(job.step):
        return False
    if coat < of_coats:
        return job.step[step - 1].between == "sand"
    until_next = itertools.takewhile(lambda s: s.do not in WITH_PRODUCT, job.step[step:])
    return any(step.do == "sand" for step in until_next)


def last_look(facts: Situation, coat: Coat) -> Inspection | None:
    """What somebody who looked at a coat last found, or did to it."""
    own = [each for each in facts.inspections if _is_of(each, coat) and each.found != "cleared"]
    return max(own, key=lambda each: (each.at, each.id), default=None)


def _is_of(seen: Inspection, coat: Coat) -> bool:
    named = (seen.job, seen.step, seen.coat) == (coat.job, coat.step, coat.coat)
    return named and seen.at >= coat.start


def sanded_at(facts: Situation, job: Job, coat: Coat) -> datetime | None:
    """When a coat was last sanded by the log: between coats, or as a step of its own."""
    between = [each.at for each in facts.inspections if _is_of(each, coat) and _sanded(each)]
    as_step = [
        done.at
        for done in facts.dones
        if done.job == job.name
        and done.at >= coat.end
        and done.step <= len(job.step)
        and job.step[done.step - 1].do in MAKES_DUST
    ]
    return max([*between, *as_step], default=None)


def _sanded(seen: Inspection) -> bool:
    return seen.found == "sanded"


def sands_in_any_case(facts: Situation, job: Job, progress: Progress) -> bool:
    """Is the coat below still to be sanded before the next, planned so or for being dull?"""
    if progress.coat is None:
        return False
    coat = progress.last_coat
    if coat is None:
        return progress.sands_first
    if coat.spoilt is not None:
        return spoilt_on(facts, job) is not None
    sanded, looked = sanded_at(facts, job, coat), last_look(facts, coat)
    if looked is not None and looked.found == "dull" and (sanded is None or sanded < looked.at):
        return True
    return progress.sands_first and sanded is None


def sands_first(facts: Situation, job: Job, progress: Progress, clock: Clock | None) -> bool:
    """Is the coat below to be sanded before the next one, planned, dull or for being too old?"""
    if progress.coat is None:
        return False
    too_old = clock is not None and (
        clock.state == "sand first"
        # where nobody knows the state, it may be
        or (
            clock.recoat_after == "sand"
            and clock.recoat_until is not None
            and clock.recoat_until <= facts.now
        )
    )
    return too_old or sands_in_any_case(facts, job, progress)


def milestone_at(
    facts: Situation, job: Job, coat: Coat, names: Iterable[Milestone], times: float = 1.0
) -> datetime | None:
    """When a recorded coat comes to the first of these milestones its sheet has, slow side.

    Or when it has aged so many ``times`` as long. None where that is beyond what is known, or
    the sheet has none of them.
    """
    series = facts.series(job)
    # hours before the first that is known count nothing
    begun = max(position(series, coat.end), 0.0)
    if begun > len(series.times) - 1:
        return None
    model = CureModel(facts.sheet(coat.sheet).sheet, series)
    for name in names:
        if model.has(name):
            reached = model.milestone_end(name, np.array([begun]), "slow", times=times)[:, 0]
            return (
                None if np.isnan(reached).any() else at_index(series, int(np.ceil(reached.max())))
            )
    return None


def waits_for(
    facts: Situation, job: Job, progress: Progress, clocks: dict[str, Clock]
) -> list[Wait]:
    """What other than the weather has to come first.

    Parameters
    ----------
    facts : Situation
    job : Job
    progress : Progress
        Its next step.
    clocks : dict of str to Clock
        By job.

    Returns
    -------
    list of Wait
        Only what has not happened yet.
    """
    waits: list[Wait] = []
    by_name = {other.name: other for other in facts.work.job}
    for name in dict.fromkeys([*job.after, *job.after_touch_dry, *job.after_cured]):
        other = by_name[name]
        if next_of(other, facts.coats, facts.dones) is not None:
            waits.append(Wait(why=finding("after job", other_job=name), about=name, kind="job"))
        elif name in job.after_cured:
            waits += _curing(facts, other, clocks.get(name))
        elif name in job.after_touch_dry:
            waits += _touch_drying(facts, other)
    waits += [wait for delivery in job.delivery if (wait := _delivery(facts, delivery))]
    sanding = _sanding(facts, job, progress, clocks)
    waits += _drying(facts, job, progress, sanding)
    if sanding:
        waits += _wet_nearby(facts, job, clocks)
    return waits


def films_before(
    facts: Situation, job: Job, progress: Progress, clocks: dict[str, Clock]
) -> Iterator[FilmBefore]:
    """The films whose hardening :func:`waits_for` waits for, whether they are there yet or not."""
    by_name = {other.name: other for other in facts.work.job}
    for name in dict.fromkeys([*job.after, *job.after_touch_dry, *job.after_cured]):
        if name in job.after_cured:
            yield from _covered_before(facts, by_name[name])
        elif name in job.after_touch_dry:
            yield from _touch_dry_before(facts, by_name[name])
    sanding = _sanding(facts, job, progress, clocks)
    yield from _own_before(facts, job, progress, sanding)
    if sanding:
        yield from _dust_before(facts, job, clocks)


def _sanding(facts: Situation, job: Job, progress: Progress, clocks: dict[str, Clock]) -> bool:
    """Is something sanded in a job's next step?"""
    return progress.step.do in MAKES_DUST or sands_first(facts, job, progress, clocks.get(job.name))


def _on_top(coats: list[Coat]) -> Coat:
    return max(coats, key=lambda c: c.layer)


def _covered_before(facts: Situation, job: Job) -> Iterator[FilmBefore]:
    """The coats of a job that is to be covered: the last of each step."""
    own = [coat for coat in facts.coats if coat.job == job.name]
    if own:
        top = _on_top(own)
        yield FilmBefore(job, top, COVERED)
        for coat in _under(facts, job, top):
            yield FilmBefore(job, coat, COVERED)


def _touch_dry_before(facts: Situation, job: Job) -> Iterator[FilmBefore]:
    own = [coat for coat in facts.coats if coat.job == job.name]
    if own:
        yield FilmBefore(job, max(own, key=lambda c: (c.end, c.id)), TOUCH_DRY)


def _own_before(
    facts: Situation, job: Job, progress: Progress, sanding: bool
) -> Iterator[FilmBefore]:
    """The job's own last coat, where it has to be hard enough for the step at hand."""
    coat = progress.last_coat
    if coat is not None and (progress.coat is None or sanding):
        yield FilmBefore(job, coat, SANDABLE if sanding else HARD)


def _dust_before(facts: Situation, job: Job, clocks: dict[str, Clock]) -> Iterator[FilmBefore]:
    """Coats dust would settle in: in the same space and those joined to it."""
    near = _reach(facts, job)
    for other in facts.work.job:
        clock = clocks.get(other.name)
        if clock is None or other.name == job.name or other.space not in near:
            continue
        if clock.state == "cured":
            continue
        coat = next(
            coat
            for coat in latest_coats(facts.coats)
            if coat.job == other.name and (coat.step, coat.coat) == (clock.step, clock.coat)
        )
        yield FilmBefore(other, coat, DUST_DRY)


def reached_at(facts: Situation, film: FilmBefore) -> datetime | None:
    """When a film comes to its milestone; None: beyond what is known."""
    return milestone_at(facts, film.job, film.coat, film.names)


def _curing(facts: Situation, job: Job, clock: Clock | None) -> list[Wait]:
    """A finished job that is to be covered, until all its coats are cured for that."""
    products = [number for number, step in enumerate(job.step, 1) if step.do in WITH_PRODUCT]
    own = [coat for coat in facts.coats if coat.job == job.name]
    if not products:
        return []
    if clock is None or not any(coat.step >= products[-1] for coat in own):
        why = finding("cure before covering", other_job=job.name, state="not logged")
        return [Wait(why=why, about=job.name, kind="cured")]
    top = _on_top(own)
    # full cure where its sheet has no 'closed up'
    ends = [clock.closed_up or clock.full_cure, *_under_cured(facts, job, top)]
    known = [end for end in ends if end is not None]
    until = max(known) if len(known) == len(ends) else None
    if until is not None and until <= facts.now:
        return []
    why = finding("cure before covering", other_job=job.name, until=until)
    return [Wait(why=why, about=job.name, kind="cured", until=until)]


def _touch_drying(facts: Situation, job: Job) -> list[Wait]:
    """A finished job whose last coat has to be touch dry first."""
    waits = []
    for film in _touch_dry_before(facts, job):
        dry = reached_at(facts, film)
        if dry is None or dry > facts.now:
            why = finding("touch dry first", other_job=job.name, until=dry)
            waits.append(Wait(why=why, about=job.name, kind="drying", until=dry))
    return waits


def _under(facts: Situation, job: Job, top: Coat) -> list[Coat]:
    """The last coats of a job's other steps, of those whose sheets say when to cover them."""
    below = [c for c in latest_coats(facts.coats) if c.job == job.name and c.step != top.step]
    return [
        coat
        for coat in below
        if any(facts.sheet(coat.sheet).sheet.cure.hours(name) is not None for name in COVERED)
    ]


def _under_cured(facts: Situation, job: Job, top: Coat) -> list[datetime | None]:
    """When the last coats of a job's other steps are cured for covering, if their sheets say."""
    return [milestone_at(facts, job, coat, COVERED) for coat in _under(facts, job, top)]


def _delivery(facts: Situation, delivery: Delivery) -> Wait | None:
    if delivery.arrived:
        return None
    last = delivery.on or delivery.latest
    today = facts.words.local(facts.now).date()
    if last is None:
        why = finding("delivery awaited", thing=delivery.what, state="no date")
        return Wait(why=why, about=delivery.what, kind="delivery")
    # on the day itself it may come late; what was told the day before holds until then
    until = datetime.combine(last, time(18), facts.words.zone).astimezone(UTC)
    if until <= facts.now:
        why = finding("delivery awaited", thing=delivery.what, state="overdue")
        return Wait(why=why, about=delivery.what, kind="delivery")
    state = "due today" if last == today else None
    why = finding("delivery awaited", thing=delivery.what, until=until, state=state)
    return Wait(why=why, about=delivery.what, kind="delivery", until=until)


def _drying(facts: Situation, job: Job, progress: Progress, sanding: bool) -> list[Wait]:
    """The job's own last coat, where it has to be hard enough for the step at hand."""
    waits = []
    for film in _own_before(facts, job, progress, sanding):
        ready = reached_at(facts, film)
        if ready is not None and ready <= facts.now:
            continue
        stem = film.coat.sheet
        taken = sanding and facts.sheet(stem).sheet.cure.sandable_taken() is not None
        why = finding(
            "last coat soft",
            do="sand" if sanding else progress.step.do,
            until=ready,
            because=[finding("sandable taken", sheet=stem)] if taken else [],
        )
        waits.append(Wait(why=why, about=job.name, kind="drying", until=ready))
    return waits


def _wet_nearby(facts: Situation, job: Job, clocks: dict[str, Clock]) -> list[Wait]:
    """Coats dust would settle in, until it does not stay."""
    waits = []
    for film in _dust_before(facts, job, clocks):
        dry = reached_at(facts, film)
        if dry is not None and dry <= facts.now:
            continue
        why = finding("dust on wet coat", other_job=film.job.name, until=dry)
        waits.append(Wait(why=why, about=film.job.name, kind="dust", until=dry))
    return waits


def _reach(facts: Situation, job: Job) -> set[str | None]:
    """Names of the spaces dust gets to; {None} outdoors."""
    space = None if job.space is None else facts.boat.find_space(job.space)
    if space is None:
        return {None}
    return {place.name for place in connected_spaces(facts.boat, space)}
