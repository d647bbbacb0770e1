"""Heater runs over films that are on, which a plan takes as lit: what it has near follows them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime

from curewindow.boat.schema import Boat
from curewindow.heating import HeatPlan
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.harden import lit_by
from curewindow.judgement.heat import hardened
from curewindow.judgement.jobday import find
from curewindow.record.entries import Heat
from curewindow.situation import Situation


def assumed_runs(facts: Situation) -> dict[str, HeatPlan]:
    """The runs the day sheet tells for films that are waited for, by job.

    One a space, and no more spaces than a heater warms at once: who is lit first goes first.
    """
    if not facts.coats:
        return {}
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    runs = []
    for job in facts.work.job:
        step = find(facts, job, clocks)
        run = None if step is None else hardened(facts, job, step, None)
        if run is not None:
            runs.append(run)
    found: dict[str, HeatPlan] = {}
    for run in sorted(runs, key=lambda each: _span(each)):
        if _has_room(facts.boat, run, found.values()):
            found[run.job] = run
    return found


def with_runs(facts: Situation, runs: Mapping[str, HeatPlan]) -> Situation:
    """All facts with these runs in the log, as if they had been lit as told."""
    if not runs:
        return facts
    return lit_by(facts, [log_of(run) for run in runs.values()])


def log_of(run: HeatPlan) -> Heat:
    """A run as its owner logs it."""
    light, until = _span(run)
    return Heat(run.space, light, until, run.setpoint_c)


def _span(run: HeatPlan) -> tuple[datetime, datetime]:
    assert run.light_at is not None
    assert run.hold_until is not None
    return run.light_at, run.hold_until


def _has_room(boat: Boat, run: HeatPlan, others: Iterable[HeatPlan]) -> bool:
    """May a run go beside others, and beside what the log has lit?"""
    taken = {each.space for each in others}
    if run.space in taken:
        return False
    main = _main_of(boat, run.space)
    heater = boat.find_space(main)
    if heater is None or heater.heating is None or heater.heating.at_once is None:
        return True
    begin, end = _span(run)
    logged = {
        space.name
        for space in boat.space
        if space.heating is not None
        and any(
            held.setpoint_c is not None and held.begin < end and begin < held.end
            for held in space.heating.held
        )
    }
    served = {name for name in taken | logged if _main_of(boat, name) == main}
    return len(served - {run.space}) < heater.heating.at_once


def _main_of(boat: Boat, name: str) -> str:
    """The space the heater stands in that warms a space."""
    space = boat.find_space(name)
    outlet = None if space is None or space.heating is None else space.heating.outlet_of
    return outlet or name
