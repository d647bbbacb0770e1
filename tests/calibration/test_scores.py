"""Brier score and its parts, against the formula worked by hand and a published table."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curewindow.calibration.scores import brier, reliability_groups
from tests.cases import cases

# Wilks, Statistical Methods in the Atmospheric Sciences, the table of 12 402 forecasts of the
# probability of precipitation (table 7.2 of the second edition), FROM MEMORY: chance told,
# relative frequency of being told, share that came true. That the frequencies add up to one
# and the base rate to his 0.162 speaks for the memory.
WILKS = (
    (0.00, 0.4112, 0.006),
    (0.05, 0.0671, 0.019),
    (0.10, 0.1833, 0.059),
    (0.20, 0.0986, 0.150),
    (0.30, 0.0616, 0.277),
    (0.40, 0.0366, 0.377),
    (0.50, 0.0303, 0.511),
    (0.60, 0.0275, 0.587),
    (0.70, 0.0245, 0.723),
    (0.80, 0.0220, 0.799),
    (0.90, 0.0170, 0.934),
    (1.00, 0.0203, 0.933),
)


def spread_out(rows: tuple[tuple[float, float, float], ...], size: int):
    told, came = [], []
    for chance, share, held in rows:
        count = round(share * size)
        yes = round(held * count)
        told += [chance] * count
        came += [True] * yes + [False] * (count - yes)
    return np.array(told), np.array(came)


def test_a_published_table_of_forecasts() -> None:
    """Murphy's terms from the table itself, in exact fractions; the score case by case."""
    rows = [(Fraction(p).limit_denominator(), Fraction(n), Fraction(o)) for p, n, o in WILKS]
    assert float(sum(n for _, n, _ in rows)) == pytest.approx(1.0, abs=1e-9)
    usual = sum(n * o for _, n, o in rows)
    assert float(usual) == pytest.approx(0.162, abs=0.0005)
    told, came = spread_out(WILKS, 1_000_000)
    found = brier(told, came, groups=None)
    assert found.reliability == pytest.approx(
        float(sum(n * (p - o) ** 2 for p, n, o in rows)), abs=2e-6
    )
    assert found.resolution == pytest.approx(
        float(sum(n * (o - usual) ** 2 for _, n, o in rows)), abs=2e-6
    )
    assert found.uncertainty == pytest.approx(float(usual * (1 - usual)), abs=2e-6)
    by_case = sum(n * (o * (1 - p) ** 2 + (1 - o) * p**2) for p, n, o in rows)
    assert found.score == pytest.approx(float(by_case), abs=2e-6)
    assert found.within == pytest.approx(0.0, abs=1e-12)


def test_worked_by_hand() -> None:
    """Ten cases. Told 0.8 five times, four held; told 0.4 five times, one held.

    score = (4 · 0.04 + 0.64 + 0.36 + 4 · 0.16) / 10 = 0.18
    reliability = (5 · 0 + 5 · 0.04) / 10 = 0.02; usual share 0.5
    resolution = (5 · 0.09 + 5 · 0.09) / 10 = 0.09; uncertainty 0.25; 0.02 - 0.09 + 0.25 = 0.18
    """
    told = np.array([0.8] * 5 + [0.4] * 5)
    came = np.array([1, 1, 1, 1, 0, 1, 0, 0, 0, 0], dtype=bool)
    found = brier(told, came)
    assert found.score == pytest.approx(0.18)
    assert found.reliability == pytest.approx(0.02)
    assert found.resolution == pytest.approx(0.09)
    assert found.uncertainty == pytest.approx(0.25)
    assert found.skill == pytest.approx(1 - 0.18 / 0.25)


@cases(60)
@given(st.lists(st.tuples(st.floats(0.0, 1.0), st.booleans()), min_size=1, max_size=60))
def test_parts_add_up_and_within_is_that_of_stephenson(
    pairs: list[tuple[float, bool]],
) -> None:
    """The two terms within groups, worked out as Stephenson, Coelho and Jolliffe (2008) do:
    variance of the chances within a group, less twice their covariance with the outcomes."""
    told = np.array([p for p, _ in pairs])
    came = np.array([o for _, o in pairs])
    found = brier(told, came)
    group = np.minimum(np.floor(told * 10 + 1e-9), 9)
    within = 0.0
    for number in np.unique(group):
        p, o = told[group == number], came[group == number].astype(float)
        within += float(np.sum((p - p.mean()) ** 2) - 2 * np.sum((p - p.mean()) * (o - o.mean())))
    assert found.within == pytest.approx(within / told.size, abs=1e-9)
    assert 0.0 <= found.score <= 1.0
    assert found.reliability >= 0.0
    assert found.resolution >= 0.0


def test_refuses_what_is_no_chance() -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        brier(np.array([1.2]), np.array([True]))
    with pytest.raises(ValueError, match="at least one"):
        brier(np.array([]), np.array([], dtype=bool))


def test_groups_say_what_chance_could_do() -> None:
    """Fair cases stay within the reach of chance in nine groups of ten; days count, not cases."""
    rng = np.random.default_rng(1)
    inside = total = 0
    for _ in range(40):
        told = rng.uniform(0.0, 1.0, 600)
        came = rng.random(600) < told
        for group in reliability_groups(told, came, np.arange(600.0)):
            inside += group.least <= group.held <= group.most
            total += 1
    assert 0.88 <= inside / total <= 0.97
    same_day = reliability_groups(np.full(50, 0.7), np.ones(50, bool), np.zeros(50))
    assert (same_day[0].cases, same_day[0].days, same_day[0].most) == (50, 1, 1.0)
    assert (same_day[0].low, same_day[0].high) == (0.7, 0.8)
