"""When each heater is lit, turned and let go: what several steps ask of it, put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from itertools import pairwise

from curewindow.boat.schema import Ventilation
from curewindow.order.plan import PlannedStep

_OPENNESS: tuple[Ventilation, ...] = ("closed", "normal", "open")


@dataclass(frozen=True, slots=True)
class HeldStretch:
    """A stretch in which a space is held at one temperature, its vents so, and for which jobs."""

    space: str
    begins: datetime
    ends: datetime
    setpoint_c: float
    jobs: tuple[str, ...]
    vents: Ventilation = "normal"


def heater_times(steps: Sequence[PlannedStep]) -> list[HeldStretch]:
    """Stretches without overlap, a space at a time, each as warm and open as any step asks."""
    asked: dict[str, list[HeldStretch]] = {}
    for step in steps:
        before = step.heat_before
        runs = [(step.space, step.setpoint_c, step.heat_from, step.heat_until, step.heat)]
        if before is not None:
            times = (before.light_at, before.hold_until)
            runs.append((before.space, before.setpoint_c, *times, before))
        for space, setpoint_c, begins, ends, run in runs:
            if setpoint_c is None or begins is None or ends is None or ends <= begins:
                continue
            vents = (None if run is None else run.ventilation) or "normal"
            held = HeldStretch(space, begins, ends, setpoint_c, (step.job,), vents)
            asked.setdefault(space, []).append(held)
    return [held for space in sorted(asked) for held in _together(asked[space])]


def _together(asked: list[HeldStretch]) -> list[HeldStretch]:
    edges = sorted({edge for held in asked for edge in (held.begins, held.ends)})
    found: list[HeldStretch] = []
    for begins, ends in pairwise(edges):
        on = [held for held in asked if held.begins <= begins and held.ends >= ends]
        if not on:
            continue
        setpoint_c = max(held.setpoint_c for held in on)
        jobs = tuple(dict.fromkeys(job for held in on for job in held.jobs))
        vents = max((held.vents for held in on), key=_OPENNESS.index)
        last = found[-1] if found else None
        alike = last is not None and (last.ends, last.setpoint_c, last.vents) == (
            begins,
            setpoint_c,
            vents,
        )
        if last is not None and alike:
            both = tuple(dict.fromkeys(last.jobs + jobs))
            found[-1] = replace(last, ends=ends, jobs=both)
        else:
            found.append(HeldStretch(on[0].space, begins, ends, setpoint_c, jobs, vents))
    return found
