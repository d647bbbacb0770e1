"""The modes of each coat: on as things are, and with its space kept warm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Step
from curewindow.curing import CureModel
from curewindow.order.aired import held_aired
from curewindow.order.given import Given
from curewindow.order.heaterruns import LONG_H, HeaterRuns, days_before, evening_before
from curewindow.order.problem import Mode
from curewindow.order.slots import Slots
from curewindow.order.tables import (
    CoatMode,
    dry_and_light,
    hands_mode,
    heated_modes,
    mode_of,
    stalls,
)
from curewindow.rules.tins import tin_counts
from curewindow.series import SurfaceSeries
from curewindow.voice.speaking import listed
from curewindow.windows import Verdict, find_obstacles, judge
from curewindow.windows.grid import at_index

LEVELS: Final = (15.0, 21.0)
"""Setpoints that are tried, °C: a cool and a warm cabin."""
NEAR_LEVELS: Final = (10.0, 15.0, 20.0, 24.0)
"""Setpoints tried as far as the forecast carries, °C; what is told is set to half a degree."""
ALIKE_SHARE, GAIN_H = 0.9, 12.0
"""Heat that opens no more starts than this and saves no more hours is left out of account."""
WORKS_SHARE: Final = 0.25
"""A setpoint works where it opens so many of the starts someone is aboard for."""
SITTING_H: Final = 3.0
"""Longer work without a product is done in sittings. Common practice, no source."""


@dataclass(slots=True, eq=False)
class Modes:
    """Looks up the modes of steps, each worked out once."""

    given: Given
    slots: Slots
    _coats: dict[tuple[object, ...], tuple[tuple[CoatMode, ...], str]] = field(default_factory=dict)
    _hands: dict[tuple[str, int], Mode] = field(default_factory=dict)
    # By the series itself, which `given` keeps, so that no other can take its place.
    _verdicts: dict[tuple[int, str, float, bool], Verdict] = field(default_factory=dict)
    _cures: dict[tuple[int, str], CureModel] = field(default_factory=dict)

    def coat(self, job: Job, number: int, first_on_wood: bool) -> tuple[tuple[CoatMode, ...], str]:
        """Modes of a step with a product, and why there is none ('' where there is)."""
        step = job.step[number - 1]
        bare = first_on_wood and job.bare_wood
        bedtime = (job.name, step.sheet or "") in self.given.by_bedtime
        refused = self.given.refused.get((job.name, step.sheet or ""), "")
        # Jobs on one surface with one product and the same time have the same modes.
        where: tuple[object, ...] = (job.space, job.panel)
        if job.space is None or bare:
            where = (job.name,)
        asked = self.given.air_asked(job, number)
        key = (step.sheet, hands_on_h(step, job), *where, bare, bedtime, refused, asked)
        if key not in self._coats:
            self._coats[key] = ((), refused) if refused else self._find(job, number, bare)
        return self._coats[key]

    def hands(self, job: Job, hands: int) -> Mode:
        """The mode of work without a product."""
        key = (job.name if job.space is None else "", hands)
        if key not in self._hands:
            free = np.ones(self.slots.count, np.bool_)
            if job.space is None:
                free = dry_and_light(
                    self.slots, self.given.series[job.name], self.given.daylight_ok
                )
            self._hands[key] = hands_mode(self.slots, hands, free)
        return self._hands[key]

    def longest_sitting(self) -> int:
        """Slots of a sitting: as long as someone is aboard in one go, three hours at most."""
        aboard = np.concatenate(([False], self.slots.aboard, [False])).astype(np.int8)
        edges = np.flatnonzero(np.diff(aboard))
        longest = int((edges[1::2] - edges[::2]).max()) if edges.size else 1
        return max(1, min(longest, self.slots.needed(SITTING_H)))

    def _find(self, job: Job, number: int, bare_wood: bool) -> tuple[tuple[CoatMode, ...], str]:
        given, slots, step = self.given, self.slots, job.step[number - 1]

        def made(
            level: float | None, *, steady: bool = False, hold: bool = False
        ) -> tuple[CoatMode, Verdict]:
            runs = None
            if level is not None:
                runs = days_before(slots) if steady else evening_before(slots)
            found, verdict = self._made(
                job,
                step,
                bare_wood,
                level,
                given.steady if steady else given.warmed,
                lead_h=LONG_H if steady else given.lead_h,
                runs=runs,
                hold=hold,
            )
            return lit_before(found, slots, LONG_H) if steady else found, verdict

        as_is, verdict = made(None)
        found = [self._with_routine(job, as_is)]
        if job.space is not None:
            levels = sorted(level for name, level in given.warmed if name == job.name)
            tried = [made(level)[0] for level in levels]
            warm = _worth_it(tried, self.slots)
            found += warm
            if tried and not any(works(each, self.slots) for each in [as_is, *tried]):
                found += [made(level, steady=True)[0] for level in levels[-1:]]
                if stalls(found[-1], self.slots):
                    found.append(made(levels[-1], steady=True, hold=True)[0])
            found += [
                made(each.mode.level_c, hold=True)[0] for each in warm if stalls(each, self.slots)
            ]
        kept = tuple(
            each
            for each in found
            if each.mode.starts.size and (each is found[0] or _better(each, found[0], slots))
        )
        kept = self._as_judged(job, number, bare_wood, kept)
        return kept, "" if kept else _why_none(verdict, given)

    def _as_judged(
        self, job: Job, number: int, bare_wood: bool, found: tuple[CoatMode, ...]
    ) -> tuple[CoatMode, ...]:
        """As far as the forecast carries the starts that the judgement allows, and no others.

        What a table of a few setpoints has of heat there gives way to runs of their own.
        """
        given, slots, step = self.given, self.slots, job.step[number - 1]
        if given.near is None:
            return found
        assert step.sheet is not None
        known = slots.at_or_before(given.known_until)
        as_is = given.near.as_is(job, number, bare_wood)
        kept = [
            each.picked(
                as_is[each.first_stroke] if each.mode.level_c is None else each.mode.starts >= known
            )
            for each in found
        ]
        opened = given.near.heated(job, number, bare_wood)
        if opened is not None:
            hands_h = hands_on_h(step, job)
            kept += heated_modes(
                slots, given.sheet(step.sheet), hands_h, given.series[job.name], opened
            )
        return tuple(each for each in kept if each.mode.starts.size)

    def _made(
        self,
        job: Job,
        step: Step,
        bare_wood: bool,
        level: float | None,
        heated: Mapping[tuple[str, float], SurfaceSeries],
        *,
        lead_h: float,
        runs: HeaterRuns | None = None,
        hold: bool = False,
    ) -> tuple[CoatMode, Verdict]:
        """One mode of a step's coat: in a space as it is, or held at a setpoint."""
        given = self.given
        assert step.sheet is not None
        by_bedtime = (job.name, step.sheet) in given.by_bedtime
        as_is = given.series[job.name]
        series = as_is if level is None else heated[(job.name, level)]
        verdict = self._verdict(job, step, bare_wood, series)
        verdict = held_aired(verdict, given.air_asked(job, job.step.index(step) + 1))
        made = mode_of(
            self.slots,
            verdict,
            self._cure(step.sheet, as_is),
            zone=ZoneInfo(given.boat.place.time_zone) if by_bedtime else None,
            level_c=level,
            lead_h=lead_h,
            runs=runs,
            hold=hold,
        )
        return made, verdict

    def _verdict(self, job: Job, step: Step, bare_wood: bool, series: SurfaceSeries) -> Verdict:
        """Every start of a step's coat, judged in one course of conditions."""
        assert step.sheet is not None
        hands_h = hands_on_h(step, job)
        key = (id(series), step.sheet, hands_h, bare_wood)
        if key not in self._verdicts:
            sheet = self.given.sheet(step.sheet)
            # Nothing is told of a start here: a tin no limit asks for is not followed.
            self._verdicts[key] = judge(
                series if tin_counts(sheet) else replace(series, tins=None),
                sheet,
                hands_h,
                hours_ok=self.given.hours_ok,
                daylight_ok=self.given.daylight_ok,
                bare_wood=bare_wood,
                model=self._cure(step.sheet, series),
            )
        return self._verdicts[key]

    def _cure(self, stem: str, series: SurfaceSeries) -> CureModel:
        """How a product hardens in one course of conditions; its counts are kept with it."""
        key = (id(series), stem)
        if key not in self._cures:
            self._cures[key] = CureModel(self.given.sheet(stem), series)
        return self._cures[key]

    def _with_routine(self, job: Job, made: CoatMode) -> CoatMode:
        """As things are may rest on a routine of a heater that other spaces share."""
        space = None if job.space is None else self.given.boat.find_space(job.space)
        if space is None or space.heating is None or not space.heating.routine:
            return made
        lead = int(np.ceil(self.given.lead_h / self.slots.hours))
        mode = replace(
            made.mode,
            warm_from=np.maximum(made.mode.starts - lead, 0),
            warm_until=made.mode.set_until,
        )
        return replace(made, mode=mode)


