"""Stretches of time in which something holds, as spans and in words."""

from __future__ import annotations

from datetime import datetime, timedelta
from typing import NamedTuple

import numpy as np

from curewindow.charts.scene import Scene
from curewindow.series import BoolArray
from curewindow.wording import WEEKDAYS


def stretches(scene: Scene, mask: BoolArray) -> list[tuple[datetime, datetime]]:
    """From the first to the last grid point of each run of True; one point alone lasts a step."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    step = timedelta(hours=scene.step_h)
    return [
        (scene.left + step * int(begin), scene.left + step * int(max(end - 1, begin + 1)))
        for begin, end in zip(edges[::2], edges[1::2], strict=True)
    ]


def time_marks(scene: Scene, every_h: int) -> list[tuple[float, str]]:
    """Hours of the wall clock that are multiples of ``every_h``: (hours from the left, '06')."""
    marks = []
    at = scene.left.replace(minute=0, second=0)
    while at <= scene.right:
        here = scene.words.local(at)
        if here.minute:  # zones that are off by half an hour
            at -= timedelta(minutes=here.minute)
            here = scene.words.local(at)
        if here.hour % every_h == 0 and at >= scene.left:
            marks.append((scene.hour_of(at), f"{here:%H}"))
        at += timedelta(hours=1)
    return marks


class DayMark(NamedTuple):
    """A day of a picture: where it begins and ends, in hours from the left, and its name."""

    begin_h: float
    end_h: float
    weekday: str
    number: int

    @property
    def name(self) -> str:
        """'Thu 26'."""
        return f"{self.weekday} {self.number}"


def day_marks(scene: Scene) -> list[DayMark]:
    """Each day shown."""
    zone = scene.words.zone
    days = []
    here = scene.words.local(scene.left)
    while True:
        midnight = datetime(here.year, here.month, here.day, tzinfo=zone)
        following = midnight + timedelta(days=1)  # wall clock: also on days of 23 or 25 hours
        begin = max(scene.hour_of(midnight), 0.0)
        end = min(scene.hour_of(following), scene.hour_of(scene.right))
        if end > begin:
            days.append(DayMark(begin, end, WEEKDAYS[midnight.weekday()], midnight.day))
        if following.timestamp() >= scene.right.timestamp():
            return days
        here = following
