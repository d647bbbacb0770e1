"""The control member of a forecast: what one run of a cabin can be shown with.

A space in sixteen weathers takes its time where dew freezes, a dehumidifier works or a
door stands open. Where one answer is wanted at once it is worked out in the forecast's
first member, which is the forecast itself where its members were made from it, and only
so far ahead as is asked for.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta

import numpy as np

from curewindow.conditions import Changed, SpaceConditions, boat_conditions, learned_in
from curewindow.conditions.course import utc64
from curewindow.series import FloatArray
from curewindow.situation import Situation
from curewindow.weather.continued import of_rows
from curewindow.weather.forecast import Forecast

BEYOND = timedelta(days=2)
"""So long after the last start asked about a coat has set, or nobody waits for it."""
_BY_POINT = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")


def control_member(forecast: Forecast, until: datetime | None = None) -> Forecast:
    """The first member of a forecast, up to a moment."""
    one = forecast if forecast.members == 1 else of_rows(forecast, np.zeros(1, np.int64))
    if until is None:
        return one
    points = max(int(np.searchsorted(one.times, utc64(until), side="right")), 2)
    if points >= one.times.size:
        return one
    return replace(
        one,
        times=one.times[:points],
        gap_h=one.gap_h[:points],
        **{name: getattr(one, name)[:, :points] for name in _BY_POINT},
    )


def control_conditions(
    facts: Situation,
    forecast: Forecast,
    only: Iterable[str] | None = None,
    changed: Mapping[str, Changed] | None = None,
) -> dict[str, SpaceConditions]:
    """Conditions in that weather, with all that is known of the boat."""
    return boat_conditions(
        facts.boat,
        forecast,
        facts.readings,
        facts.now,
        only=only,
        changed=changed,
        learned=learned_in(facts.folder),
        drying=facts.drying,
    )


def control_facts(facts: Situation, until: datetime, only: Iterable[str]) -> Situation:
    """All facts, in the weather as told up to a moment.

    Parameters
    ----------
    facts : Situation
    until : datetime
        Aware.
    only : iterable of str
        Spaces worked out for it; of the others the first member is taken as it is.
    """
    forecast = control_member(facts.forecast, until)
    points = forecast.times.size
    conditions = {name: _first(found, points) for name, found in facts.conditions.items()}
    conditions.update(control_conditions(facts, forecast, only))
    return replace(facts, forecast=forecast, conditions=conditions, _series={}, _masks={})


def _first(conditions: SpaceConditions, points: int) -> SpaceConditions:
    def cut(values: FloatArray) -> FloatArray:
        return values[:1, :points]

    return replace(
        conditions,
        times=conditions.times[:points],
        air_c=cut(conditions.air_c),
        rh_pct=cut(conditions.rh_pct),
        dew_point_c=cut(conditions.dew_point_c),
        mass_c=cut(conditions.mass_c),
        surface_c={name: cut(values) for name, values in conditions.surface_c.items()},
        heat_w=cut(conditions.heat_w),
        measured=conditions.measured[:points],
        lead_h=conditions.lead_h[:points],
        lying_kg_m2={name: cut(values) for name, values in conditions.lying_kg_m2.items()},
        frost_kg_m2={name: cut(values) for name, values in conditions.frost_kg_m2.items()},
    )
