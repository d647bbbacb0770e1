"""Fitted cabins against made-up truths: the small version of tests/benchmarks/bench_fitting.py."""

from __future__ import annotations

import numpy as np
import pytest
from trial import errors_ahead, make

import curewindow.fitting.cabin as cabin_module
from curewindow.conditions import space_conditions
from curewindow.errors import NotFoundError
from curewindow.fitting import learn
from curewindow.fitting.cabin import cabin_for
from curewindow.fitting.data import AIR, DEW, blurred, data_of, predicted

CABINS = range(3)


@pytest.mark.slow
def test_three_days_ahead_are_predicted_within_a_kelvin_and_twice_as_well(fitted) -> None:
    """A week of six readings a day, 0.3 K and 3 % noise; predicted from the last reading."""
    squares = []
    for seed in CABINS:
        trial, lesson = fitted(seed)
        asked = (trial.boat, trial.space, trial.forecast, trial.readings, trial.now)
        before = errors_ahead(trial, space_conditions(*asked))
        after = errors_ahead(trial, space_conditions(*asked, learned={"saloon": lesson.learned}))
        squares.append([e**2 for e in (before.air_k, after.air_k)])
        squares[-1] += [e**2 for e in (before.above_dew_k, after.above_dew_k)]
    air_before, air_after, dew_before, dew_after = np.sqrt(np.mean(squares, axis=0))
    assert air_after < 1.0
    assert dew_after < 1.0
    assert air_before > 2.0 * air_after
    assert dew_before > 2.0 * dew_after


@pytest.mark.slow
def test_true_values_lie_within_what_is_stated(fitted) -> None:
    """Two stated spreads hold nine of ten true values of a normal law and more; the truths
    are drawn from wider than the guesses, so a little less is asked for."""
    away = []
    for seed in CABINS:
        trial, lesson = fitted(seed)
        away += [
            np.log(trial.true_values[found.key] / found.value) / np.log(found.factor)
            for found in lesson.found
        ]
    assert np.mean(np.abs(away) < 2.0) > 0.8


@pytest.mark.slow
def test_held_out_readings_are_predicted_better_than_from_the_description(fitted) -> None:
    lessons = [fitted(seed)[1] for seed in CABINS]
    assert all(lesson.held_out is not None for lesson in lessons)
    fitted_k = [lesson.held_out.air_k for lesson in lessons]
    described_k = [lesson.held_out_described.air_k for lesson in lessons]
    assert np.mean(fitted_k) < np.mean(described_k)
    # Nothing can be nearer to noisy readings than their noise.
    assert min(fitted_k) > 0.1


@pytest.mark.slow
def test_no_reading_is_doubted_where_none_is_wrong(fitted) -> None:
    doubted = [suspect for seed in CABINS for suspect in fitted(seed)[1].suspects]
    assert len(doubted) <= 1
    assert all(fitted(seed)[1].clock_off_h == 0.0 for seed in CABINS)


@pytest.mark.slow
def test_the_grid_of_the_fit_is_fine_enough() -> None:
    """Against ten minutes: well within what a reading is trusted to."""
    for seed in CABINS:
        trial = make(seed)
        found = {}
        for step_h in (cabin_module.STEP_H, 1.0 / 6.0):
            with pytest.MonkeyPatch.context() as patch:
                patch.setattr(cabin_module, "STEP_H", step_h)
                cabin = cabin_for(
                    trial.boat,
                    trial.space,
                    trial.forecast,
                    trial.readings,
                    trial.now,
                    trial.readings[0].at,
                    {},
                )
            courses = cabin.courses(np.zeros((1, len(cabin.unknowns))))
            data = blurred(data_of(cabin, trial.readings[:-1]), courses)
            found[step_h] = data, predicted(courses, data)[0]
        data, coarse = found[cabin_module.STEP_H]
        fine = found[1.0 / 6.0][1]
        off = (coarse - fine) / data.sigma
        for kind in (AIR, DEW):
            assert np.sqrt(np.mean(off[data.kind == kind] ** 2)) < 0.35


def test_few_readings_are_refused_with_what_would_do() -> None:
    trial = make(0)
    with pytest.raises(NotFoundError, match=r"4 readings of the air.*6 at least"):
        learn(trial.boat, trial.space, trial.forecast, trial.readings[-4:], trial.now)


def test_readings_before_the_weather_is_known_are_refused() -> None:
    trial = make(0)
    late = cabin_module._coarse(trial.forecast, trial.now, trial.now)
    with pytest.raises(NotFoundError, match="weather is known"):
        learn(trial.boat, trial.space, late, trial.readings[:-1], trial.now)
