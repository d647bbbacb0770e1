"""Readings that cannot be what they say: one rule for imports, hand readings and live sensors.

A course of readings is held against itself, against the weather outside, against what the model
expects and against the other spaces; whatever of these is not known is passed over. All bounds
are estimates, no source, chosen so that real weather, heat just lit, an opened hatch, steam, a
quiet night behind insulation and coarse sensors are believed.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final, Literal

Value = Literal["air", "humidity", "surface"]
Why = Literal[
    "°F as °C",
    "swapped",
    "sun",
    "jump",
    "stuck",
    "carried",
    "colder than around",
    "warmer than around",
    "too dry",
]

SUN_W_M2: Final = 150.0
SUN_K: Final = 4.0
SUN_OUTDOORS_K: Final = 6.0
FAHRENHEIT_OFF_K: Final = 10.0
FAHRENHEIT_NEAR_K: Final = 3.5
SWAPPED_OFF_K: Final = 10.0
SWAPPED_NEAR_K: Final = 5.0
STUCK_COUNT, STUCK_H, STUCK_K, STUCK_PCT = 5, 12.0, 3.0, 10.0
STUCK_ALONE_H: Final = 24.0
"""So long without a model to say what the cabin should have done."""
STUCK_LONG_H: Final = 36.0
STUCK_OUTSIDE_K: Final = 4.0
STEADY_FROM_PCT: Final = 97.0
"""Air so near to all it can hold may well stay there."""
JUMP_K: Final = 8.0
JUMP_WITHIN_H: Final = 20.0 / 60.0
JUMP_BELIEVED_AFTER_H: Final = 10.0 / 60.0
SUPPORT_H: Final = 6.0
EXPECTED_NEAR_K: Final = 5.0
COLDER_K: Final = 5.0
WARMER_K: Final = 25.0
DRIER_K: Final = 7.0
AROUND_H: Final = 48.0
CARRIED_K: Final = 6.0
CARRIED_WITHIN_H: Final = 0.75
CARRIED_NEAR_K, CARRIED_DEW_K = 1.0, 1.5
CARRIED_LASTS_H: Final = 12.0
_GAP_H: Final = 6.0
_SAME_TIME_H: Final = 0.5
_NAN = math.nan
_STEPS = (10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1)


@dataclass(frozen=True, slots=True)
class ReadCourse:
    """Readings of one place by one source, oldest first; NaN where a value was not taken.

    Attributes
    ----------
    hours : sequence of float
        On any clock that all courses share.
    temp_c : sequence of float
        Of the air, or of the panel where ``surface``.
    rh_pct, dew_c : sequence of float
    surface : bool
    sure : sequence of bool or int
        Somebody has said that it was so; empty: nobody.
    """

    hours: Sequence[float]
    temp_c: Sequence[float]
    rh_pct: Sequence[float] = ()
    dew_c: Sequence[float] = ()
    surface: bool = False
    sure: Sequence[int] = ()


@dataclass(frozen=True, slots=True)
class OutsideCourse:
    """The air outside, by the hour or so: times, °C, dew point in °C, sunshine in W/m²."""

    hours: Sequence[float]
    temp_c: Sequence[float]
    dew_c: Sequence[float]
    sun_w_m2: Sequence[float] = ()

    def span(self, begin: float, end: float) -> slice:
        """The points of a stretch of time."""
        return slice(bisect_left(self.hours, begin), bisect_right(self.hours, end))

    def covers(self, begin: float, end: float) -> bool:
        """Is the whole stretch known, give or take an hour?"""
        return bool(self.hours) and self.hours[0] <= begin + 1.0 and self.hours[-1] >= end - 1.0


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What is known of where a course was read.

    Attributes
    ----------
    outside : OutsideCourse or None
    expected_c, expected_pct : callable or None
        What the model has at an hour; NaN where it has nothing.
    water_c : float
        At the hull; NaN: unknown or none.
    heated, dried : bool
        Is there a heater, or a dehumidifier, anywhere aboard?
    outdoors : bool
        The course itself is of the air outside.
    elsewhere : sequence of ReadCourse
        Of the other spaces.
    """

    outside: OutsideCourse | None = None
    expected_c: Callable[[float], float] | None = None
    expected_pct: Callable[[float], float] | None = None
    water_c: float = _NAN
    heated: bool = True
    dried: bool = True
    outdoors: bool = False
    elsewhere: Sequence[ReadCourse] = field(default_factory=tuple)


