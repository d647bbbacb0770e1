"""Starts as things stand, held with what the coat asks of the air: run again step by step."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from cold_boat import (
    NOW,
    SOLVENT,
    VARNISH,
    boat,
    checker,
    heater,
    job,
    made,
    printed,
    sheet,
    weather,
)

from curewindow.heating import starts as looking
from curewindow.heating.aired import evaluate_aired
from curewindow.heating.columns import stretch
from curewindow.heating.evaluate import VENTS, Candidates
from curewindow.heating.search import search
from curewindow.heating.starts import Habits, as_it_stands, courses_of, hold
from curewindow.physics.balance import simulate
from curewindow.rules.uncertainty import MOST_SIGMAS
from curewindow.windows import judge
from curewindow.windows.confidence import sigmas

WARM = {"routine": [{"from": "06:00", "setpoint": "19 °C"}], "days": None}


def stage(days_c: Any = 6.0, dew_c: float = 2.0, power: str = "3 kW", **changes: Any):
    """A cabin heated by its routine, its task, its room and its habits."""
    heating = heater(power=power, **{k: v for k, v in WARM.items() if v is not None})
    of = changes.pop("of", None) or sheet(**SOLVENT)
    _, task, room = made(
        boat(heating), weather(days_c, dew_c, days=4.0, step_min=10), of, **changes
    )
    habits = Habits(np.atleast_2d(room.routine_c), room.model.air_changes_h)
    return task, room, habits


def as_it_runs(task: Any, room: Any, habits: Habits) -> tuple[Any, Any]:
    """The task under conditions that are the run's own, and that run."""
    run = as_it_stands(room, habits)
    panel = task.job.panel
    surface = (
        np.minimum(run.air_c, run.mass_c)
        if panel is None
        else run.surface_c[room.panel_index(panel)]
    )

    def laid(values: np.ndarray, over: np.ndarray) -> np.ndarray:
        found = values.copy()
        found[:, room.first : room.first + over.shape[1]] = over
        return found

    base = task.base
    base = replace(
        base,
        air_c=laid(base.air_c, run.air_c),
        rh_pct=laid(base.rh_pct, run.rh_pct),
        dew_point_c=laid(base.dew_point_c, run.dew_point_c),
        surface_c=laid(base.surface_c, surface),
    )
    return replace(task, base=base), run


def held(task: Any, room: Any, habits: Habits, starts: np.ndarray):
    task, before = as_it_runs(task, room, habits)
    return hold(task, room, habits, before, starts, np.zeros_like(starts))


def walked(task: Any, room: Any, habits: Habits, start: int, dry: int) -> dict[str, list[float]]:
    """From a start on one grid step at a time, each from the state the last one left."""
    state, outside = as_it_stands(room, habits).state_at(start), room.outside
    values: dict[str, list[float]] = {name: [] for name in ("air", "rh", "dew", "surface")}
    panel = None if task.job.panel is None else room.panel_index(task.job.panel)
    for k in range(start, min(dry + 12 * 6, room.points - 1)):
        wet = k < dry
        step = simulate(
            room.model,
            room.step_h,
            replace(
                outside,
                **{
                    name: getattr(outside, name)[:, k : k + 2]
                    for name in ("temp_c", "vapour_pa", "wind_ms", "sun_w_m2", "sky_loss_w_m2")
                },
            ),
            state,
            setpoint_c=habits.setpoint_c[0, k],
            power_limit_w=room.power_w,
            moisture_kg_h=room.moisture_kg_h + (task.water_kg_h if wet else 0.0),
            air_changes_h=room.model.air_changes_h
            + (task.airing_m3_h / room.model.volume_m3 if wet else 0.0),
        )
        state = step.state_at(1)
        surface = np.minimum(step.air_c, step.mass_c) if panel is None else step.surface_c[panel]
        for name, course in (
            ("air", step.air_c),
            ("rh", step.rh_pct),
            ("dew", step.dew_point_c),
            ("surface", surface),
        ):
            if not values[name]:
                values[name].append(float(course[0, 0]))
            values[name].append(float(course[0, 1]))
    return values


@pytest.mark.slow
@pytest.mark.parametrize("panel", ["panelled side", None], ids=["panel", "joinery"])
@pytest.mark.parametrize("power", ["3 kW", "1200 W"])
def test_a_start_held_is_kept_by_the_second_opinion(panel: str | None, power: str) -> None:
    task, room, habits = stage(power=power, job=job(panel=panel, area="0.6 m²"))
    starts = np.arange(4 * 6, 48 * 6, 83)
    found = held(task, room, habits, starts)
    assert found.ok.any()
    for k in np.flatnonzero(found.ok):
        start, dry = int(starts[k]), int(found.dry[k])
        run = walked(task, room, habits, start, dry)
        place = checker().Place(10, NOW.hour * 60, run, False, [(0, 1439)])
        why = checker().why_not(printed(task.sheet), place, 0, 60)
        assert why is None, (start, why)
        slow = checker().reached(printed(task.sheet), place, "touch dry", 60, "slow")
        assert slow is not None
        assert (dry - start) * 10 >= slow  # aired until dry, not less


