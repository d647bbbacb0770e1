"""When each heater is lit, turned and let go: what several steps ask of it, put together."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Final

from curewindow.answers import HeaterHeld
from curewindow.boat.schema import Ventilation
from curewindow.cautions import gravest_first
from curewindow.findings import Finding
from curewindow.order.plan import PlannedStep

_OPENNESS: Final[tuple[Ventilation, ...]] = ("closed", "normal", "open")
_OF_HEATERS: Final = ("heat unattended", "heater burns")


def heater_times(steps: Sequence[PlannedStep]) -> list[HeaterHeld]:
    """Stretches without overlap, a space at a time, each as warm and open as any step asks."""
    asked: dict[str, list[HeaterHeld]] = {}
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
            held = HeaterHeld(
                space=space,
                setpoint_c=setpoint_c,
                begins=begins,
                ends=ends,
                vents=vents,
                jobs=[step.job],
            )
            asked.setdefault(space, []).append(held)
    return [held for space in sorted(asked) for held in _together(asked[space])]


def heater_dangers(held: HeaterHeld, steps: Sequence[PlannedStep]) -> list[Finding]:
    """What can hurt someone while a heater is lit for steps, gravest first."""
    return gravest_first(
        each
        for step in steps
        if step.job in held.jobs and step.heat_from is not None
        for each in step.cautions
        if each.kind in _OF_HEATERS
    )


def _together(asked: list[HeaterHeld]) -> list[HeaterHeld]:
    edges = sorted({edge for held in asked for edge in (held.begins, held.ends)})
    found: list[HeaterHeld] = []
    for begins, ends in pairwise(edges):
        on = [held for held in asked if held.begins <= begins and held.ends >= ends]
        if not on:
            continue
        setpoint_c = max(held.setpoint_c for held in on)
        vents = max((held.vents for held in on), key=_OPENNESS.index)
        jobs = list(dict.fromkeys(job for held in on for job in held.jobs))
        last = found[-1] if found and found[-1].ends == begins else None
        if last is not None and (last.setpoint_c, last.vents) == (setpoint_c, vents):
            jobs = list(dict.fromkeys([*last.jobs, *jobs]))
            found[-1] = last.model_copy(update={"ends": ends, "jobs": jobs})
        else:
            found.append(
                HeaterHeld(
                    space=on[0].space,
                    setpoint_c=setpoint_c,
                    begins=begins,
                    ends=ends,
                    vents=vents,
                    jobs=jobs,
                    turned=last is not None,
                )
            )
    return found
