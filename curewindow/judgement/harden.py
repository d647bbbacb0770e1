"""Heat over films that are on, where the next step waits for nothing but their hardening.

The run is looked for in the room alone; what it opens is then judged as the day sheet judges:
with the heat in the log.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

import numpy as np

from curewindow.answers import Answer, Window
from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Space
from curewindow.cautions import gravest_first, refusal_of
from curewindow.cautions.airflow import WetFilm, films_airflow_m3_h
from curewindow.cautions.fire import fire_cautions
from curewindow.cautions.spaces import heater_cautions
from curewindow.conditions import boat_conditions, learned_in
from curewindow.conditions.course import utc64
from curewindow.curing import recoat_bounds
from curewindow.findings import Finding, finding
from curewindow.heating import HeatedCoat, HeatPlan, Room
from curewindow.heating.room import member_to_plan_for, of_member, up_to
from curewindow.judgement.airing import room_of
from curewindow.judgement.below import films_below, recoat_from
from curewindow.judgement.clocks import (
    FilmBefore,
    clocks_of,
    films_before,
    milestone_at,
    reached_at,
)
from curewindow.judgement.films import burning_near
from curewindow.judgement.jobday import Found, find
from curewindow.judgement.kept import facts_key, kept_or_made, name_of
from curewindow.judgement.news import as_of_news
from curewindow.judgement.progress import Progress
from curewindow.order.delay import DAY_KWH
from curewindow.record.entries import Coat, Heat
from curewindow.record.heat import with_heat
from curewindow.rules.chance import SHARE_OF_MEMBERS, enough
from curewindow.rules.milestones import (
    COVERED,
    DUST_DRY,
    HARD,
    SANDABLE,
    TOUCH_DRY,
    Milestones,
)
from curewindow.rules.reach import within_reach
from curewindow.rules.unattended import unattended_of
from curewindow.rules.unflued import unflued_for
from curewindow.rules.vapour import LEFT_AT_TOUCH_DRY
from curewindow.rules.work import WITH_PRODUCT
from curewindow.series import BoolArray
from curewindow.situation import Situation
from curewindow.windows.grid import at_index, first_at_or_after

if TYPE_CHECKING:  # whoever heats nothing needs none
    from curewindow.heating.harden import HardeningFilm, NextWork, ProvedHardening

A_DAY = timedelta(days=1)
_FILM_WAITS = ("recoat", "drying", "cured", "dust")


class HardeningKept(Answer):
    """What heat over films that are on opens sooner, as kept on disk; None: nothing."""

    plan: HeatPlan | None


def hardening_plan(
    facts: Situation, job: Job, found: Found | None, setpoint_c: float | None = None
) -> HeatPlan | None:
    """The heater run that lets the films a job's next step waits for harden sooner.

    Parameters
    ----------
    facts : Situation
    job : Job
    found : Found or None
        From `judgement.jobday.find`; None: done.
    setpoint_c : float, optional
        Only this setpoint.

    Returns
    -------
    HeatPlan or None
        None: the step waits for no film, or for something else besides, or no run gains a day
        that is worth what it takes.
    """
    if found is None or found.refusal is not None or not _a_day_off(facts, found):
        return None
    space = _warmed(facts, found.progress, _soft(facts, job, found))
    if space is None:
        return None
    key = (facts_key(facts, job.name), job.name, setpoint_c)

    def asked(since: datetime) -> tuple[HeatPlan | None, HeatPlan | None]:
        def made() -> HardeningKept:
            then = replace(facts, now=since)
            return HardeningKept(plan=_Hardening(then, job, space, setpoint_c).plan())

        plan = kept_or_made(name_of("hardening", key, since), HardeningKept, made).plan
        return plan, plan

    return as_of_news(facts, space.name, facts.series(job), asked)


def _a_day_off(facts: Situation, found: Found) -> bool:
    """Does the step wait for films, and for a day or longer?"""
    if not any(wait.kind in _FILM_WAITS for wait in found.waits):
        return False
    if any(wait.until is None and wait.kind not in _FILM_WAITS for wait in found.waits):
        return False
    opens = _first(found)
    return opens is None or opens.opens >= facts.now + A_DAY


def _first(found: Found) -> Window | None:
    """The first window of a step."""
    return found.judged.windows[0] if found.judged.windows else None


def _soft(facts: Situation, job: Job, found: Found) -> list[FilmBefore]:
    """The films a step waits for that are not as far yet."""
    progress = found.progress
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    named = [*films_before(facts, job, progress, clocks), *films_below(facts, job, progress)]
    if any(wait.kind == "recoat" for wait in found.waits):
        named += _recoated(facts, job, progress)
    return [film for film in named if _ahead(facts, _ripe_at(facts, progress, film))]


def _ahead(facts: Situation, at: datetime | None) -> bool:
    return at is None or at > facts.now


def _ripe_at(facts: Situation, progress: Progress, film: FilmBefore) -> datetime | None:
    """When a film is as far as a step wants it; None: beyond what is known."""
    if film.names:
        return reached_at(facts, film)
    return recoat_from(facts, film.job, film.coat, progress.step.sheet or "")


def _recoated(facts: Situation, job: Job, progress: Progress) -> list[FilmBefore]:
    """The job's own coat below the next one, where its sheet has an interval for that."""
    coat, stem = progress.last_coat, progress.step.sheet
    if coat is None or stem is None:
        return []
    under, coming = facts.sheet(coat.sheet).sheet, facts.sheet(stem).sheet
    rule = recoat_bounds(under, stem, coming.kind, coat.sheet)
    return [] if rule is None else [FilmBefore(job, coat, rule=rule)]