@dataclass(frozen=True, slots=True)
class DoubtedValue:
    """One value that is not believed: which of a course, why, and what was to be expected."""

    index: int
    value: Value
    why: Why
    expected: float | None = None


def doubted(course: ReadCourse, around: Surroundings) -> list[DoubtedValue]:
    """Values of a course that are not believed.

    Parameters
    ----------
    course : ReadCourse
    around : Surroundings

    Returns
    -------
    list of DoubtedValue
        By index, one a value at most. Without its air temperature a humidity says nothing.
    """
    found: dict[tuple[int, Value], DoubtedValue] = {}
    for each in (
        *_one_by_one(course, around),
        *_stuck(course, around),
        *_beyond(course, around),
    ):
        sure = each.index < len(course.sure) and bool(course.sure[each.index])
        if not sure:
            found.setdefault((each.index, each.value), each)
    return [
        found[key] for key in sorted(found) if key[1] != "humidity" or (key[0], "air") not in found
    ]


# ---- one after the other ------------------------------------------------------------------


def _one_by_one(course: ReadCourse, around: Surroundings) -> Iterator[DoubtedValue]:
    """Wrong degrees, swapped columns, sun, jumps, a sensor that was carried off."""
    value: Value = "surface" if course.surface else "air"
    believed: list[int] = []  # the last two
    jump_at = jump_c = _NAN
    carried: tuple[ReadCourse, float, float] | None = None
    for index, (at, read) in enumerate(zip(course.hours, course.temp_c, strict=True)):
        if math.isnan(read):
            continue
        expected = _expected(around, at)
        sure = index < len(course.sure) and bool(course.sure[index])
        why = None if sure else _wrong_scale(course, around, index, expected)
        if why is not None:
            yield DoubtedValue(index, value, why, _or_none(expected))
            continue
        if not sure and _in_sun(around, at, read, expected):
            yield DoubtedValue(index, value, "sun", _or_none(expected))
            continue
        before = believed[-1] if believed else None
        if carried is not None and not sure:
            if at - carried[2] <= CARRIED_LASTS_H and _is_there(course, index, carried[0]):
                yield DoubtedValue(index, value, "carried", carried[1])
                continue
            carried = None
        if before is not None and not sure:
            then, was = course.hours[before], course.temp_c[before]
            step = abs(read - was)
            place = _place_it_shows(course, index, around) if not course.surface else None
            if step >= CARRIED_K and at - then <= CARRIED_WITHIN_H and place is not None:
                carried = (place, was, at)
                yield DoubtedValue(index, value, "carried", was)
                continue
            if step >= JUMP_K and (at - then <= JUMP_WITHIN_H or not math.isnan(jump_at)):
                stays = abs(read - jump_c) <= JUMP_K / 2.0
                if not stays:
                    jump_at, jump_c = at, read
                if not stays or at - jump_at < JUMP_BELIEVED_AFTER_H:
                    yield from _both_or_one(course, believed, index, expected, value)
                    if len(believed) and _other_is_wrong(course, believed, index, expected):
                        believed = []
                    continue
        jump_at = jump_c = _NAN
        believed = [*believed[-1:], index]


def _wrong_scale(
    course: ReadCourse, around: Surroundings, index: int, expected: float
) -> Why | None:
    """Was it °F, or are temperature and humidity in each other's place?"""
    if math.isnan(expected):
        return None
    read = course.temp_c[index]
    humidity = course.rh_pct[index] if index < len(course.rh_pct) else _NAN
    if abs(read - expected) < min(FAHRENHEIT_OFF_K, SWAPPED_OFF_K):
        return None
    if abs(humidity - expected) < SWAPPED_NEAR_K and read >= 20.0:
        return "swapped"
    return "°F as °C" if is_fahrenheit(read, expected) else None


