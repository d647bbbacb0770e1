"""Law 2: time moves smoothly: without news no verdict flips and no deadline moves."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime

from curewindow.answers import Wait
from tests.laws.judgement.faces import Faces, starts_of

_FIXED = ("touch_dry", "recoat_from", "recoat_until", "closed_up", "full_cure")
_RANK = {"wet": 0, "touch dry": 1, "recoat open": 2, "sand first": 3, "never again": 3, "cured": 4}


def broken(before: Faces, after: Faces) -> Iterator[str]:
    """Hold a moment against a later one with nothing new between them."""
    yield from _clocks(before, after)
    for job in before.facts.work.job:
        was, has = before.windows(job.name), after.windows(job.name)
        day_was, day_has = before.day(job.name), after.day(job.name)
        # once the last start that is allowed has passed, only those are left that are refused
        left = any(window.closes >= after.now for window in was)
        if left and day_has.status == "refused" and day_was.status != "refused":
            yield f"{job.name}: {day_was.status} has become {day_has.status}"
        told, tells = starts_of(was, after.now), starts_of(has, after.now)
        # a new run of the forecast is news, and so is what has not come by its time
        news = before.facts.forecast.made != after.facts.forecast.made or _has_not_come(
            day_was.waits, after.now
        )
        if told != tells and not news:
            gone, come = sorted(told - tells), sorted(tells - told)
            yield (
                f"{job.name}: {before.now:%d %H:%M:%S} to {after.now:%d %H:%M:%S} "
                f"gone {_few(gone)}, come {_few(come)}"
            )
    yield from _notices(before, after)


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
