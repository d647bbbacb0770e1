"""What a sensor shows that cannot be: the sun on it, the wrong degrees, a value that stands still.

The bounds are those of :mod:`curewindow.rules.readings`; all are estimates, no source.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from statistics import median
from typing import Final, Literal

from curewindow.record.entries import Reading
from curewindow.rules.readings import (
    JUMP_BELIEVED_AFTER_H,
    JUMP_K,
    JUMP_WITHIN_H,
    STUCK_COUNT,
    STUCK_H,
    STUCK_K,
    STUCK_PCT,
    SUN_K,
    SUN_W_M2,
    is_fahrenheit,
)
from curewindow_service.sensors.heard import Expected, Value

Why = Literal["sun", "°F as °C", "jump", "stuck", "drift"]

# Another sensor or a hand reading in the same space, this fresh and this near, speaks for a value.
AGREE_FOR: Final = timedelta(minutes=30)
AGREE_K: Final = 2.0
# Without anything to hold it against: a rise like that while the sun can shine is the sun.
RISE_WITHIN: Final = timedelta(hours=1)
SUN_LASTS: Final = timedelta(hours=5)
# No cabin changes so much so quickly but by a heater beside the sensor, and that goes on.
JUMP_WITHIN: Final = timedelta(hours=JUMP_WITHIN_H)
JUMP_BELIEVED_AFTER: Final = timedelta(hours=JUMP_BELIEVED_AFTER_H)


@dataclass(frozen=True, slots=True)
class QualityFlag:
    """One value that is not believed."""

    value: Value
    why: Why
    expected: float | None
    said: str


@dataclass(frozen=True, slots=True)
class Standstill:
    """How long a sensor has shown the very same, and how far what is expected moved meanwhile."""

    shown: tuple[float | None, float | None]
    since: datetime
    count: int = 1
    expected_c: tuple[float, float] | None = None
    expected_pct: tuple[float, float] | None = None

    def then(
        self, shown: tuple[float | None, float | None], at: datetime, expected: Expected
    ) -> Standstill:
        """The standstill with one more message."""
        if shown != self.shown:
            return begun(shown, at, expected)
        return replace(
            self,
            count=self.count + 1,
            expected_c=_widened(self.expected_c, expected.temp_c),
            expected_pct=_widened(self.expected_pct, expected.rh_pct),
        )


def begun(shown: tuple[float | None, float | None], at: datetime, expected: Expected) -> Standstill:
    """A standstill of one message."""
    return Standstill(
        shown,
        at,
        1,
        _widened(None, expected.temp_c),
        _widened(None, expected.rh_pct),
    )


def _widened(bounds: tuple[float, float] | None, value: float | None) -> tuple[float, float] | None:
    if value is None:
        return bounds
    return (value, value) if bounds is None else (min(bounds[0], value), max(bounds[1], value))


def temp_of(reading: Reading) -> float | None:
    """The temperature a sensor reads: of the air, or of the panel it is stuck to."""
    return reading.surface_c if reading.panel is not None else reading.air_c


def quality_flag_of(
    reading: Reading,
    expected: Expected,
    others_c: Sequence[float],
    *,
    last_believed: Reading | None,
    sun_may_shine: Callable[[], bool],
    heated: bool,
) -> QualityFlag | None:
    """Is the temperature one that cannot be?

    Parameters
    ----------
    reading : Reading
        As the sensor sent it.
    expected : Expected
        What the worked-out conditions have there.
    others_c : sequence of float
        What other sensors, or a person, read there within half an hour.
    last_believed : Reading or None
        The sensor's own last one that was believed.
    sun_may_shine : callable
        Is the sun up? Asked only where ``expected`` knows of no sunshine.
    heated : bool
        The space has a heater, so that a quick rise may be true.

    Returns
    -------
    Doubt or None
    """
    read = temp_of(reading)
    if read is None:
        return None
    value: Value = "air" if reading.panel is None else "surface"
    if any(abs(read - other) <= AGREE_K for other in others_c):
        return None
    reference = median(others_c) if others_c else expected.temp_c
    if reference is not None:
        if is_fahrenheit(read, reference):
            said = f"{read:.1f} where {reference:.1f} °C is expected: is it °F?"
            return QualityFlag(value, "°F as °C", reference, said)
        if read - reference > SUN_K and _sunny(expected, sun_may_shine):
            said = f"{read:.1f} °C where {reference:.1f} is expected, in sunshine"
            return QualityFlag(value, "sun", reference, said)
        return None
    before = None if last_believed is None else temp_of(last_believed)
    if heated or before is None or last_believed is None:
        return None
    since = reading.at - last_believed.at
    quick = read - before > SUN_K * max(1.0, since / RISE_WITHIN) and since <= SUN_LASTS
    if quick and _sunny(expected, sun_may_shine):
        return QualityFlag(value, "sun", before, f"{read:.1f} °C after {before:.1f}, in daylight")
    return None


def _sunny(expected: Expected, sun_may_shine: Callable[[], bool]) -> bool:
    return sun_may_shine() if expected.sun_w_m2 is None else expected.sun_w_m2 >= SUN_W_M2


@dataclass(frozen=True, slots=True)
class Jump:
    """A temperature far from the one before: believed when it stays."""

    temp_c: float
    since: datetime


def jumped(reading: Reading, before: Reading | None, jump: Jump | None) -> Jump | None:
    """Is a reading far from the one believed before, and has it not stayed there yet?

    Parameters
    ----------
    reading : Reading
    before : Reading or None
        The last one believed, kept or not.
    jump : Jump or None
        What the reading before this one was.
    """
    read = temp_of(reading)
    last = None if before is None else temp_of(before)
    if read is None or last is None or before is None or abs(read - last) < JUMP_K:
        return None
    if jump is not None and abs(read - jump.temp_c) <= JUMP_K / 2.0:
        return None if reading.at - jump.since >= JUMP_BELIEVED_AFTER else jump
    return Jump(read, reading.at) if reading.at - before.at <= JUMP_WITHIN or jump else None


def stuck(reading: Reading, still: Standstill) -> QualityFlag | None:
    """Has the sensor shown the very same while the cabin cannot have stood still?"""
    hours = (reading.at - still.since) / timedelta(hours=1)
    if still.count < STUCK_COUNT or hours < STUCK_H:
        return None
    value: Value = "air" if reading.panel is None else "surface"
    for bounds, least, unit in (
        (still.expected_c, STUCK_K, "°C"),
        (still.expected_pct, STUCK_PCT, "%"),
    ):
        if bounds is not None and bounds[1] - bounds[0] >= least:
            return QualityFlag(
                value,
                "stuck",
                None,
                f"the very same for {hours:.0f} h, "
                f"while {bounds[1] - bounds[0]:.0f} {unit} of change is expected",
            )
    return None