def _warmed(facts: Situation, progress: Progress, films: Sequence[FilmBefore]) -> Space | None:
    """The space of the film that is waited for longest, where a heater can warm it."""

    def ripe(film: FilmBefore) -> tuple[bool, datetime]:
        at = _ripe_at(facts, progress, film)
        return at is None, at or facts.now

    if not films:
        return None
    last = max(films, key=ripe)
    space = None if last.job.space is None else facts.boat.find_space(last.job.space)
    if space is None or space.heating is None:
        return None
    unflued = unflued_for(facts.boat, space)
    return None if unflued is not None and unflued.sleepers else space


@dataclass(slots=True)
class _Hardening:
    """One question for heat over films: as of a moment."""

    facts: Situation
    job: Job
    space: Space
    setpoint_c: float | None

    def plan(self) -> HeatPlan | None:
        from curewindow.heating.harden import hardening_runs, prove_hardening

        facts, job = self.facts, self.job
        found = find(facts, job, {clock.job: clock for clock in clocks_of(facts)})
        if found is None or found.refusal is not None or not _a_day_off(facts, found):
            return None
        soft = [film for film in _soft(facts, job, found) if film.job.space == self.space.name]
        bound = self._bound(found, soft)
        room = room_of(facts, self.space)
        if not soft or bound is None or room is None:
            return None
        opens = _first(found)
        work = self._work(found, room, bound, None if opens is None else opens.opens)
        room = up_to(room, len(work.here))
        films = self._films(soft)
        one = of_member(room, member_to_plan_for(room.outside.temp_c))
        lights = self._lights(room)
        for run in hardening_runs(films, one, work, lights, self.setpoint_c):
            proved = prove_hardening(films, room, work, run)
            reached = float(
                np.median(proved.result.air_c[:, run.light : proved.run.end + 1].max(1))
            )
            told = within_reach(run.setpoint_c, reached)
            if told != run.setpoint_c:
                lower = replace(run, setpoint_c=told)
                proved = prove_hardening(films, room, work, lower)
            if not enough(proved.share, SHARE_OF_MEMBERS):
                continue
            plan = self._judged(found, soft, films, room, proved)
            if plan is not None:
                return plan
        return None

    def _bound(self, found: Found, soft: Sequence[FilmBefore]) -> datetime | None:
        """Before when nothing begins, whatever the films there do; None: nobody can tell."""
        own = {film.job.name for film in soft}
        ends = [
            wait.until
            for wait in found.waits
            if not (wait.kind in _FILM_WAITS and wait.about in own)
        ]
        known = [end for end in ends if end is not None]
        return None if len(known) < len(ends) else max([self.facts.now, *known])

    def _work(self, found: Found, room: Room, bound: datetime, opens: datetime | None) -> NextWork:
        """What the films are waited for with, on the grid of the room as far as it matters."""
        from curewindow.heating.harden import NextWork

        facts, step = self.facts, found.progress.step
        series = facts.series(self.job)
        here = facts.hours_ok(series)[room.first : room.first + room.points].copy()
        if step.do in WITH_PRODUCT:
            here = _stays(here, int(np.ceil(hands_on_h(step, self.job) / room.step_h - 1e-9)))
        here &= room.times >= utc64(bound)
        known = room.points
        if opens is not None:
            known = min(first_at_or_after(series, opens) - room.first + 2, room.points)
        return NextWork(here[:known], DAY_KWH)

    def _films(self, soft: Sequence[FilmBefore]) -> list[HardeningFilm]:
        """The films waited for, and what else lies there and has not set."""
        from curewindow.heating.harden import HardeningFilm

        found = [
            HardeningFilm(
                self._coat(film.job, film.coat),
                film.coat.start,
                film.coat.end,
                film.names,
                film.rule,
            )
            for film in soft
        ]
        waited = {id(film.coat) for film in soft}
        for job, coat in self._unset():
            if id(coat) not in waited:
                found.append(HardeningFilm(self._coat(job, coat), coat.start, coat.end))
        return found

    def _unset(self) -> Iterator[tuple[Job, Coat]]:
        """The top coats of the space that have not set."""
        facts = self.facts
        for job in facts.work.job:
            own = [coat for coat in facts.coats if coat.job == job.name]
            if job.space != self.space.name or not own:
                continue
            coat = max(own, key=lambda c: c.layer)
            until = facts.sheet(coat.sheet).sheet.setting.until
            if _ahead(facts, milestone_at(facts, job, coat, (until,))):
                yield job, coat

    def _coat(self, job: Job, coat: Coat) -> HeatedCoat:
        """A film as the coat it was."""
        facts, series = self.facts, self.facts.series(job)
        hours = max((coat.end - coat.start) / timedelta(hours=1), 0.0)
        return HeatedCoat(
            job=job,
            step=job.step[min(coat.step, len(job.step)) - 1],
            sheet=facts.sheet(coat.sheet).sheet,
            hands_on_h=hours,
            base=series,
            hours_ok=facts.hours_ok(series),
            zone=facts.words.zone,
            earliest=coat.start,
        )

    def _lights(self, room: Room) -> BoolArray:
        """Where the heater may be lit, by the vapour that is about there then, (T,).

        Over what has not skinned the hatches stand open: to warm it is to warm the harbour.
        """
        found = np.zeros(room.points, np.bool_)
        series, known = self.facts.series(self.job), None
        for index in range(room.points):
            at = at_index(series, room.first + index)
            near = burning_near(self.facts, self.space, at)
            if known is None or known[0] != near:
                known = near, self._may_light(near)
            found[index] = known[1]
            if not near:
                found[index:] = True
                break
        return found

    def _may_light(self, near: Sequence[WetFilm]) -> bool:
        if any(film.share > LEFT_AT_TOUCH_DRY for film in near):
            return False
        return refusal_of(self._over(near)) is None

    def _over(self, near: Sequence[WetFilm]) -> list[Finding]:
        sheets = [film.sheet for film in near]
        known = films_airflow_m3_h(near) is not None
        boat, space = self.facts.boat, self.space
        return list(fire_cautions(sheets, space, boat, space.heating, airflow_known=known))

    def _judged(
        self,
        found: Found,
        soft: Sequence[FilmBefore],
        films: Sequence[HardeningFilm],
        room: Room,
        proved: ProvedHardening,
    ) -> HeatPlan | None:
        """The run told, if the day sheet lets the step begin sooner with it in the log."""
        from curewindow.heating.harden import latest_light_of
        from curewindow.heating.plan import kwh_between

        run, facts = proved.run, self.facts
        series = facts.series(self.job)
        light, end = (at_index(series, room.first + index) for index in (run.light, run.end))
        log = Heat(self.space.name, light, end, run.setpoint_c)
        ready = at_index(series, room.first + run.begin)
        sooner = _with_log(facts, self.job, log, ready)
        windows = [] if sooner is None else sooner.judged.windows
        window = next((each for each in windows if each.closes > ready), None)
        if window is None:
            return None
        opens, otherwise = max(window.opens, ready), _first(found)
        known = at_index(series, -1) if otherwise is None else otherwise.opens
        gained = known - opens
        kwh = kwh_between(room, proved.result.heat_w, run.light, run.end)
        usual = kwh_between(room, proved.usual.heat_w, run.light, run.end)
        if gained < A_DAY or kwh - usual >= DAY_KWH * (gained / A_DAY):
            return None
        begin = first_at_or_after(series, opens) - room.first
        by = latest_light_of(films, room, proved, begin)
        while by > run.light:
            late = replace(log, at=at_index(series, room.first + by))
            with_it = _with_log(facts, self.job, late, opens)
            if with_it is not None and any(
                each.opens <= opens < each.closes for each in with_it.judged.windows
            ):
                break
            by = run.light + (by - run.light) // 2
        latest = at_index(series, room.first + max(by, run.light))
        return self._described(found, soft, room, proved, log, opens, window, otherwise, latest)

    def _described(
        self,
        found: Found,
        soft: Sequence[FilmBefore],
        room: Room,
        proved: ProvedHardening,
        log: Heat,
        opens: datetime,
        window: Window,
        otherwise: Window | None,
        latest: datetime,
    ) -> HeatPlan:
        from curewindow.heating.fuel import fuel_notes, fuel_use
        from curewindow.heating.plan import kwh_between

        facts, run, space = self.facts, proved.run, self.space
        assert space.heating is not None
        use = fuel_use(kwh_between(room, proved.result.heat_w, run.light, run.end), space.heating)
        usual = round(kwh_between(room, proved.usual.heat_w, run.light, run.end), 2)
        film = max(soft, key=lambda each: each.coat.end)
        air = proved.result.air_c[:, run.light : run.end + 1]
        series = facts.series(self.job)
        takes = timedelta(hours=found.ahead.hands_on_h)
        return HeatPlan(
            job=self.job.name,
            where=series.where,
            space=space.name,
            status="possible",
            purpose="harden",
            verdict=finding(
                "heat hardens",
                space=space.name,
                light_at=log.at,
                light_by=latest,
                temp_c=run.setpoint_c,
                until=log.until,
                other_job=None if film.job.name == self.job.name else film.job.name,
                coat=film.coat.coat,
                state=_waited_for(film),
                begins=opens,
                otherwise=None if otherwise is None else otherwise.opens,
                chance=window.confidence,
                cost=use.cost,
                share=min(usual / max(use.energy_kwh, 1e-9), 1.0),
                fuel=use.fuel,
                fuel_amount=use.amount,
                fuel_unit=use.unit,
            ),
            setpoint_c=run.setpoint_c,
            reached_c=round(float(np.median(air.max(axis=1))), 1),
            lowest_c=None,
            light_at=log.at,
            latest_light_at=latest,
            start=opens,
            applied=opens + takes,
            hold_until=log.until,
            milestone=_milestone(facts, film) if run.ripe <= run.end else None,
            ventilation="normal",
            air_changes_h=round(room.model.air_changes_h, 3),
            use=use,
            routine_kwh=usual,
            peak_w=round(float(proved.result.heat_w[:, run.light : run.end].max()), 0),
            power_w=room.power_w,
            confidence=window.confidence,
            cautions=self._cautions(log),
            notes=[
                *turned_down(facts, self.job, log.until),
                *fuel_notes(space.heating),
                *room.notes,
            ],
        )

    def _cautions(self, log: Heat) -> list[Finding]:
        boat, space = self.facts.boat, self.space
        heating = space.heating
        assert heating is not None
        said = [
            *self._over(burning_near(self.facts, space, log.at)),
            *heater_cautions(space, boat, None),
        ]
        if self._alone(log):
            said.append(finding("heat unattended"))
        elif unattended_of(boat, heating) == "never":
            said.append(finding("never left alone", heater=heating.kind, space=space.name))
        return gravest_first(list(dict.fromkeys(said)))

    def _alone(self, log: Heat) -> bool:
        """Is nobody aboard in some of its hours?"""
        series = self.facts.series(self.job)
        first, last = (first_at_or_after(series, at) for at in (log.at, log.until))
        return not bool(self.facts.hours_ok(series)[first : last + 1].all())


