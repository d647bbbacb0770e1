"""What follows a coat over members that go apart: each start by its own members, in their order."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.windows import after
from curewindow.windows.after import MEMBERS_SHARE

HOURS = np.arange(16.0)


def column(values: np.ndarray) -> np.ndarray:
    """Sixteen members of one start, in no order."""
    return np.random.default_rng(3).permutation(values)


@pytest.mark.parametrize("beyond", [0, 1, 3])
def test_each_start_is_read_off_its_own_members(beyond: int) -> None:
    """Of 0 to 15 h nine of ten are there by 14 h; no more than one of ten before 1 h."""
    assert MEMBERS_SHARE == 0.9
    later = np.where(15 - beyond < HOURS, np.nan, HOURS)
    reached = np.stack([column(HOURS), column(100.0 + HOURS), column(200.0 + later)], axis=1)
    slow, quick = after._slow(reached), after._quick(reached)
    assert slow[:2] == [14, 114]
    assert slow[2] == (214 if beyond < 2 else None)  # too few ever come there
    assert quick == [1, 101, 201]


def test_within_a_step_not_before_is_the_next_point_and_not_after_the_last() -> None:
    reached = np.array([[4.2, 7.0]])
    assert after._slow(reached) == [5, 7]
    assert after._quick(reached) == [4, 7]
