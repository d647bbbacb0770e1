"""Which setpoints are worth planning with: the coolest that does, and the warmest there is."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from curewindow.order.modes import WORKS_SHARE, _worth_it

ABOARD = 100


@pytest.mark.parametrize(
    ("opened", "kept"),
    [
        ([], []),
        ([90], [0]),
        ([5, 90, 95], [1, 2]),  # the first that opens enough, and the warmest
        ([90, 95, 99], [0, 2]),
        ([5, 6, 90], [2]),
        ([5, 9, 7], [1, 2]),  # none opens enough: the most
        ([1, 2, 3], [2]),
    ],
)
def test_the_coolest_setpoint_that_opens_enough_and_the_warmest(
    opened: list[int], kept: list[int]
) -> None:
    assert 0.1 < WORKS_SHARE < 0.9
    tried = [SimpleNamespace(mode=SimpleNamespace(starts=np.arange(count))) for count in opened]
    slots = SimpleNamespace(aboard=np.ones(ABOARD, np.bool_))
    found = _worth_it(tried, slots)  # type: ignore[arg-type]
    assert found == [tried[k] for k in kept]
