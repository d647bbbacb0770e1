"""What ought to be read aboard in the coming hours: worked out with the day, kept small.

Made where the conditions are at hand (a look, a day sheet) and handed to the listener, which
needs none of what made it.
"""

from __future__ import annotations

from bisect import bisect_right
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from pydantic import Field

from curewindow.answers import Answer
from curewindow.boat.checks import OUTDOORS
from curewindow_service.sensors.heard import Around, Expected

if TYPE_CHECKING:
    import numpy as np

    from curewindow.series import FloatArray
    from curewindow.situation import Situation

STEP = timedelta(minutes=30)
LENGTH = timedelta(hours=36)
# The sun's warmth outlasts it by so much; as in curewindow.fitting.suspects.
_SUN_BEFORE = timedelta(hours=1)
Course = list[float | None]


class PlaceCourse(Answer):
    """What is expected in a space, or on one of its panels, step by step."""

    space: str
    panel: str | None = None
    temp_c: Course
    rh_pct: Course = Field(default_factory=list)


class ExpectedCourse(Answer):
    """What is expected aboard from a moment on, every half hour."""

    start: datetime
    places: list[PlaceCourse]
    sun_w_m2: Course


def expected_of(facts: Situation) -> ExpectedCourse:
    """What is expected from ``facts.now`` on, by the middle member.

    Parameters
    ----------
    facts : Situation
        What a day sheet is made from.
    """
    import numpy as np

    from curewindow.physics.air import dew_point_from_pressure, relative_humidity

    steps = int(LENGTH / STEP) + 1
    start = np.datetime64(int(facts.now.timestamp()), "s")
    wanted = start + np.arange(steps) * np.timedelta64(int(STEP.total_seconds()), "s")
    places = []
    for name, there in facts.conditions.items():
        places.append(
            PlaceCourse(
                space=name,
                temp_c=_course(there.times, there.air_c, wanted),
                rh_pct=_course(there.times, there.rh_pct, wanted),
            )
        )
        places += [
            PlaceCourse(space=name, panel=panel, temp_c=_course(there.times, course, wanted))
            for panel, course in there.surface_c.items()
            if panel
        ]
    forecast = facts.forecast
    known = np.where(forecast.vapour_pa > 0.0, forecast.vapour_pa, np.nan)
    dew = np.minimum(dew_point_from_pressure(known), forecast.temp_c)
    places.append(
        PlaceCourse(
            space=OUTDOORS,
            temp_c=_course(forecast.times, forecast.temp_c, wanted),
            rh_pct=_course(forecast.times, relative_humidity(forecast.temp_c, dew), wanted),
        )
    )
    return ExpectedCourse(
        start=facts.now,
        places=places,
        sun_w_m2=_course(forecast.times, forecast.sun_w_m2, wanted),
    )


def around_by(course: ExpectedCourse) -> Around:
    """Look up what is expected; outside the course nothing is."""
    by_place = {(place.space, place.panel): place for place in course.places}

    def around(space: str, panel: str | None, at: datetime) -> Expected:
        sun = [
            value
            for back in (timedelta(0), _SUN_BEFORE / 2, _SUN_BEFORE)
            if (value := _at(course, course.sun_w_m2, at - back)) is not None
        ]
        most = max(sun, default=None)
        place = by_place.get((space, panel))
        if place is None:
            return Expected(sun_w_m2=most)
        return Expected(_at(course, place.temp_c, at), _at(course, place.rh_pct, at), most)

    return around


def _at(course: ExpectedCourse, values: Course, at: datetime) -> float | None:
    place = (at - course.start) / STEP
    if not 0.0 <= place <= len(values) - 1:
        return None
    before = min(int(place), len(values) - 1)
    after = min(before + 1, len(values) - 1)
    low, high = values[before], values[after]
    if low is None or high is None:
        return None
    return low + (high - low) * (place - before)


def _course(
    times: np.ndarray[tuple[int, ...], np.dtype[np.datetime64]],
    values: FloatArray,
    wanted: np.ndarray[tuple[int, ...], np.dtype[np.datetime64]],
) -> Course:
    import numpy as np

    middle = np.median(values, axis=0)
    index = [bisect_right(times, each) - 1 for each in wanted]
    inside = (wanted >= times[0]) & (wanted <= times[-1] + (times[1] - times[0]))
    return [
        round(float(middle[i]), 2) if ok and np.isfinite(middle[i]) else None
        for i, ok in zip(index, inside.tolist(), strict=True)
    ]
