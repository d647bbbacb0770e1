"""Tins where they are kept, fetched and carried: how warm they are when they are worked with.

That a tin is kept warm and carried, or stands by till it is warm, is common practice, no source;
how it warms and cools is checked in `published/test_tin.py` and, apart, by `tests/checker.py`.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
from cabin import NOW, at, heating, job, saloon, weather

from curewindow.boat.schema import Boat
from curewindow.conditions import boat_conditions, surface_series
from curewindow.rules.limits import TIN
from curewindow.rules.tins import tin_asked, with_tin
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.weather.forecast import Forecast
from curewindow.windows import Verdict, find_obstacles, find_windows, judge
from curewindow.windows.grid import at_index
from curewindow.windows.tins import carry_instead
from curewindow.windows.working import working_findings

STEM = "enamel"
DAYS = [{"days": ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"], "from": "08:00:00"}]
EVENINGS = {"routine": [{"from": "14:00", "setpoint": "18 °C"}, {"from": "21:00"}]}


def enamel(**tables: Any) -> Sheet:
    sheet = Sheet.model_validate(
        {
            "name": "test enamel",
            "kind": "paint",
            "chemistry": "oxidation",
            "basis": "data sheet of January 2025",
            "applying": {"air": {"min": "5 °C"}, "product": {"min": "10 °C", "max": "30 °C"}},
            "setting": {"until": "touch dry"},
            "cure": {"temps": ["10 °C"], "touch_dry": ["2 h"]},
            **tables,
        }
    )
    sheet._file_name = STEM
    return sheet


def kept(heated: dict[str, Any] | None = None, **keys: Any) -> Boat:
    """The boat of this folder, its saloon heated so, its tins kept so."""
    spaces = [saloon() if heated is None else saloon(heating=heating(**heated))]
    spaces.append(saloon(name="forepeak"))
    hours = [{**DAYS[0], "until": "22:00:00"}]
    place = {"latitude": 52.0, "longitude": 5.0, "time_zone": "UTC"}
    return Boat.model_validate(
        {"name": "Test", "place": place, "space": spaces, "hours": hours, **keys}
    )


def at_work(described: Boat, forecast: Forecast, **where: Any) -> SurfaceSeries:
    spaces = boat_conditions(described, forecast, (), NOW)
    where = where or {"space": "saloon", "panel": "panelled side"}
    return surface_series(described, job(**where), None, forecast, (), NOW, spaces=spaces)


def starts(series: SurfaceSeries, sheet: Sheet, hands_h: float = 1.0) -> Verdict:
    ahead = series.times >= np.datetime64(NOW.replace(tzinfo=None), "s")
    return judge(series, sheet, hands_h, hours_ok=ahead)


def walked(air: np.ndarray, begun: float, step_h: float, lags_h: float) -> float:
    """Newton's law in tiny steps of its own."""
    warm, many = begun, 200
    for before, after in itertools.pairwise(air):
        for k in range(many):
            now = before + (after - before) * (k + 0.5) / many
            warm += (now - warm) * step_h / many / lags_h
    return warm


def test_half_an_hour_after_lighting_in_a_cold_cabin_the_tin_is_not_warm() -> None:
    """What is called good has a tin within its limits by a walk in tiny steps."""
    forecast = weather(2.0, step_min=10)
    series = at_work(kept(EVENINGS), forecast)
    lit = at(forecast, 2.0)
    assert series.air_c[0, lit + 3] > 10.0, "the air is warm half an hour after lighting"
    verdict = starts(series, enamel())
    tin = with_tin(series, enamel(), 1.0).tin_c
    assert tin is not None
    assert 2.0 < tin[0, lit + 3] < 6.0
    assert not verdict.ok[0, lit : lit + 6].any(), "no start in the first hour"
    good = np.flatnonzero(verdict.ok[0])
    assert good.size, "the evening has starts all the same"
    assert series.tins is not None
    lags_h = series.tins.lags_h(tin_asked(enamel(), 1.0))
    for start in (int(good[0]), int(good[-1])):
        assert walked(series.air_c[0, : start + 1], float(series.air_c[0, 0]), 1 / 6, lags_h) > 9.99
    first, *_ = find_windows(verdict)
    assert first.opens_because.about["limit"] == TIN.name