def is_fahrenheit(read: float, expected: float) -> bool:
    """Was a value written in °F? A long way off, and right once it is turned."""
    return (
        abs(read - expected) >= FAHRENHEIT_OFF_K
        and abs((read - 32.0) / 1.8 - expected) < FAHRENHEIT_NEAR_K
    )


def _in_sun(around: Surroundings, at: float, read: float, expected: float) -> bool:
    outside = around.outside
    if outside is None or not outside.sun_w_m2 or math.isnan(expected):
        return False
    over = SUN_OUTDOORS_K if around.outdoors else SUN_K
    if around.expected_c is None and not around.outdoors:
        return False
    sun = [outside.sun_w_m2[k] for k in range(*outside.span(at - 1.5, at + 0.5).indices(10**9))]
    return read - expected > over and max(sun, default=0.0) >= SUN_W_M2


def _other_is_wrong(
    course: ReadCourse, believed: Sequence[int], index: int, expected: float
) -> bool:
    """Does nothing speak for the reading before a jump?"""
    before = believed[-1]
    was = course.temp_c[before]
    if not math.isnan(expected) and abs(was - expected) <= EXPECTED_NEAR_K:
        return False
    earlier = believed[-2] if len(believed) > 1 else None
    return earlier is None or not (
        course.hours[before] - course.hours[earlier] <= SUPPORT_H
        and abs(course.temp_c[earlier] - was) < JUMP_K
    )


def _both_or_one(
    course: ReadCourse, believed: Sequence[int], index: int, expected: float, value: Value
) -> Iterator[DoubtedValue]:
    """Of two far apart the one nothing speaks for; both where nothing speaks for either."""
    before = believed[-1]
    if _other_is_wrong(course, believed, index, expected):
        yield DoubtedValue(before, value, "jump", course.temp_c[index])
        if not math.isnan(expected) and abs(course.temp_c[index] - expected) <= EXPECTED_NEAR_K:
            return
    yield DoubtedValue(index, value, "jump", course.temp_c[before])


def _place_it_shows(course: ReadCourse, index: int, around: Surroundings) -> ReadCourse | None:
    """Another space whose air, by temperature and dew point, is just what was read."""
    for other in around.elsewhere:
        if _is_there(course, index, other):
            return other
    return None


def _is_there(course: ReadCourse, index: int, other: ReadCourse) -> bool:
    at, dew = course.hours[index], _dew(course, index)
    near = bisect_left(other.hours, at)
    for k in (near - 1, near):
        if 0 <= k < len(other.hours) and abs(other.hours[k] - at) <= _SAME_TIME_H:
            temp_off = abs(other.temp_c[k] - course.temp_c[index])
            if temp_off <= CARRIED_NEAR_K and abs(_dew(other, k) - dew) <= CARRIED_DEW_K:
                return True
    return False


def _dew(course: ReadCourse, index: int) -> float:
    return course.dew_c[index] if index < len(course.dew_c) else _NAN


def _expected(around: Surroundings, at: float) -> float:
    """What the model has; outdoors, and in a boat nobody heats, what it is outside."""
    if around.expected_c is not None:
        expected = around.expected_c(at)
        if not math.isnan(expected):
            return expected
    outside = around.outside
    if outside is None or (around.heated and not around.outdoors):
        return _NAN
    here = outside.span(at - (1.0 if around.outdoors else 6.0), at + 1.0)
    temps = [t for t in outside.temp_c[here] if not math.isnan(t)]
    return sum(temps) / len(temps) if temps else _NAN


def _or_none(value: float) -> float | None:
    return None if math.isnan(value) else value


# ---- what stands still --------------------------------------------------------------------


