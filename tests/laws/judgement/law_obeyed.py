"""Law 5: obeying is rewarded: on as told, logged as told, in weather as told, a coat is sound."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, timedelta
from pathlib import Path

from curewindow.answers import Clock, Window
from curewindow.record.entries import Coat
from tests.laws.judgement.boats import Case, write
from tests.laws.judgement.faces import GRID, Faces


def broken(case: Case, now: datetime, folder: Path) -> Iterator[str]:
    """Put on what is told as go at a moment, log it, and look at its clock."""
    sure = case.copy()
    sure.weather = [sure.weather[0]] * 2  # the weather comes as it is told
    faces = Faces(sure, write(sure, folder / "told"), now)
    for job in faces.facts.work.job:
        day = faces.day(job.name)
        if day.status != "go" or day.next is None or day.next.sheet is None:
            continue
        window = day.windows_today[0]
        yield from _obeyed(sure, faces, job.name, window, folder / "obeyed")


def _obeyed(case: Case, faces: Faces, name: str, window: Window, folder: Path) -> Iterator[str]:
    ahead, told = faces.day(name).next, window.after
    assert ahead is not None
    assert ahead.sheet is not None
    coat = ahead.coat or 1
    done = case.copy()
    on = Coat(name, ahead.step, coat, told.start, told.applied, ahead.sheet)
    done.log.append(on)
    later = [told.applied + timedelta(minutes=1)]
    later += [at for at in (told.touch_dry, told.recoat_from) if at is not None]
    for now in later:
        if now >= faces.ahead.until - timedelta(hours=1):
            continue
        then = Faces(done, write(done, folder), now)
        clock = then.clocks.get(name)
        if clock is None or (clock.step, clock.coat) != (ahead.step, coat):
            yield f"{name}: put on {told.start} as told it has no clock"
            return
        if clock.limits_broken:
            worst = clock.limits_broken[0]
            yield f"{name}: put on {told.start} as told, {worst.limit} {worst.by} at {worst.at}"
        yield from _as_told(name, clock, window, followed=coat < (ahead.of_coats or 1))
        following = then.day(name).next
        if following is not None and (following.step, following.coat) <= (ahead.step, coat):
            yield f"{name}: coat {coat} is on, and coat {following.coat} is next"


def _as_told(name: str, clock: Clock, window: Window, *, followed: bool) -> Iterator[str]:
    """What may be done is no later than told, what must be done no sooner."""
    told = window.after
    pairs = [("touch_dry", told.touch_dry, clock.touch_dry)]
    pairs += [("recoat_from", told.recoat_from, clock.recoat_from)] if followed else []
    for what, was, has in pairs:
        if was is not None and (has is None or has > was + GRID):
            yield f"{name}: {what} was told {was}, the clock has {has}"
    if followed and told.recoat_until is not None:
        has = clock.recoat_until
        if has is not None and has < told.recoat_until - GRID:
            yield f"{name}: recoat_until was told {told.recoat_until}, the clock has {has}"
