"""Readings held against what is wet, between two looks: one that leaves its limits is no routine.

A look takes seconds of a small board, so a reading that changes nothing starts none.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Final

from curewindow.record.entries import Reading
from curewindow.reminders import SettingBounds

NEAR_C: Final = 1.0
"""So near a limit a fall (or rise) that goes on is told before it is there [K]."""
NEAR_PCT: Final = 5.0
_WELL, _NEAR, _LEFT = range(3)

Which = tuple[str, str]


class Watch:
    """What the last look knew to be wet, and how far each limit had been neared since."""

    def __init__(self) -> None:
        self._bounds: tuple[SettingBounds, ...] = ()
        self._stood: dict[Which, int] = {}

    def know(self, bounds: Sequence[SettingBounds]) -> None:
        """Set what is wet from now on; from any thread."""
        self._bounds = tuple(bounds)

    def is_news(self, reading: Reading, now: datetime) -> bool:
        """Does a reading come nearer to a limit, or further out, than any before it?

        A limit that was neared or left is news again once it was kept by twice the margin.
        """
        news = False
        for which, inside, near in _margins(self._bounds, reading, now):
            stood = self._stood.get(which, _WELL)
            stands = _LEFT if inside < 0.0 else _NEAR if inside < near else _WELL
            if stands > stood:
                news = True
                self._stood[which] = stands
            elif inside > 2.0 * near:
                self._stood.pop(which, None)
        return news


def _margins(
    bounds: Sequence[SettingBounds], reading: Reading, now: datetime
) -> Iterator[tuple[Which, float, float]]:
    """How far inside each limit a reading lies, and what counts as near there."""
    for each in bounds:
        if each.space != reading.space or each.until <= now:
            continue
        for value, low, high, near, name in (
            (reading.air_c, each.air_low_c, each.air_high_c, NEAR_C, "air"),
            (reading.rh_pct, each.rh_low_pct, each.rh_high_pct, NEAR_PCT, "humidity"),
        ):
            if value is None:
                continue
            if low is not None:
                yield (each.space, f"{name} min {low}"), value - low, near
            if high is not None:
                yield (each.space, f"{name} max {high}"), high - value, near