def test_a_tin_in_a_cabin_kept_warm_costs_no_start() -> None:
    """The control: whatever the air allows the tin does not refuse."""
    series = at_work(kept({"setpoint": "18 °C"}), weather(2.0))
    bare = enamel(applying={"air": {"min": "10 °C"}})
    assert starts(series, bare).ok.any()
    assert (starts(series, enamel()).ok == starts(series, bare).ok).all()


def test_a_tin_from_a_warm_home_is_not_refused_in_a_cool_cabin() -> None:
    """For weeks at 7 °C: carried it is warm for an hour and more; left aboard it is not."""
    forecast = weather(7.0)
    aboard, carried = at_work(kept(), forecast), at_work(kept(tins_kept="home"), forecast)
    verdict = starts(aboard, enamel())
    assert not verdict.ok.any()
    assert starts(carried, enamel()).ok.any()
    (window, *_) = find_windows(starts(carried, enamel()))
    (act,) = [note for note in window.notes if note.kind == "carry tin warm"]
    assert act.flag("known")
    assert 1.0 <= act.number("hours") < 4.0
    now = at(forecast, 0.0)
    (track,) = [t for t in verdict.tracks if t.kind is TIN and t.bound == "min"]
    assert track.value[0, now] == pytest.approx(aboard.air_c[0, now], abs=1.0)


def test_a_carried_tin_cools_while_it_is_worked_with() -> None:
    """Six hours out of one tin at 6 °C are too many, and at 0 °C one is."""
    assert starts(at_work(kept(tins_kept="home"), weather(6.5)), enamel(), 0.5).ok.any()
    assert not starts(at_work(kept(tins_kept="home"), weather(6.5)), enamel(), 6.0).ok.any()
    cold = enamel(applying={"product": {"min": "15 °C"}})
    assert not starts(at_work(kept(tins_kept="home"), weather(0.0)), cold, 1.0).ok.any()


@pytest.mark.parametrize("place", ["deck", "forepeak", "home"])
def test_a_cold_tin_brought_in_when_told_is_warm_by_the_start(place: str) -> None:
    forecast = weather(2.0, step_min=10)
    series = at_work(kept(EVENINGS, tins_kept=place), forecast)
    wants = enamel(applying={"product": {"min": "14 °C", "max": "30 °C"}})
    windows = find_windows(starts(series, wants, 2.0))
    assert windows
    window = windows[0]
    told = [note for note in window.notes if note.kind in ("bring tin in", "carry tin warm")]
    if place == "home" and told[0].kind == "carry tin warm":
        return
    (act,) = told
    by = act.time("at")
    assert NOW <= by <= window.best_start
    first, start = (
        int(np.searchsorted(series.times, np.datetime64(m.replace(tzinfo=None), "s")))
        for m in (by, window.best_start)
    )
    assert series.tins is not None
    lags_h = series.tins.lags_h(tin_asked(wants, 2.0))
    course = series.air_c[0, first : start + 1]
    assert walked(course, 2.0, 1 / 6, lags_h) >= 14.0 - 0.1
    # and brought in an hour later it would not be: the time told is no empty order
    if first + 6 < start:
        assert walked(series.air_c[0, first + 6 : start + 1], 2.0, 1 / 6, lags_h) < 14.0


def test_fetched_when_it_is_warm_enough_anywhere_nothing_is_ordered() -> None:
    series = at_work(kept({"setpoint": "18 °C"}, tins_kept="deck"), weather(16.0))
    for window in find_windows(starts(series, enamel())):
        assert not {"bring tin in", "carry tin warm"} & {note.kind for note in window.notes}


