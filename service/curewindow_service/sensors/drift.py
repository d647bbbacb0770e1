"""Slow departure of a sensor from the others in its space, and from what a person reads.

A hand reading is held to be right. Two sensors in different corners of a cabin differ by
something that stays; what changes of that difference is drift. Bounds are estimates, no source.
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median
from typing import Final, Literal

from curewindow.record.entries import Reading

BY_HAND: Final = "by hand"
TOGETHER: Final = timedelta(minutes=30)
HAND_DAYS, HAND_PAIRS, HAND_SPAN = timedelta(days=7), 3, timedelta(hours=20)
RECENT, FIRST, PAIRS = timedelta(days=3), timedelta(days=7), 12
HAND_OFF: Final = {"air": 2.5, "humidity": 12.0}
SENSOR_OFF: Final = {"air": 2.0, "humidity": 10.0}
_UNIT: Final = {"air": "°C", "humidity": "%"}
Kind = Literal["air", "humidity"]


@dataclass(frozen=True, slots=True)
class Drift:
    """How far a sensor has gone, and from what.

    Attributes
    ----------
    value : {'air', 'humidity'}
    off : float
        °C or %, positive: it reads too much.
    said : str
        In words.
    """

    value: Kind
    off: float
    said: str


def drifts(
    own: Sequence[Reading], others: Mapping[str, Sequence[Reading]], now: datetime
) -> list[Drift]:
    """Values of a sensor that have drifted.

    Parameters
    ----------
    own : sequence of Reading
        Its readings, oldest first, those set aside for drift included.
    others : mapping of str to sequence of Reading
        Readings of the same space by their source, each oldest first.
    now : datetime
        Aware.

    Returns
    -------
    list of Drift
        Of two sensors that part, with nobody's reading to tell which is right, both drift.
    """
    found = []
    for kind in ("air", "humidity"):
        drift = _drift(own, others, now, kind)
        if drift is not None:
            found.append(drift)
    return found


def _drift(
    own: Sequence[Reading], others: Mapping[str, Sequence[Reading]], now: datetime, kind: Kind
) -> Drift | None:
    value = _air if kind == "air" else _humidity
    hand = [
        (at, off)
        for at, off in _pairs(own, others.get(BY_HAND, ()), value)
        if now - at <= HAND_DAYS
    ]
    if len(hand) >= HAND_PAIRS and hand[-1][0] - hand[0][0] >= HAND_SPAN:
        off = median(off for _, off in hand)
        if abs(off) <= HAND_OFF[kind] / 2.0:
            return None  # a person's readings speak for it
        if abs(off) > HAND_OFF[kind]:
            return Drift(kind, off, f"{_apart(off, kind)} what was read by hand")
    parted = []
    compared = 0
    for source, readings in others.items():
        if source == BY_HAND:
            continue
        pairs = _pairs(own, readings, value)
        if not pairs:
            continue
        first = [off for at, off in pairs if at - pairs[0][0] <= FIRST]
        recent = [off for at, off in pairs if now - at <= RECENT and at - pairs[0][0] > FIRST]
        if len(first) < PAIRS or len(recent) < PAIRS:
            continue
        compared += 1
        gone = median(recent) - median(first)
        if abs(gone) > SENSOR_OFF[kind]:
            parted.append((gone, source))
    if not parted or len(parted) * 2 <= compared:
        return None
    off, source = max(parted, key=lambda each: abs(each[0]))
    alone = "" if compared > 1 else "; which of them is right, a reading by hand tells"
    return Drift(kind, off, f"{_apart(off, kind)} '{source}', measured by how they began{alone}")


def _apart(off: float, kind: Kind) -> str:
    return f"{abs(off):.1f} {_UNIT[kind]} {'above' if off > 0 else 'below'}"


def _air(reading: Reading) -> float | None:
    return reading.air_c


def _humidity(reading: Reading) -> float | None:
    return reading.rh_pct


def _pairs(
    own: Sequence[Reading],
    others: Sequence[Reading],
    value: Callable[[Reading], float | None],
) -> list[tuple[datetime, float]]:
    """When, and own less other, wherever both were read within half an hour."""
    mine = [(each.at, read) for each in own if (read := value(each)) is not None]
    times = [at for at, _ in mine]
    found = []
    for other in others:
        read = value(other)
        if read is None or not mine:
            continue
        place = bisect_left(times, other.at)
        near = min(
            (mine[i] for i in (place - 1, place) if 0 <= i < len(mine)),
            key=lambda each: abs(each[0] - other.at),
        )
        if abs(near[0] - other.at) <= TOGETHER:
            found.append((other.at, near[1] - read))
    return found
