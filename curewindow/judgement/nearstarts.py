"""Starts of coats as far as the forecast carries: as things are, and with heat, each judged.

A plan made of tables of a few setpoints has starts that the day sheet refuses when their day
comes, for the air the vapour asks for, and lacks others that heat would open. So what it has
near is asked of the judgement beforehand.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Space
from curewindow.conditions.course import utc64
from curewindow.heating.room import Room, member_to_plan_for, up_to
from curewindow.judgement.airing import room_of, with_given_off
from curewindow.judgement.coatahead import coat_ahead, from_now
from curewindow.judgement.kept import facts_key, kept_arrays, name_of
from curewindow.judgement.keptwarm import lit_near, may_be_warm
from curewindow.judgement.progress import Progress, next_of
from curewindow.order.given import HeatedStarts
from curewindow.order.modes import NEAR_LEVELS
from curewindow.rules.tins import with_tin
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.situation import Situation
from curewindow.windows import judge
from curewindow.windows.grid import first_at_or_after

BEHIND_H = 72.0
"""So long behind the forecast runs go on, for films begun at its end."""


@dataclass(slots=True, eq=False)
class NearStarts:
    """Asks the judgement for the starts of a plan's coats.

    Attributes
    ----------
    facts : Situation
        With weather over the whole plan.
    known : datetime
        End of the forecast.
    """

    facts: Situation
    known: datetime
    _rooms: dict[str, Room | None] = field(default_factory=dict)
    _opened: dict[tuple[object, ...], HeatedStarts | None] = field(default_factory=dict)

    def as_is(self, job: Job, number: int, bare_wood: bool) -> BoolArray:
        """Grid points at which a step's coat may begin as things are, (T,).

        True behind the forecast. A surface is taken to be wiped dry.
        """
        facts, step = self.facts, job.step[number - 1]
        assert step.sheet is not None
        sheet = facts.sheet(step.sheet).sheet
        hours = hands_on_h(step, job)
        series = with_tin(replace(facts.series(job), lying_kg_m2=None), sheet, hours)
        verdict = judge(
            series,
            sheet,
            hours,
            hours_ok=facts.hours_ok(series),
            daylight_ok=facts.daylight_ok(series),
            bare_wood=bare_wood,
            earliest=facts.now,
            latest=self.known,
        )
        progress = self._progress(job, number)
        verdict = with_given_off(
            facts, job, progress, verdict, all_windows=False, through=self.known
        )
        found = verdict.good()
        found[first_at_or_after(series, self.known) :] = True
        return found

    def heated(self, job: Job, number: int, bare_wood: bool) -> HeatedStarts | None:
        """Starts that heat opens; None: none."""
        key = (job.name, number, bare_wood)
        if key not in self._opened:
            self._opened[key] = self._heated(job, number, bare_wood)
        return self._opened[key]

    def _heated(self, job: Job, number: int, bare_wood: bool) -> HeatedStarts | None:
        # whoever heats nothing needs none
        from curewindow.heating.opened import OpenedRuns, opened_starts, series_in
        from curewindow.heating.search import setpoint_range

        facts = self.facts
        space = None if job.space is None else facts.boat.find_space(job.space)
        if space is None or not lit_near(facts, space) or not may_be_warm(facts, job, space):
            return None
        room = self._room(space, job)
        if room is None:
            return None
        member = member_to_plan_for(room.outside.temp_c)
        task = coat_ahead(facts, job, self._progress(job, number), bare_wood=bare_wood)
        low, high = setpoint_range(task)
        levels = np.array([level for level in NEAR_LEVELS if low <= level <= high])
        last = int(np.searchsorted(room.times, utc64(self.known)))

        def make() -> dict[str, FloatArray]:
            found = opened_starts(task, room, member, levels, last)
            return {} if found is None else found.arrays()

        key = (
            facts_key(facts, job.name),
            (number, bare_wood, from_now(facts, job), last, member, levels.tolist()),
            (facts.boat, job, task.sheet, task.hands_on_h, task.bare_wood, task.by_bedtime),
            (task.airing_m3_h, task.water_kg_h),
            [each.mark() for each in facts.changed.values()],
        )
        kept = kept_arrays(name_of("opened", *key), make)
        if not kept:
            return None
        opened = OpenedRuns.of(kept)
        return HeatedStarts(
            opened.ways.setpoint_c,
            opened.ways.light + room.first,
            opened.ways.start + room.first,
            opened.end + room.first,
            _over_all(series_in(task, room, member, opened), task.base, room.first),
            held_on=room.may_run is None,
        )

    def _progress(self, job: Job, number: int) -> Progress:
        on = next_of(job, self.facts.coats, self.facts.dones)
        return Progress(number, job.step[number - 1], 1, None if on is None else on.last_coat)

    def _room(self, space: Space, job: Job) -> Room | None:
        """The space as far as the forecast carries."""
        if space.name not in self._rooms:
            room = room_of(self.facts, space, from_now(self.facts, job))
            if room is not None:
                near = int(np.searchsorted(room.times, utc64(self.known)))
                room = up_to(room, near + round(BEHIND_H / room.step_h))
            self._rooms[space.name] = room
        return self._rooms[space.name]


def _over_all(run: SurfaceSeries, base: SurfaceSeries, first: int) -> SurfaceSeries:
    """Runs laid on the plan's whole grid: unknown before and behind."""
    rows, points = run.air_c.shape
    count = min(points, len(base.times) - first)

    def laid(values: FloatArray) -> FloatArray:
        found = np.full((rows, len(base.times)), np.nan)
        found[:, first : first + count] = values[:, :count]
        return found

    return replace(
        run,
        times=base.times,
        air_c=laid(run.air_c),
        rh_pct=laid(run.rh_pct),
        dew_point_c=laid(run.dew_point_c),
        surface_c=laid(run.surface_c),
        wood_moisture_pct=None,
        tin_c=None,
        measured=base.measured,
        lead_h=base.lead_h,
    )