def test_a_product_whose_sheet_says_nothing_of_the_tin_is_not_refused() -> None:
    bare = enamel(
        applying={"air": {"min": "-5 °C"}}, cure={"temps": ["0 °C"], "touch_dry": ["2 h"]}
    )
    assert starts(at_work(kept(), weather(0.0)), bare).ok.any()


def test_of_two_ways_the_cooler_where_the_warmer_is_too_warm() -> None:
    cool = enamel(applying={"product": {"max": "16 °C"}})
    assert starts(at_work(kept(tins_kept="home"), weather(12.0)), cool).ok.any()


def test_a_tin_that_comes_aboard_later_is_at_home_till_then() -> None:
    comes = (NOW + np.timedelta64(24, "h").astype(object)).replace(tzinfo=None)
    tin = {"sheet": STEM, "kept": "saloon", "size": "1 L", "aboard": comes}
    forecast = weather(7.0)
    series = at_work(kept(tin=[tin]), forecast)
    verdict = starts(series, enamel())
    assert verdict.ok[0, at(forecast, 2.0)], "carried on the first day"
    assert not verdict.ok[0, at(forecast, 36.0)], "cold by the second"


def test_a_bigger_tin_is_slower() -> None:
    forecast = weather(2.0, step_min=10)
    lit = at(forecast, 3.0)
    warm = []
    for size in ("0.25 L", "1 L", "5 L"):
        series = at_work(kept(EVENINGS, tin=[{"sheet": STEM, "size": size}]), forecast)
        tin = with_tin(series, enamel(), 1.0).tin_c
        assert tin is not None
        warm.append(float(tin[0, lit]))
    assert warm == sorted(warm, reverse=True)
    assert warm[0] > warm[-1] + 2.0


def test_unknown_air_is_an_unknown_tin() -> None:
    series = at_work(kept(), weather(7.0))
    hole = series.air_c.copy()
    hole[:, 200:220] = math.nan
    assert series.tins is not None
    followed = type(series.tins)(
        **{
            name: hole if name == "air_c" else getattr(series.tins, name)
            for name in series.tins.__dataclass_fields__
            if not name.startswith("_")
        }
    )
    tin = followed.course(tin_asked(enamel(), 1.0))
    assert np.isnan(tin[:, 200:220]).all()
    assert np.isfinite(tin[:, 220:]).all()


def test_pot_life_goes_by_the_tin_and_not_by_the_air() -> None:
    """A mix out of a 19 °C tin goes off sooner than the cool cabin's air would let it."""
    mix = enamel(
        working={"temps": ["5 °C", "20 °C"], "pot_life": ["8 h", "2 h"], "pot_life_mass": "0.5 kg"}
    )
    forecast = weather(7.0)
    hours = {}
    for place in (None, "home"):
        keys = {} if place is None else {"tins_kept": place}
        verdict = starts(at_work(kept(**keys), forecast), mix, 1.0)
        (said,) = [f for f in working_findings(verdict, at(forecast, 1.0)) if f.kind == "workable"]
        hours[place] = said.number("hours")
    assert hours["home"] < 0.7 * hours[None]


def test_carrying_it_warm_is_advised_only_where_that_helps() -> None:
    forecast = weather(7.0)
    verdict = starts(at_work(kept(), forecast), enamel())
    now = at(forecast, 1.0)
    (why, *_) = find_obstacles(verdict, at_index(verdict.series, now))
    helps = carry_instead(verdict, why.why, now)
    assert helps is not None
    assert not helps.flag("known")
    hot = starts(at_work(kept(), weather(0.0)), enamel(applying={"product": {"min": "16 °C"}}), 3.0)
    (why, *_) = find_obstacles(hot, at_index(hot.series, now))
    assert carry_instead(hot, why.why, now) is None
