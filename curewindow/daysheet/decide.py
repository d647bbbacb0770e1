"""What must be decided now: what the date hangs on that only the owner can see to."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time
from typing import Final
from zoneinfo import ZoneInfo

from curewindow.cautions import refusal_of
from curewindow.daysheet.variations import dangers_of, with_heater
from curewindow.findings import Finding, finding
from curewindow.order.given import Given
from curewindow.order.plan import Plan

OFTEN_PCT: Final = 10.0
ARRIVES_BY: Final = time(18)
"""What is due on a day may come until then."""


def decide_now(plan: Plan, given: Given) -> list[Finding]:
    """Deliveries that bind the date, and heaters that a job needs and its space lacks.

    Parameters
    ----------
    plan : Plan
        With what the seasons tell, where they were run.
    given : Given

    Returns
    -------
    list of Finding
        In the order of the work; each thing and each space once.
    """
    found: dict[tuple[str, str], Finding] = {}
    for each in [*_deliveries(plan, given), *_heaters(plan, given)]:
        found.setdefault((each.kind, each.text("thing") or each.text("space")), each)
    return list(found.values())


def _often(plan: Plan) -> dict[str, tuple[str, float]]:
    """By job: what the end waits for there most, and in which share of the seasons."""
    return {
        each.job: (each.kind, each.share_pct / 100.0)
        for each in plan.sets_end
        if each.share_pct >= OFTEN_PCT
    }


def _deliveries(plan: Plan, given: Given) -> Iterator[Finding]:
    often = _often(plan)
    zone = ZoneInfo(plan.time_zone)
    binding = {step.job for step in plan.steps if step.critical}
    waiting = {
        step.job
        for step in plan.steps
        if step.critical and any(each.kind == "delivery" for each in step.waits_for)
    }
    for job in given.work.job:
        if given.stands[job.name].step is None:
            continue
        kind, share = often.get(job.name, ("", None))
        for each in job.delivery:
            last = each.on or each.latest
            if each.arrived:
                continue
            if last is not None and datetime.combine(last, ARRIVES_BY, zone) <= given.now:
                if job.name in binding or share is not None:
                    yield finding("order now", thing=each.what, job=job.name, state="overdue")
            elif kind == "delivery" or job.name in waiting:
                yield finding("order now", thing=each.what, job=job.name, state="late", share=share)


def _heaters(plan: Plan, given: Given) -> Iterator[Finding]:
    often = _often(plan)
    for job in given.work.job:
        step = given.stands[job.name].step
        space = None if job.space is None else given.boat.find_space(job.space)
        if step is None or space is None or space.heating is not None or space.logged_only:
            continue
        left = [each for each in job.step[step - 1 :] if each.sheet is not None]
        if not left:
            continue
        kind, share = often.get(job.name, ("", None))
        if job.name in plan.left_out:
            if not _by_conditions(plan, given, job.name, {each.sheet or "" for each in left}):
                continue
            share = None
        elif kind != "conditions":
            continue
        dangers = dangers_of(given, with_heater(space))
        if refusal_of(dangers) is not None:
            continue  # it may not be lit there over what is put on
        yield finding("bring heater", space=space.name, job=job.name, share=share, because=dangers)


def _by_conditions(plan: Plan, given: Given, name: str, sheets: set[str]) -> bool:
    """Is it conditions that leave a job out: nothing else that would?"""
    job = next(each for each in given.work.job if each.name == name)
    on = given.stands[name].on
    if any((name, sheet) in given.refused for sheet in sheets) or (on and not on.allowed):
        return False
    return not any(
        other in plan.left_out for other in [*job.after, *job.after_cured, *job.after_touch_dry]
    )
