"""The owner who is led: does what the plan and the day sheet tell, and writes it all down."""

from __future__ import annotations

import math
import os
import random
import shutil
import time
from collections import Counter
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from curewindow.answers import Window
from curewindow.boat.schema import Ventilation
from curewindow.conditions.routine import VENTILATION
from curewindow.daysheet import DaySheet, day_sheet
from curewindow.daysheet.planning import make_plan
from curewindow.errors import CurewindowError
from curewindow.heating.models import HeatPlan
from curewindow.judgement.models import JobDay
from curewindow.order.plan import Plan, PlannedStep
from curewindow.record.entries import Coat, Done, Heat, Inspection, Item, Reading, Wiped
from curewindow.record.store import Record
from tests.benchmarks.winter.owners import Foresight, Owner
from tests.benchmarks.winter.world import PER_H, Film

_WATER = "water on the surface"
_FRESH = 2 * PER_H
"""A day sheet is asked again after two hours, or as soon as something was written down."""


@dataclass
class Led(Owner):
    """Led by curewindow.

    Attributes
    ----------
    folder : Path
        The boat folder.
    rng : Random
        For what a thermometer and a hygrometer are off by.
    seconds : float
        Search time of a plan.
    replan_days : int
        A plan each day (1) or every few.
    keep : Path or None
        Where each morning's folder is copied to.
    strict : bool
        Coats only where the plan has them today; else whatever the day sheet calls go.
    """

    folder: Path = Path()
    rng: random.Random = field(default_factory=random.Random)
    seconds: float = 4.0
    replan_days: int = 1
    keep: Path | None = None
    strict: bool = False

    name = "led"

    def __post_init__(self) -> None:
        self.plan: Plan | None = None
        self._planned_at = -(10**9)
        self._sheet: DaySheet | None = None
        self._sheet_at = -(10**9)
        self._failed: set[tuple[str, int]] = set()
        self.told: list[tuple[float, Film]] = []
        self.moved = self.compared = 0
        self.plans = self.sheets = 0
        self.plan_s = self.sheet_s = 0.0
        self.reasons: Counter[str] = Counter()
        self.errors: list[str] = []
        self.mornings: list[dict[str, object]] = []

    # ---- what is asked --------------------------------------------------------------------

    @property
    def now(self) -> datetime:
        return self.world.moment()

    def morning(self) -> None:
        # Past hours as far back as a coat may still be followed: more only costs time.
        first = min((film.start for film in self.world.films), default=self.world.at)
        back = min(14, max(4, math.ceil((self.world.at - first) / 144.0) + 3))
        self.forecaster.write(self.folder / "weather.csv", self.now, back)
        self._read()
        if self.keep is not None:
            day = self.keep / f"day-{self.world.count.days_aboard:02d}"
            shutil.copytree(self.folder, day, copy_function=_linked)
        since = (self.world.at - self._planned_at) / (24.0 * PER_H)
        if since >= self.replan_days - 0.3:
            self._replan()
            self._keep_heat()
        self._look(asked_in="morning")
        self._wipe()

    def _read(self) -> None:
        """Thermometer and hygrometer of each cabin, as well as they are."""
        readings = [
            Reading(
                name,
                self.now,
                air_c=round(space.temp_c + self.rng.gauss(0.0, 0.3), 1),
                rh_pct=round(min(100.0, max(5.0, space.rh_pct + self.rng.gauss(0.0, 2.0)))),
            )
            for name, space in self.world.cabins.spaces.items()
        ]
        with Record(self.folder / "record.db", now=lambda: self.now) as record:
            record.add_readings(readings, what="read aboard")
        self._sheet = None

    def _write(self, item: Item) -> None:
        with Record(self.folder / "record.db", now=lambda: self.now) as record:
            record.add(item)
        self._sheet = None

    def _replan(self) -> None:
        begun = time.process_time()
        before = self.plan
        try:
            self.plan = make_plan(self.folder, self.now, seconds=self.seconds, seasons=False).plan
        except CurewindowError as bad:
            self.errors.append(f"{self.now:%Y-%m-%d %H:%M} plan: {bad}")
            self.plan = None
        self.plan_s += time.process_time() - begun
        self.plans += 1
        self._planned_at = self.world.at
        if before is None or self.plan is None:
            return
        was = {step.key: step.start for step in before.steps}
        for step in self.plan.steps:
            if step.key in was:
                self.compared += 1
                self.moved += abs(step.start - was[step.key]) > timedelta(days=1)

    def sheet(self) -> DaySheet | None:
        if self._sheet is None or self.world.at - self._sheet_at >= _FRESH:
            begun = time.process_time()
            try:
                self._sheet = day_sheet(self.folder, self.now)
            except CurewindowError as bad:
                self.errors.append(f"{self.now:%Y-%m-%d %H:%M} day sheet: {bad}")
                self._sheet = None
            self.sheet_s += time.process_time() - begun
            self.sheets += 1
            self._sheet_at = self.world.at
        return self._sheet

    # ---- what is done ---------------------------------------------------------------------

    def act(self) -> bool:
        sheet = self.sheet()
        if sheet is None:
            return False
        self._light(sheet)
        sheet = self.sheet()
        if sheet is None:
            return False
        days = {day.job: day for day in sheet.jobs}
        for job in self._in_order(sheet):
            if self._can(days[job]) is not None:
                return self._do(days[job])
        return False

    def _in_order(self, sheet: DaySheet) -> list[str]:
        """Jobs as the plan has them today, then (unless strict) as the day sheet does.

        Of these none while the plan has a step still to come today: its film or its dust could
        be in the way of that.
        """
        planned = [step.job for step in self._todays()]
        go = [day.job for day in sheet.jobs if day.status == "go" and day.job not in planned]
        if self.strict or self._to_come():
            go = []
        ends = {day.job: day.windows_today[-1].closes for day in sheet.jobs if day.windows_today}
        go.sort(key=lambda job: ends.get(job, self.now + timedelta(days=9)))
        return list(dict.fromkeys([*planned, *go]))

    def _todays(self) -> list[PlannedStep]:
        if self.plan is None:
            return []
        today = self.now.astimezone(self.world.zone).date()
        steps = [
            step
            for step in self.plan.steps
            if step.start.astimezone(self.world.zone).date() <= today
        ]
        return sorted(steps, key=lambda step: step.start)

    def _to_come(self) -> bool:
        """Has the plan a step today that is not done, and whose time has not passed?"""
        for step in self._todays():
            unit = self.world.next_unit(step.job)
            if step.sanding_for_missed or unit is None or step.start < self.now:
                continue
            if (unit.step, unit.coat or 0) <= (step.step, step.coat or 0):
                return True
        return False

    def _can(self, day: JobDay) -> Window | None:
        """The told window in which its next step may be started this moment."""
        unit = self.world.next_unit(day.job)
        if unit is None or day.next is None or day.status != "go":
            return None
        more = 1.0 if day.next.sand_first and unit.between != "sand" else 0.0
        if not self.fits(unit, more):
            return None
        if (day.job, self.world.at) in self._failed:
            return None
        for window in day.windows_today:
            if day.next.may_start(window, self.now):
                return window
        return None

    def _do(self, day: JobDay) -> bool:
        world, unit = self.world, self.world.next_unit(day.job)
        window = self._can(day)
        assert unit is not None
        assert window is not None
        assert day.next is not None
        if (day.next.step, day.next.coat) != (unit.step, unit.coat):
            self.errors.append(
                f"{self.now:%Y-%m-%d %H:%M} {day.job}: told step {day.next.step} coat "
                f"{day.next.coat}, to be done is {unit.step} coat {unit.coat}"
            )
            self._failed.add((day.job, world.at))
            return False
        sand = day.next.sand_first and unit.between != "sand"
        if sand:
            below = world.last_film(day.job)
            if below is not None:
                below.true["recoat until"] = 0.0
                world.count.missed += 1
            self.say(f"sand {day.job}: interval missed")
        self.say(f"{unit.do} {day.job} {unit.coat or ''} ({window.confidence:.2f})")
        start = world.at + (PER_H if sand else 0)
        world.start(day.job, sanded=sand)
        if unit.tin is None:
            self._write(Done(day.job, unit.step, self.now))
        else:
            if sand and unit.coat is not None:
                last = (unit.step, unit.coat - 1) if unit.coat > 1 else (unit.step - 1, 1)
                self._write(Inspection(day.job, *last, world.moment(start), "sanded"))
            self.told.append((window.confidence, world.films[-1]))
            self._write(
                Coat(
                    day.job,
                    unit.step,
                    unit.coat or 1,
                    world.moment(start),
                    self.now,
                    unit.tin.name,
                )
            )
        return True

    def _light(self, sheet: DaySheet) -> None:
        """Light the heater where the plan says so now, else where the day sheet does."""
        lit = self.world.heated()
        wanted = self._planned_heat()
        if wanted is not None and lit in (None, wanted[1]):
            key, space, setpoint_c, until, vents = wanted
            if lit is not None:
                # Another run of the same space: held on, and never cooler than what is on there.
                held_c, held = self.world.heat_until[lit]
                if self.world.step_of(until) <= held and setpoint_c <= held_c:
                    return
                setpoint_c = max(setpoint_c, held_c)
                until = max(until, self.world.moment(held))
            self._lit(space, setpoint_c, until, f"plan: {key}", vents)
            return
        if lit is not None:
            return
        best: HeatPlan | None = None
        planned = {
            step.job
            for step in self._todays()
            if step.setpoint_c is not None and step.heat_from is not None
        }
        for day in sheet.jobs:
            plan = day.heat
            if plan is None or plan.status != "possible" or day.job in planned:
                continue
            if plan.light_at is None or plan.light_at > self.now + timedelta(minutes=15):
                continue
            if plan.latest_light_at is not None and plan.latest_light_at < self.now:
                continue
            if self.strict:
                continue
            if best is None or (plan.start or self.now) < (best.start or self.now):
                best = plan
        if best is not None and best.setpoint_c is not None and best.hold_until is not None:
            vents = best.ventilation or "normal"
            self._lit(best.space, best.setpoint_c, best.hold_until, f"day sheet: {best.job}", vents)

    def _planned_heat(self) -> tuple[str, str, float, datetime, Ventilation] | None:
        """What the plan has the heater lit for at this moment, the first of several.

        The step, its space, the setpoint, until when, and how the vents stand meanwhile.
        """
        if self.plan is None:
            return None
        soon = self.now + timedelta(minutes=15)
        for step in sorted(self.plan.steps, key=lambda step: step.start):
            if step.heat_from is None or step.heat_until is None or step.setpoint_c is None:
                continue
            unit = self.world.next_unit(step.job)
            done = unit is None or (unit.step, unit.coat) > (step.step, step.coat or 0)
            if not done and step.heat_from <= soon < step.heat_until:
                vents = "normal" if step.heat is None else step.heat.ventilation or "normal"
                return step.key, step.space, step.setpoint_c, step.heat_until, vents
        return None

    def _wipe(self) -> None:
        """Water that the day sheet thinks lies on a surface is looked for, and wiped off."""
        sheet = self.sheet()
        for day in [] if sheet is None else sheet.jobs:
            wet = day.if_wiped is not None or any(
                each.margin is not None and each.margin.limit == _WATER for each in day.obstacles
            )
            unit = self.world.next_unit(day.job)
            if not wet or unit is None or unit.tin is None:
                continue
            job = self.world.jobs[day.job]
            for panel in self.world.cabins.spaces[job.space].panels:
                if panel.name == job.panel:
                    panel.film_kg_m2 = 0.0
            self.say(f"wipe {day.job} dry")
            self._write(Wiped(self.now, job=day.job))

    def _keep_heat(self) -> None:
        """What burns, burns on: a plan takes what the log says is lit as given, and orders none.

        Only where the plan has the one heater elsewhere by now, and no film needs it, it goes.
        """
        lit, wanted = self.world.heated(), self._planned_heat()
        if lit is None or wanted is None or wanted[1] == lit:
            return
        if any(film.space == lit and not film.is_("touch dry") for film in self.world.films):
            return
        self.say(f"put out {lit}: the plan has the heater in {wanted[1]}")
        self.world.out(lit)
        self._write(Heat(lit, self.now, self.now + timedelta(days=1)))

    def _lit(
        self, space: str, setpoint_c: float, until: datetime, why: str, vents: Ventilation
    ) -> None:
        if until <= self.now:
            return
        self.say(f"light {space} {setpoint_c:g} °C until {until:%d %H:%M} ({why})")
        self.world.heat(space, setpoint_c, self.world.step_of(until), VENTILATION[vents])
        self._write(Heat(space, self.now, until, setpoint_c, vents))

    # ---- why not --------------------------------------------------------------------------

    def _look(self, *, asked_in: str) -> None:
        """Count, for each job that is not done, what the faces say of its next step today."""
        sheet = self.sheet()
        if sheet is None:
            return
        today = self.now.astimezone(self.world.zone).date()
        planned = {}
        for step in [] if self.plan is None else self.plan.steps:
            planned.setdefault(step.job, step)
        seer = Foresight(self.world, self.forecaster, self.leave)
        could = seer.openings()
        row: dict[str, object] = {"now": self.now.isoformat(), "in": asked_in}
        for day in sheet.jobs:
            unit = self.world.next_unit(day.job)
            if unit is None:
                continue
            step = planned.get(day.job)
            if step is None:
                left_out = {} if self.plan is None else self.plan.left_out
                plan_says = "left out" if day.job in left_out else "not in plan"
            else:
                days = (step.start.astimezone(self.world.zone).date() - today).days
                plan_says = "today" if days <= 0 else "tomorrow" if days == 1 else "later"
            heat = "" if day.heat is None else f", heat {day.heat.status}"
            product = "coat" if unit.tin is not None else "other"
            truth = ""
            if day.job in could:
                truth = "; truly open" + ("" if could[day.job][0] is None else " with heat")
            self.reasons[
                f"{product}: {day.status} ({day.verdict.kind}){heat}; plan {plan_says}{truth}"
            ] += 1
            row[day.job] = {
                "status": day.status,
                "verdict": day.verdict.kind,
                "waits": [wait.kind for wait in day.waits],
                "heat": None if day.heat is None else [day.heat.status, day.heat.verdict.kind],
                "planned": None if step is None else [step.start.isoformat(), step.setpoint_c],
                "next": [unit.step, unit.coat],
                "truly": could.get(day.job),
            }
        if self.plan is not None:
            row["finish"] = None if self.plan.finish is None else self.plan.finish.isoformat()
            row["conflict"] = None if self.plan.conflict is None else self.plan.conflict.sentences
        self.mornings.append(row)

    def figures(self) -> dict[str, float]:
        return {
            "plans": self.plans,
            "sheets": self.sheets,
            "plan_cpu_s": round(self.plan_s, 1),
            "sheet_cpu_s": round(self.sheet_s, 1),
            "steps_compared": self.compared,
            "steps_moved": self.moved,
        }


class LedStrict(Led):
    """Does only what the plan has for today, when the day sheet says go to it."""

    name = "led by the plan alone"


def _linked(source: str, target: str) -> str:
    """A copy; what never changes is linked."""
    if Path(source).name.startswith("winters-"):
        os.link(source, target)
    else:
        shutil.copy2(source, target)
    return target
