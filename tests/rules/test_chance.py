"""A share of members that is told is one of whole members: rounding neither adds nor takes one."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest

from curewindow.rules.chance import SHARE_AHEAD, SHARE_OF_MEMBERS, enough


@pytest.mark.parametrize("needed", [SHARE_OF_MEMBERS, SHARE_AHEAD, 0.65])
def test_enough_is_judged_as_with_whole_numbers(needed: float) -> None:
    exact = Fraction(str(needed))
    for members in range(1, 101):
        good = np.arange(members + 1)
        expected = [Fraction(int(each), members) >= exact for each in good]
        assert enough(good / members, needed).tolist() == expected
        # the same share, as what is left of those it is not good in
        assert enough(1.0 - (members - good) / members, needed).tolist() == expected
