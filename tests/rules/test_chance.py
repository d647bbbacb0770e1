"""How many members are enough: reckoned in whole members, whatever the last digit says."""

from __future__ import annotations

import numpy as np
import pytest

from curewindow.rules.chance import enough


@pytest.mark.parametrize("members", range(1, 101))
def test_just_as_many_as_are_needed_are_enough_and_one_fewer_are_not(members: int) -> None:
    """However both shares come about: as a quotient, a mean, or what is left of one."""
    for good in range(1, members + 1):
        ways = (good / members, 1.0 - (members - good) / members, sum([1.0 / members] * good))
        for needed in ways:
            assert enough(np.array(ways), needed).all()
            assert not enough((good - 1) / members, needed)
