"""Beyond the forecast a start counts only where it holds with the air its coat asks for.

Of the starts that hold in the shut space a share holds aired too, each run whole from its first
stroke on, as the judgement has them near. The tables call as many good: on a boat, of all coats
of a kind, at most MORE of the starts do not hold run whole, and at most FEWER are missed that do;
of one coat, whose starts are few, the two shares differ by MORE_OF_ONE and FEWER_OF_ONE at most.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import numpy as np
import pytest

from curewindow.daysheet.ordering import facts_and_given, given_of
from curewindow.demo import files as demofiles
from curewindow.judgement.keptwarm import warm_for_long
from curewindow.order.modes import Modes
from curewindow.order.slots import lay_slots
from curewindow.season.modes import SeasonModes
from tests.fewer_jobs import only_jobs
from tests.laws.far_starts import Compared, compared, winter_boat

NOW = datetime(2026, 11, 25, 7, 30, tzinfo=UTC)
MORE, FEWER = 0.015, 0.10
MORE_OF_ONE, FEWER_OF_ONE = 0.08, 0.20
FEW = 30
"""Of a coat with fewer starts in the shut space a share tells nothing."""
BOATS = [(0, 0), (1, 3), (2, 0)]
"""Boats and winters of the benchmark; all six were held when this was written."""


def agree(found: list[Compared]) -> None:
    for solvent in (True, False):
        for heated in (False, True):
            some = [
                each
                for each in found
                if each.solvent == solvent and (each.level_c is not None) == heated
            ]
            shut, more, fewer = _counted(some)
            if shut >= 5 * FEW:
                assert more <= MORE * shut, (solvent, heated, some)
                assert fewer <= FEWER * shut, (solvent, heated, some)
    for each in found:
        if each.shut >= FEW:
            assert each.far - each.near <= MORE_OF_ONE * each.shut, each
            assert each.near - each.far <= FEWER_OF_ONE * each.shut, each


def _counted(some: list[Compared]) -> tuple[int, int, int]:
    return (
        sum(each.shut for each in some),
        sum(each.far - each.both for each in some),
        sum(each.near - each.both for each in some),
    )


def test_as_many_starts_on_the_demo_boat(tmp_path: Path) -> None:
    demofiles.write(tmp_path / "boat", NOW)
    only_jobs(tmp_path / "boat", "forepeak frames", "chart table", "saloon benches")
    found = list(compared(tmp_path / "boat", NOW, 7.0))
    # The air costs some of them: else nothing would be asked here.
    assert sum(each.near for each in found) < 0.97 * sum(each.shut for each in found)
    agree(found)


@pytest.mark.slow
@pytest.mark.parametrize(("boat", "winter"), BOATS)
def test_as_many_starts_in_true_winters(tmp_path: Path, boat: int, winter: int) -> None:
    now = winter_boat(tmp_path, boat, winter, 12)
    agree(list(compared(tmp_path, now, 9.9)))


@pytest.fixture(scope="module", params=["plan", "season"])
def looked_up(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> tuple[Modes, Modes]:
    """Modes without anything near, of coats that ask for air and of the same that ask for none."""
    folder = tmp_path_factory.mktemp("modes") / "boat"
    demofiles.write(folder, NOW)
    only_jobs(folder, "saloon doors", "saloon benches", "chart table")
    facts, given = facts_and_given(folder, NOW, days=7.0)
    kind: type[Modes] = Modes
    if request.param == "season":
        given, kind = given_of(facts, given.until, given.until, warm_for_long), SeasonModes
    given = replace(given, near=None)
    grid = next(iter(given.series.values())).times
    slots = lay_slots(given.now, given.until, grid, given.hours_ok, "Europe/Amsterdam", 30)
    unasked = replace(given, air_asked=type(given).__dataclass_fields__["air_asked"].default)
    return kind(given, slots), kind(unasked, slots)


def test_plan_and_season_have_no_start_that_does_not_hold_aired(
    looked_up: tuple[Modes, Modes],
) -> None:
    aired, shut = looked_up
    lost = 0
    for job in aired.given.work.job:
        number = next(n for n, step in enumerate(job.step, 1) if step.sheet is not None)
        of = {each.mode.level_c: each.mode.starts for each in shut.coat(job, number, False)[0]}
        for each in aired.coat(job, number, False)[0]:
            before = of[each.mode.level_c]
            assert np.isin(each.mode.starts, before).all()
            lost += before.size - each.mode.starts.size
    assert lost > 0


def test_as_large_a_job_is_not_taken_for_a_small_one(looked_up: tuple[Modes, Modes]) -> None:
    """Modes are kept by what they hang on: a larger surface asks for more air."""
    modes, _ = looked_up
    job = next(each for each in modes.given.work.job if each.name == "saloon benches")
    number = next(n for n, step in enumerate(job.step, 1) if step.sheet is not None)
    larger = job.model_copy(update={"area": 3.0 * (job.area or 1.0)})
    one, other = (modes.given.air_asked(each, number) for each in (job, larger))
    assert other.airing_m3_h > 2.0 * one.airing_m3_h
    small, large = (
        {each.mode.level_c: each.mode.starts.size for each in modes.coat(wanted, number, False)[0]}
        for wanted in (job, larger)
    )
    both = small.keys() & large.keys()
    assert sum(large[level] for level in both) < sum(small[level] for level in both)
