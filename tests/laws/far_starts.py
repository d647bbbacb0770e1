"""Starts of coats in one weather, as the tables beyond the forecast have them and as run whole.

The same boat, weather, heat and shut space on both sides: they differ in nothing but how the
air a coat asks for, and the water it gives off, is reckoned with.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.boat.schema import Job
from curewindow.conditions.aired import SpaceAired
from curewindow.daysheet.ordering import facts_and_given
from curewindow.heating.coat import HeatedCoat
from curewindow.heating.room import Room
from curewindow.heating.starts import Habits, as_it_stands, hold
from curewindow.judgement.airing import room_of
from curewindow.judgement.coatahead import coat_ahead, from_now
from curewindow.judgement.progress import Progress
from curewindow.order.aired import held_aired
from curewindow.order.given import Given
from curewindow.order.modes import LEVELS
from curewindow.series import AirAsked, BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet, TempRange
from curewindow.situation import Situation
from curewindow.windows import judge
from tests.benchmarks.winter import boats, weather

BEHIND_H = 72.0
"""So much weather is left behind the last start."""
EVERY = 3
"""Of the starts that hold in the shut space every third is run."""


@dataclass(frozen=True)
class Compared:
    """Starts of a coat that hold in the shut space: so many, and how many of them aired."""

    job: str
    sheet: str
    solvent: bool
    level_c: float | None
    shut: int
    near: int
    far: int
    both: int


def winter_boat(folder: Path, boat: int, winter: int, days: int) -> datetime:
    """Write a boat of the winters' benchmark and its true weather; the owner's first morning."""
    true = weather.winters(weather.stored(), winter + 1)[winter]
    boats.write(boats.BOATS[boat], true, folder, "daily", {})
    lines = ["time," + ",".join(weather.COLUMNS)]
    for hour in range(24 * (weather.BEFORE_D + days + 1)):
        at = true.first + timedelta(hours=hour)
        cells = ",".join(f"{true.values[name][hour]:.2f}" for name in weather.COLUMNS)
        lines.append(f"{at:%Y-%m-%dT%H:%M}Z,{cells}")
    (folder / "weather.csv").write_text("\n".join(lines) + "\n", "utf-8")
    return true.begin + timedelta(hours=7, minutes=30)


def compared(folder: Path, now: datetime, days: float) -> Iterator[Compared]:
    """Every product of every job, as things are and with its space held at each setpoint."""
    facts, given = facts_and_given(folder, now, days=days)
    for job in given.work.job:
        seen: set[str] = set()
        for number, step in enumerate(job.step, 1):
            if job.space is None or step.sheet is None or step.sheet in seen:
                continue
            seen.add(step.sheet)
            if (job.name, step.sheet) not in given.refused:
                yield from _compared(facts, given, job, number)


def _compared(facts: Situation, given: Given, job: Job, number: int) -> Iterator[Compared]:
    if not given.air_asked(job, number).anything:
        return
    space = facts.boat.find_space(job.space or "")
    assert space is not None
    room = room_of(facts, space, from_now(facts, job))
    assert room is not None
    heated = any(name == job.name for name, _ in given.warmed)
    for level in (None, *(LEVELS if heated else ())):
        yield _one(facts, given, job, number, room, level)


def _one(
    facts: Situation, given: Given, job: Job, number: int, room: Room, level: float | None
) -> Compared:
    task = coat_ahead(facts, job, Progress(number, job.step[number - 1], 1, None), bare_wood=False)
    task = replace(task, sheet=_any_tin(task.sheet))
    asked = AirAsked(task.airing_m3_h, task.water_kg_h)
    series = given.series[job.name] if level is None else given.warmed[job.name, level]
    assert isinstance(series.behind, SpaceAired)
    setpoints = series.behind.acting.setpoint_c[:: facts.forecast.members]
    judged = judge(
        replace(series, tins=None),
        task.sheet,
        task.hands_on_h,
        hours_ok=given.hours_ok,
        earliest=given.now,
        latest=given.until - timedelta(hours=BEHIND_H),
    )
    far = held_aired(judged, asked).ok
    shut = np.zeros_like(judged.ok)
    shut[:, ::EVERY] = judged.ok[:, ::EVERY]
    near = np.zeros_like(shut)
    members = facts.forecast.members
    for run, setpoint in enumerate(setpoints):
        rows = slice(run * members, (run + 1) * members)
        base = _of_rows(replace(series, tins=None), rows)
        near[rows] = _held(replace(task, base=base), room, setpoint, shut[rows])
    return Compared(
        job.name,
        task.sheet.name,
        task.airing_m3_h > 0.0,
        level,
        int(shut.sum()),
        int(near.sum()),
        int((far & shut).sum()),
        int((far & near).sum()),
    )


def _held(task: HeatedCoat, room: Room, setpoint_c: FloatArray, shut: BoolArray) -> BoolArray:
    """Those that hold run whole, each from its own first stroke on."""
    row, column = np.nonzero(shut)
    habits = Habits(np.atleast_2d(setpoint_c[room.first :]), room.model.air_changes_h)
    found = np.zeros_like(shut)
    if row.size:
        begin = (column - room.first).astype(np.int64)
        held = hold(task, room, habits, as_it_stands(room, habits), begin, row.astype(np.int64))
        found[row, column] = held.ok
    return found


def _of_rows(series: SurfaceSeries, rows: slice) -> SurfaceSeries:
    names = ("air_c", "rh_pct", "dew_point_c", "surface_c", "wood_moisture_pct")
    arrays = {name: getattr(series, name) for name in names}
    some = {name: values[rows] for name, values in arrays.items() if values is not None}
    return replace(series, behind=None, **some)


def _any_tin(sheet: Sheet) -> Sheet:
    """The sheet without what it asks of the tin: what is asked here is the air."""
    applying = sheet.applying.model_copy(update={"product": TempRange(), "mixed": TempRange()})
    return sheet.model_copy(update={"applying": applying})
