"""Law 2: time moves smoothly: without news no verdict flips and no deadline moves."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta

from curewindow.answers import Wait
from curewindow.heating import HeatPlan
from curewindow.judgement.models import JobDay
from tests.laws.judgement.faces import GRID, Faces, starts_of

_FIXED = ("touch_dry", "recoat_from", "recoat_until", "closed_up", "full_cure")
_RANK = {"wet": 0, "touch dry": 1, "recoat open": 2, "sand first": 3, "never again": 3, "cured": 4}


def broken(before: Faces, after: Faces) -> Iterator[str]:
    """Hold a moment against a later one with nothing new between them.

    A new run of the forecast is news: where one has come in between, the later moment is asked
    as it would be without it.
    """
    after = after.still_with(before.facts.forecast)
    yield from _clocks(before, after)
    for job in before.facts.work.job:
        was, has = before.windows(job.name), after.windows(job.name)
        day_was, day_has = before.day(job.name), after.day(job.name)
        # once the last start that is allowed has passed, only those are left that are refused
        left = any(window.closes >= after.now for window in was)
        if left and day_has.status == "refused" and day_was.status != "refused":
            yield f"{job.name}: {day_was.status} has become {day_has.status}"
        since = after.now + _to_mix(day_has)
        told = starts_of(day_was, was, since)
        tells = starts_of(day_has, has, since)
        if told != tells and not _has_not_come(day_was.waits, after.now):
            gone, come = sorted(told - tells), sorted(tells - told)
            yield (
                f"{job.name}: {before.now:%d %H:%M:%S} to {after.now:%d %H:%M:%S} "
                f"gone {_few(gone)}, come {_few(come)}"
            )
        yield from _heat(before, after, job.name)
    yield from _notices(before, after)


def _heat(before: Faces, after: Faces, job: str) -> Iterator[str]:
    """A heater run stays as it was told, until it is too late to light for it.

    Once the best time to light has passed it is lit at once instead, or when next someone can.
    """
    was, has = before.day(job).heat, after.day(job).heat
    if was is None or was.light_at is None or (was.latest_light_at or was.light_at) < after.now:
        return
    if has is None or _run(was) != _run(has):
        told = "nothing" if has is None else _run(has)
        yield f"{job}: the heater run {_run(was)} has become {told}"
    elif was.light_at != has.light_at and was.light_at >= after.now:
        yield f"{job}: the heater was to be lit {was.light_at}, now {has.light_at}"


def _run(plan: HeatPlan) -> str:
    return (
        f"{plan.status}, {plan.setpoint_c} °C, lit by {plan.latest_light_at}, "
        f"start {plan.start}, until {plan.hold_until}, {plan.confidence}"
    )


def _to_mix(day: JobDay) -> timedelta:
    """A product that stands before it is used goes on no sooner, as nobody told has mixed it.

    It is mixed at the grid's next point, and stands for whole steps of it.
    """
    stands = [e.number("hours") for e in day.verdict.because if e.kind == "mix and wait"]
    return GRID + timedelta(hours=stands[0]) + GRID if stands else timedelta()


def _has_not_come(waits: list[Wait], now: datetime) -> bool:
    return any(w.kind == "delivery" and w.until is not None and w.until <= now for w in waits)


def _clocks(before: Faces, after: Faces) -> Iterator[str]:
    for name, was in before.clocks.items():
        has = after.clocks[name]
        for each in _FIXED:
            if getattr(was, each) != getattr(has, each):
                yield f"{name}: {each} moves from {getattr(was, each)} to {getattr(has, each)}"
        if was.next_deadline != has.next_deadline and (
            was.next_deadline is None or was.next_deadline > after.now
        ):
            yield f"{name}: the deadline moves from {was.next_deadline} to {has.next_deadline}"
        ranks = _RANK.get(was.state), _RANK.get(has.state)
        if None not in ranks and ranks[0] > ranks[1]:
            yield f"{name}: {was.state} has become {has.state}"


def _notices(before: Faces, after: Faces) -> Iterator[str]:
    """The same piece of news that is not due yet is due at the same time."""
    has = {each.key: each for each in after.reminders}
    for was in before.reminders:
        now = has.get(was.key)
        if was.due > after.now and now is not None and now.due != was.due:
            yield f"'{was.key}' was due {was.due}, now {now.due}"


def _few(times: list) -> str:
    return f"{len(times)}: {', '.join(f'{t:%d %H:%M}' for t in times[:3])}"
