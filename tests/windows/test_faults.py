"""What is wrong with a start: each fault once, in the middle member, at the point it shows."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from typing import Any

import numpy as np
import pytest

from curewindow.windows import judge
from curewindow.windows.faults import Fault, faults_at
from curewindow.windows.given_off import GivenOff
from curewindow.windows.judge import Verdict
from curewindow.windows.reasons import broken, given_off, kept, why_opens

HOUR = 6  # grid points


def judged(series: Any, sheet: Any) -> Verdict:
    return judge(series, sheet, 1.0, hours_ok=np.ones(len(series.times), np.bool_))


def test_a_limit_broken_at_other_times_by_other_members_is_told_by_the_middle_one(
    cabin, sheet
) -> None:
    surface = np.full((5, 24 * HOUR + 1), 10.0)
    for member, hour in enumerate((5, 1, 4, 2, 3)):
        surface[member, hour * HOUR :] = 0.0
    verdict = judged(cabin(hours=24.0, members=5, surface_c=surface), sheet())
    setting = [
        each
        for each in faults_at(verdict, 0)
        if each.kind == "limit" and verdict.tracks[each.track].phase == "setting"
    ]
    assert [each.at for each in setting] == [3 * HOUR]


def test_where_the_film_is_unknown_that_says_it_all(cabin, sheet) -> None:
    """Its temperature is what limits are held against, too: they are not told beside it."""
    surface = np.full(24 * HOUR + 1, 10.0)
    surface[4 * HOUR : 6 * HOUR] = np.nan
    found = faults_at(judged(cabin(hours=24.0, surface_c=surface), sheet()), 0)
    assert [(each.kind, each.track, each.at) for each in found] == [("unknown", -1, 4 * HOUR)]


def test_what_sets_beyond_the_forecast_is_wrong_at_its_last_point(cabin, sheet) -> None:
    found = faults_at(judged(cabin(hours=4.0), sheet()), 0)
    assert [(each.kind, each.at) for each in found] == [("beyond", 4 * HOUR)]


def with_its_own_damp(verdict: Verdict, start: int, track: list[int]) -> Verdict:
    """All members fail by what the coat gives off: by a limit (-1: not known when it dries)."""
    column = np.full((verdict.members, 1), 0)
    return replace(
        verdict,
        given_off=GivenOff(
            starts=np.array([start]),
            ok=column > 0,
            dry=column + verdict.points,
            end=column + verdict.points,
            sure=column - 1.0,
            track=np.array(track)[:, None],
            at=start + 1 + np.arange(verdict.members)[:, None],
            value=4.0 + np.arange(verdict.members)[:, None],
            aired=False,
            courses=lambda starts: [verdict.series for _ in starts],
        ),
    )


def test_what_a_coat_gives_off_is_told_by_the_limit_it_breaks_and_when(cabin, sheet, start) -> None:
    plain = judged(cabin(hours=48.0, members=3), sheet())
    verdict = with_its_own_damp(plain, 9, [0, 0, 0])
    (fault,) = faults_at(verdict, 9)
    assert (fault.kind, fault.at) == ("given off", 11)
    told = given_off(verdict, 9, at=fault.at)
    assert told is not None
    assert told.kind == "own damp"
    assert told.because == (broken(verdict.tracks[0], verdict.series, 5.0),)
    assert told.moment("at") == start + timedelta(minutes=110)
    untimed = given_off(verdict, 9)
    assert untimed is not None
    assert untimed.moment("at") is None
    late = given_off(verdict, 9, at=verdict.points)
    assert late is not None
    assert late.moment("at") == start + timedelta(hours=48)
    assert given_off(verdict, 8) is None


@pytest.mark.parametrize("known", [True, False])
def test_a_start_opens_once_the_limit_holds_again(cabin, sheet, known: bool) -> None:
    plain = judged(cabin(hours=48.0), sheet())
    verdict = with_its_own_damp(plain, 8, [0 if known else -1])
    told = why_opens(verdict, Fault("given off", -1, np.ones(1, np.bool_), 8), 9)
    if known:
        assert told.because == (kept(verdict.tracks[0], verdict.series),)
    else:
        assert told == verdict.earliest_because