def _stuck(course: ReadCourse, around: Surroundings) -> Iterator[DoubtedValue]:
    value: Value = "surface" if course.surface else "air"
    pairs = [
        (t, course.rh_pct[k] if k < len(course.rh_pct) else _NAN)
        for k, t in enumerate(course.temp_c)
    ]
    for run in _runs(course.hours, [(_key(t), _key(h)) for t, h in pairs]):
        if math.isnan(pairs[run[0]][0]):
            continue
        if _frozen(course, around, run, not math.isnan(pairs[run[0]][1])):
            for index in run:
                yield DoubtedValue(index, value, "stuck")
    if course.surface or not len(course.rh_pct):
        return
    step = _resolution(course.rh_pct)
    for run in _runs(course.hours, [_key(h) for h in course.rh_pct]):
        held = course.rh_pct[run[0]]
        lasted = course.hours[run[-1]] - course.hours[run[0]]
        if math.isnan(held) or held >= STEADY_FROM_PCT or lasted < STUCK_H:
            continue
        temps = [t for t in (course.temp_c[k] for k in run) if not math.isnan(t)]
        least = STUCK_K if lasted >= STUCK_LONG_H else max(STUCK_K, 1.5 * step)
        if len(run) >= STUCK_COUNT and temps and max(temps) - min(temps) >= least:
            for index in run:
                yield DoubtedValue(index, "humidity", "stuck")


def _frozen(course: ReadCourse, around: Surroundings, run: Sequence[int], both: bool) -> bool:
    """May the cabin not have stood still while its readings did?"""
    begin, end = course.hours[run[0]], course.hours[run[-1]]
    if len(run) < STUCK_COUNT or end - begin < STUCK_H:
        return False
    for model, least in ((around.expected_c, STUCK_K), (around.expected_pct, STUCK_PCT)):
        if model is not None and (model is around.expected_c or both):
            values = [v for v in (model(course.hours[k]) for k in run) if not math.isnan(v)]
            if values and max(values) - min(values) >= least:
                return True
    outside = around.outside
    if outside is None or end - begin < STUCK_ALONE_H or not outside.covers(begin, end):
        return False
    if around.heated and not both:
        return False  # a thermostat holds a temperature, not a humidity too
    temps = [t for t in outside.temp_c[outside.span(begin, end)] if not math.isnan(t)]
    step = _resolution(course.temp_c)
    return bool(temps) and max(temps) - min(temps) >= STUCK_OUTSIDE_K + 4.0 * step


def _runs(hours: Sequence[float], shown: Sequence[object]) -> Iterator[range]:
    """Stretches of the very same without a long gap."""
    begin = 0
    for k in range(1, len(shown) + 1):
        if k == len(shown) or shown[k] != shown[begin] or hours[k] - hours[k - 1] > _GAP_H:
            if k - begin >= STUCK_COUNT:
                yield range(begin, k)
            begin = k


def _key(value: float) -> float | None:
    return None if math.isnan(value) else value


def _resolution(values: Sequence[float]) -> float:
    """The coarsest step that all values of a sensor are multiples of."""
    seen = {round(v, 3) for v in values if not math.isnan(v)}
    for step in _STEPS:
        if all(abs(v / step - round(v / step)) < 1e-6 for v in seen):
            return step
    return 0.0


# ---- what nothing around it can bring about -------------------------------------------------


def _beyond(course: ReadCourse, around: Surroundings) -> Iterator[DoubtedValue]:
    outside = around.outside
    if outside is None or around.outdoors or course.surface:
        return
    for index, (at, read) in enumerate(zip(course.hours, course.temp_c, strict=True)):
        if math.isnan(read) or not outside.covers(at - AROUND_H, at):
            continue
        here = outside.span(at - AROUND_H, at)
        temps = [t for t in (*outside.temp_c[here], around.water_c) if not math.isnan(t)]
        if not temps:
            continue
        least, most = min(temps), max(temps)
        if read < least - COLDER_K:
            yield DoubtedValue(index, "air", "colder than around", least)
        elif not around.heated and read > most + WARMER_K:
            yield DoubtedValue(index, "air", "warmer than around", most)
        elif not around.dried:
            dews = [d for d in outside.dew_c[here] if not math.isnan(d)]
            dew = _dew(course, index)
            # what is colder than its dew point takes water out of the air as well
            driest = min([*dews, least], default=_NAN)
            if dews and dew < driest - DRIER_K:
                yield DoubtedValue(index, "humidity", "too dry")