def test_outside_air_makes_a_start_fail_that_holds_shut() -> None:
    """1 kW lifts 1000 m³/h by 3 K (0.34 Wh/m³K): 8 °C, and 10 °C are asked for."""
    task, room, habits = stage(5.0, 1.0, power="1 kW", job=job(area="1 m²"))
    task = replace(task, airing_m3_h=1000.0)
    starts = np.arange(12 * 6, 30 * 6, 6)
    shut = held(replace(task, airing_m3_h=0.0), room, habits, starts)
    aired = held(task, room, habits, starts)
    assert shut.ok.all()
    assert not aired.ok.any()
    assert (aired.at >= starts).all()


def test_more_air_is_never_drier_weather_but_never_safer_in_the_cold() -> None:
    task, room, habits = stage(4.0, 0.0, power="2 kW", job=job(area="1 m²"))
    starts = np.arange(12 * 6, 60 * 6, 13)
    ok = [
        held(replace(task, airing_m3_h=flow), room, habits, starts).ok
        for flow in (0.0, 100.0, 400.0)
    ]
    assert ok[0].sum() >= ok[1].sum() >= ok[2].sum()


def test_water_of_the_film_makes_it_damper() -> None:
    """200 g an hour into 15 m³ that let 9 m³ an hour out: more than 10 g/m³ in the long run."""
    task, room, habits = stage(8.0, 6.0, of=sheet())
    task, run = as_it_runs(task, room, habits)
    dry, wet = (
        courses_of(replace(task, water_kg_h=rate), room, habits, run, np.array([60]))[0]
        for rate in (0.0, 0.2)
    )
    hour = 12
    assert wet[2][0, hour] > dry[2][0, hour] + 1.0
    assert (wet[1][0, 1:hour] >= dry[1][0, 1:hour]).all()


@pytest.mark.parametrize("damper_k", [0.0, 1.5])
def test_a_coat_that_changes_nothing_leaves_the_conditions_as_they_are(damper_k: float) -> None:
    """However far they have been drawn from the run by what was read."""
    task, room, habits = stage(8.0, 6.0, of=sheet())
    task, run = as_it_runs(task, room, habits)
    base = replace(task.base, dew_point_c=task.base.dew_point_c + damper_k)
    own = courses_of(replace(task, base=base), room, habits, run, np.array([60]))
    _, _, dew, surface = own[0]
    begin, known = room.first + 60, 24 * 6
    for course, was in ((dew, base.dew_point_c), (surface, base.surface_c)):
        there = slice(begin, begin + known)
        assert course[:, :known] == pytest.approx(np.asarray(was[:, there]), abs=1e-6)


def test_as_things_stand_and_nothing_asked_for_is_the_shut_space() -> None:
    """Without airing and water the columns are what the plain judge finds in the plain run.

    A kelvin to spare, for which each hour ahead is less sure: to the last point of the film.
    """
    setting = VARNISH["setting"] | {"air": {"min": "18 °C"}}
    task, room, habits = stage(of=sheet(setting=setting))
    starts = np.arange(12 * 6, 40 * 6, 17)
    found = held(task, room, habits, starts)
    run = as_it_stands(room, habits)
    from curewindow.heating.coat import series_of

    verdict = judge(
        series_of(task, room, run, room.first),
        task.sheet,
        task.hands_on_h,
        hours_ok=np.ones(room.points, np.bool_),
    )
    assert (found.ok == verdict.ok[0, starts]).all()
    good = found.ok
    assert np.abs(found.end - verdict.setting_end[0, starts])[good].max() <= 1
    for start, end, sure in zip(starts[good], found.end[good], found.sure[good], strict=True):
        least = [
            sigmas(track, verdict.series.lead_h)[
                0, start : (verdict.apply_end[start] if track.phase == "applying" else end) + 1
            ].min()
            for track in verdict.tracks
        ]
        assert sure == pytest.approx(min(*least, MOST_SIGMAS), abs=1e-3)


