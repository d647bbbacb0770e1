"""When each heater is lit, turned and let go: what several steps ask of it, put together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

from curewindow.order.plan import PlannedStep


@dataclass(frozen=True, slots=True)
class HeldStretch:
    """A stretch in which a space is held at one temperature, and for which jobs."""

    space: str
    begins: datetime
    ends: datetime
    setpoint_c: float
    jobs: tuple[str, ...]


def heater_times(steps: Sequence[PlannedStep]) -> list[HeldStretch]:
    """Stretches without overlap, a space at a time, each at the warmest any step asks for."""
    asked: dict[str, list[HeldStretch]] = {}
    for step in steps:
        before = step.heat_before
        runs = [(step.space, step.setpoint_c, step.heat_from, step.heat_until)]
        if before is not None:
            runs.append((before.space, before.setpoint_c, before.light_at, before.hold_until))
        for space, setpoint_c, begins, ends in runs:
            if setpoint_c is None or begins is None or ends is None or ends <= begins:
                continue
            held = HeldStretch(space, begins, ends, setpoint_c, (step.job,))
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
        last = found[-1] if found else None
        if last is not None and last.ends == begins and last.setpoint_c == setpoint_c:
            both = tuple(dict.fromkeys(last.jobs + jobs))
            found[-1] = HeldStretch(last.space, last.begins, ends, setpoint_c, both)
        else:
            found.append(HeldStretch(on[0].space, begins, ends, setpoint_c, jobs))
    return found
