"""One run: an owner, a boat, a winter."""

from __future__ import annotations

import random
import tempfile
import time
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path

from curewindow.boat.folder import load_work
from curewindow.cautions.airflow import solvent_airflow_m3_h
from curewindow.cautions.fire import flammable
from curewindow.demo.winters import winters as drawer
from curewindow.sheets.shelf import get_sheet
from tests.benchmarks.winter.boats import BOATS, true_cabins, true_paces, write
from tests.benchmarks.winter.led import Led, LedStrict
from tests.benchmarks.winter.owners import Foresight, Owner, Thermometer, TinsAndSky
from tests.benchmarks.winter.weather import Forecaster, Winter
from tests.benchmarks.winter.world import World

FROM_H, UNTIL_H = 9, 18
STAYS_AWAY = 1.0 / 12.0
"""Of the days aboard, those on which nobody comes after all; the same for all owners."""
OWNERS = {
    "led": "led",
    "strict": "led by the plan alone",
    "tins": "tins and sky",
    "thermometer": "thermometer",
    "foresight": "foresight",
}


@dataclass(frozen=True)
class Asked:
    """One run, as it is asked for."""

    winter: Winter
    boat: int
    owner: str
    weekend: bool
    seed: int
    cap_days: int
    seconds: float = 4.0
    replan_days: int = 1
    keep: Path | None = None
    live: bool = False
    airing: float = 1.0


@dataclass
class Ran:
    """What came of a run."""

    winter: str
    boat: str
    owner: str
    days: float | None
    coats: int
    coats_of: int
    spoilt: list[str]
    missed: int
    too_soon: int
    kwh: float
    days_aboard: int
    days_looked: int
    told: list[tuple[float, bool]] = field(default_factory=list)
    figures: dict[str, float] = field(default_factory=dict)
    reasons: dict[str, int] = field(default_factory=dict)
    errors: list[str] = field(default_factory=list)
    diary: list[str] = field(default_factory=list)
    mornings: list[dict[str, object]] = field(default_factory=list)
    cpu_s: float = 0.0


def run(asked: Asked) -> Ran:
    """Go through a winter."""
    begun = time.process_time()
    with tempfile.TemporaryDirectory(prefix="winter-") as place:
        world, owner = _set_out(asked, Path(place))
        owner.live = asked.live
        finished = _live(asked, world, owner)
    looked = (world.at - world.began) / 144.0
    ran = Ran(
        asked.winter.name,
        world.boat.name,
        OWNERS[asked.owner],
        None if finished is None else (finished - world.began) / 144.0,
        world.count.coats,
        world.count.coats + sum(u.tin is not None for units in world.left.values() for u in units),
        [f"{film.job} coat {film.number}: {film.broken}" for film in world.spoilt],
        world.count.missed,
        world.count.too_soon,
        world.cabins.used_j / 3.6e6,
        world.count.days_aboard,
        round(looked),
        figures=owner.figures(),
        diary=[f"{world.moment(at):%m-%d %H:%M} {text}" for at, text in owner.said],
    )
    if isinstance(owner, Led):
        ran.told = [(chance, film.touched is None) for chance, film in owner.told]
        ran.reasons, ran.errors = dict(owner.reasons), owner.errors
        ran.mornings = owner.mornings
    ran.cpu_s = time.process_time() - begun
    return ran


def _set_out(asked: Asked, place: Path) -> tuple[World, Owner]:
    boat = BOATS[asked.boat % len(BOATS)]
    rng = random.Random(f"{asked.seed} {asked.winter.name} {asked.boat}")
    # The planner's usual weather is of invented winters: never the one it goes through.
    day = asked.winter.begin.date()
    folder = place / "boat"
    hours = "weekend" if asked.weekend else "daily"
    write(boat, asked.winter, folder, hours, drawer(day, day))
    careful = asked.owner in ("led", "strict", "foresight")
    world = World(
        boat,
        asked.winter,
        true_cabins(boat, rng),
        true_paces(boat, rng),
        airing=asked.airing,
        asked_air=_asked_air(folder) if careful else None,
    )
    world.run(world.began)
    world.cabins.used_j = 0.0
    forecaster = Forecaster(asked.winter, asked.seed)
    if asked.owner not in ("led", "strict"):
        plain = {"tins": TinsAndSky, "thermometer": Thermometer, "foresight": Foresight}
        return world, plain[asked.owner](world, forecaster)
    kind = Led if asked.owner == "led" else LedStrict
    keep = None
    if asked.keep is not None:
        keep = asked.keep / f"{asked.winter.name} {boat.name} {asked.owner}".replace(" ", "-")
        keep.mkdir(parents=True, exist_ok=True)
    return world, kind(
        world,
        forecaster,
        folder=folder,
        rng=random.Random(asked.seed),
        seconds=asked.seconds,
        replan_days=asked.replan_days,
        keep=keep,
        strict=asked.owner == "strict",
    )


def _asked_air(folder: Path) -> dict[tuple[str, int], float]:
    """Outside air that the cautions of each coat ask for, m³/h, by job and step."""
    found = {}
    for job in load_work(folder).job:
        for number, step in enumerate(job.step, 1):
            if step.sheet is None or not flammable(sheet := get_sheet(step.sheet).sheet):
                continue
            flow = solvent_airflow_m3_h(sheet, job, step)
            assert flow is not None, (job.name, number)
            found[job.name, number] = flow
    return found


def _live(asked: Asked, world: World, owner: Owner) -> int | None:
    """Day after day until all is hard, or the winter is over; the step at which it is."""
    away = random.Random(f"away {asked.seed} {asked.winter.name}")
    last = min(asked.cap_days, asked.winter.days)
    for day in range(last):
        date = (asked.winter.begin + timedelta(days=day)).date()
        arrive, leave = (
            world.step_of(datetime(date.year, date.month, date.day, h, tzinfo=world.zone))
            for h in (FROM_H, UNTIL_H)
        )
        stays_away = away.random() < STAYS_AWAY
        if stays_away or (asked.weekend and date.weekday() < 5):
            continue
        if (hard := _hard_by(world, arrive)) is not None:
            return hard
        if not world.work_left:
            continue
        world.count.days_aboard += 1
        owner.leave = leave
        owner.morning()
        while world.at < leave and world.work_left:
            if not owner.act():
                world.run(min(world.at + 3, leave))
        owner.evening()
    return _hard_by(world, world.began + last * 144)


def _hard_by(world: World, until: int) -> int | None:
    """Go on to a step; the one at which everything is done and hard, if that is before."""
    while world.at < until:
        if not world.work_left and world.all_hard():
            return world.at
        world.run(world.at + 1)
    return world.at if world.all_hard() else None
