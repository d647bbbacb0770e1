"""The quick laying against the constraint model, in the weather of past winters.

Measured by ``benchmarks/bench_season.py --exact``; here on a short list, cheap enough to
be run each time. The constraint model is a judge of its own: nothing of the laying is
sooner than its proven best, so that no rule can have been left out.
"""

from __future__ import annotations

import importlib.util
import math
from pathlib import Path

import pytest

from curewindow.daysheet.seasonfacts import SeasonFacts, season_facts
from curewindow.order.solve import solve
from curewindow.season.prepared import prepare
from curewindow.season.run import problems_of, run_season
from curewindow.season.schedule import schedule

pytestmark = pytest.mark.slow

_spec = importlib.util.spec_from_file_location(
    "order_boats", Path(__file__).parents[1] / "order" / "boats.py"
)
assert _spec is not None
assert _spec.loader is not None
boats = importlib.util.module_from_spec(_spec)
_spec.loader.exec_module(boats)
YEARS = 2
WITHIN_D = 2.0
"""Days the laying may be later than the proven best."""


@pytest.fixture(scope="module")
def known(tmp_path_factory: pytest.TempPathFactory) -> SeasonFacts:
    folder = boats.write_boat(tmp_path_factory.mktemp("season") / "boat", 6)
    return season_facts(folder, boats.NOW, years=YEARS, days=60)


def test_as_good_as_the_constraint_model_within_days(known: SeasonFacts) -> None:
    assert len(known.years) == YEARS
    late = []
    for problem in problems_of(known.given, YEARS):
        assert not problem.left_out
        slot = max(schedule(prepare(problem)).values())
        assert math.isfinite(slot)
        found = solve(problem, seconds=10.0, aims=("date",))
        assert found.order is not None
        day = problem.slots.day_of(int(slot))
        assert day >= found.steps[0].bound  # never sooner than can be
        late.append((slot - found.order.finish) * problem.slots.hours / 24.0)
    assert max(late) <= WITHIN_D


def test_a_season_of_two_winters(known: SeasonFacts) -> None:
    """The same seed gives the same season; one hindrance less is never later."""
    season = run_season(known.given, YEARS, known.pace, samples=2)
    again = run_season(known.given, YEARS, known.pace, samples=2)
    assert season.finish_d.shape == (YEARS, 2)
    assert (season.finish_d == again.finish_d).all()
    for without in (season.good_weather_d, season.at_hand_d, season.many_hands_d):
        assert (without.max(axis=0) <= season.finish_d).all()