def turned_down(facts: Situation, job: Job, until: datetime) -> list[Finding]:
    """Nobody is aboard as the heat may go off: who turns it down, and when."""
    series = facts.series(job)
    at = first_at_or_after(series, until)
    here = facts.hours_ok(series)[at:]
    if not here.size or here[0]:
        return []
    comes = at_index(series, at + int(np.argmax(here))) if here.any() else None
    return [finding("nobody to turn it down", at=until, until=comes)]


def _stays(here: BoolArray, hands: int) -> BoolArray:
    """Where somebody is aboard, and still so many grid points on."""
    found = np.zeros(here.size, np.bool_)
    if here.size > hands:
        runs = np.lib.stride_tricks.sliding_window_view(here, hands + 1).all(axis=1)
        found[: runs.size] = runs
    return found


def _with_log(facts: Situation, job: Job, log: Heat, through: datetime) -> Found | None:
    """What the judgement finds for a job's next step with a heater lit by the log."""
    lit = lit_by(facts, [log])
    by_job = {clock.job: clock for clock in clocks_of(lit)}
    return find(lit, job, by_job, through=through)


def lit_by(facts: Situation, logs: Sequence[Heat]) -> Situation:
    """All facts with heaters lit by the log, in hours to come too."""
    known = [heat for heat in facts.heats if heat.at <= facts.now]
    heats, spaces = [*known, *logs], list(dict.fromkeys(log.space for log in logs))
    last = max([facts.now, *(log.at for log in logs)])
    boat = with_heat(facts.boat, heats, facts.readings, last)
    conditions = boat_conditions(
        boat,
        facts.forecast,
        facts.readings,
        facts.now,
        only=spaces,
        learned=learned_in(facts.folder),
        drying=facts.drying,
    )
    return replace(
        facts,
        boat=boat,
        heats=heats,
        conditions={**facts.conditions, **{name: conditions[name] for name in spaces}},
        _series={},
        _rooms={},
        _films={},
    )


_WAITED: dict[Milestones, str] = {
    COVERED: "cover",
    DUST_DRY: "dust",
    SANDABLE: "sand",
    TOUCH_DRY: "touch dry",
    HARD: "work",
}


def _waited_for(film: FilmBefore) -> str:
    """What is to be done to a film, or beside it, once it is far enough along."""
    return "recoat" if film.rule is not None else _WAITED[film.names]


def _milestone(facts: Situation, film: FilmBefore) -> str | None:
    """The milestone of its sheet that it is waited for to reach."""
    cure = facts.sheet(film.coat.sheet).sheet.cure
    return next((name for name in film.names if cure.hours(name) is not None), None)