def test_a_start_is_held_the_same_with_others_alone_and_however_far_is_looked_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Whatever part of them is dry by then."""
    task, room, habits = stage(lambda hours: 4.0 + 6.0 * np.sin(hours * np.pi / 12.0))
    starts = np.array([12 * 6, 24 * 6, 60 * 6, room.points - 4])
    together = held(task, room, habits, starts)
    assert together.ok.any()
    assert not together.ok.all()
    alone = [held(task, room, habits, starts[k : k + 1]) for k in range(len(starts))]
    looked = []
    _, far, most = looking._looks(task, room, starts)
    median = int(np.median((together.dry - starts)[together.ok]))
    for looks in ((9, far, most), (median, far, most), (9, 9, most), (median, median, most)):
        monkeypatch.setattr(looking, "_looks", lambda *_, these=looks: these)
        looked.append(held(task, room, habits, starts))
    for rows, again in [*enumerate(alone), *((slice(None), each) for each in looked)]:
        for name in ("ok", "dry", "end", "track", "at"):
            assert np.array_equal(getattr(again, name), np.ravel(getattr(together, name)[rows]))


def test_the_course_of_a_start_is_the_same_however_far_is_looked_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Where it is dry by then, and where it is not."""
    task, room, habits = stage(lambda hours: 4.0 + 6.0 * np.sin(hours * np.pi / 12.0))
    task = replace(task, airing_m3_h=9.0)
    starts = np.array([12 * 6, 24 * 6, 60 * 6])
    before = as_it_stands(room, habits)
    usual = courses_of(task, room, habits, before, starts)
    dry = held(task, room, habits, starts)
    longest = int((dry.dry - starts)[dry.ok].max())
    most = looking._looks(task, room, starts)[-1]
    for near in (9, longest + 2, most):
        monkeypatch.setattr(looking, "_looks", lambda *_, at=near: (at, most, most))
        for one, other in zip(usual, courses_of(task, room, habits, before, starts), strict=True):
            for values, again in zip(one, other, strict=True):
                length = min(values.shape[1], again.shape[1])
                np.testing.assert_allclose(
                    again[:, :length], values[:, :length], rtol=0.0, atol=1e-9
                )
                assert np.isnan(values[:, length:]).all()
                assert np.isnan(again[:, length:]).all()


@pytest.mark.parametrize("held", [True, False])
def test_what_all_members_share_is_stretched_as_if_each_had_its_own(held: bool) -> None:
    """From each column's own point on; behind the end the last one known, or nothing."""
    one, begin, rows = np.arange(6.0)[None], np.array([0, 3, 5]), np.array([2, 0, 1])
    found = stretch(one, begin, rows, 4, held=held)
    behind = 5.0 if held else np.nan
    expected = [[0, 1, 2, 3], [3, 4, 5, behind], [5, behind, behind, behind]]
    np.testing.assert_array_equal(found, expected)
    own = stretch(np.repeat(one, 3, axis=0), begin, rows, 4, held=held)
    np.testing.assert_array_equal(found, own)


@pytest.mark.parametrize(
    ("gives_off", "tied"), [({}, False), ({"airing_m3_h": 9.0}, True), ({"water_kg_h": 0.1}, True)]
)
def test_only_a_coat_that_changes_the_air_is_tied_to_its_start(
    gives_off: dict[str, float], tied: bool
) -> None:
    task, _, _ = stage(of=sheet())
    assert replace(task, **gives_off).tied is tied


def test_a_run_of_heat_is_judged_the_same_alone_and_among_others() -> None:
    _, task, room = made(boat(heater()), weather(days=3.0), sheet(**SOLVENT), job=job(area="1 m²"))
    choice = search(task, room)
    assert choice is not None
    ways = Candidates(
        setpoint_c=choice.setpoint_c + np.array([0.0, 0.0, 1.0]),
        light=choice.light + np.array([0, 1, 0]),
        start=choice.start + np.array([0, 1, 0]),
        vents=np.full(3, VENTS.index(choice.ventilation)),
    )
    together = evaluate_aired(task, room, ways, room.power_w)
    assert np.isfinite(together.energy_kwh).any()
    for k in range(3):
        alone = evaluate_aired(task, room, ways.picked(np.array([k])), room.power_w)
        for name in ("start", "end", "dry", "energy_kwh"):
            assert getattr(alone, name)[0] == pytest.approx(getattr(together, name)[k])


def test_courses_of_several_starts_are_those_of_each_alone() -> None:
    """Side by side in one run, where the longest stay open longer than the others."""
    task, room, habits = stage(8.0, 6.0, of=sheet())
    task, run = as_it_runs(task, room, habits)
    task = replace(task, water_kg_h=0.2, airing_m3_h=50.0)
    starts = np.array([30, 60, 95])
    together = courses_of(task, room, habits, run, starts)
    for start, course in zip(starts, together, strict=True):
        alone = courses_of(task, room, habits, run, np.array([start]))[0]
        for values, own in zip(course, alone, strict=True):
            length = own.shape[1]
            assert np.allclose(values[:, :length], own, rtol=0.0, atol=1e-9, equal_nan=True)
            assert np.isnan(values[:, length:]).all()