def lit_before(made: CoatMode, slots: Slots, lead_h: float) -> CoatMode:
    """The heater is needed from some hours before each start, not from when its run began."""
    lead = int(np.ceil(lead_h / slots.hours))
    since = np.maximum(made.mode.starts - lead, made.mode.warm_from)
    return replace(made, mode=replace(made.mode, warm_from=since))


def works(made: CoatMode, slots: Slots) -> bool:
    """Does it open enough of the starts someone is aboard for?"""
    return bool(made.mode.starts.size >= WORKS_SHARE * np.count_nonzero(slots.aboard))


def _better(warm: CoatMode, as_is: CoatMode, slots: Slots) -> bool:
    """Is heat worth anything: starts that are not there without, or half a day of hardening?"""
    if as_is.mode.starts.size == 0:
        return True
    both = np.isin(warm.mode.starts, as_is.mode.starts)
    if both.mean() < ALIKE_SHARE:
        return True
    gained = as_is.mode.hard[np.isin(as_is.mode.starts, warm.mode.starts)] - warm.mode.hard[both]
    return bool(np.median(gained) * slots.hours >= GAIN_H)


def _worth_it(tried: list[CoatMode], slots: Slots) -> list[CoatMode]:
    """The coolest setpoint that opens enough starts, and the warmest where it opens any."""
    if not tried:
        return []
    enough = [each for each in tried if works(each, slots)]
    coolest = enough[0] if enough else max(tried, key=lambda each: each.mode.starts.size)
    return [coolest] if coolest is tried[-1] else [coolest, tried[-1]]


def _why_none(verdict: Verdict, given: Given) -> str:
    """What stands in the way of any start, by the first moment someone is aboard."""
    fits = verdict.hours_ok & verdict.daylight_ok
    first = int(
        np.searchsorted(verdict.series.times, np.datetime64(int(given.now.timestamp()), "s"))
    )
    later = np.flatnonzero(fits[first:])
    if later.size == 0:
        return "nobody is aboard in daylight" if verdict.series.outdoors else "nobody is aboard"
    found = find_obstacles(verdict, at_index(verdict.series, first + int(later[0])))
    reasons = listed((each.why for each in found[:2]), given.words)
    return f"no start within the weather looked at: {reasons or 'limits of its sheet'}"
