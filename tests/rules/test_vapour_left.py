"""How much of its solvent a film has left, against what was measured."""

from __future__ import annotations

import pytest

from curewindow.rules.vapour import (
    GONE,
    LEFT_AT_TOUCH_DRY,
    MOST_AIR_M3_H,
    TOUCH_DRY_TIMES,
    within_reach,
)


def test_an_alkyd_paint_has_given_off_nine_tenths_within_ten_hours() -> None:
    """Fortmann, Roache, Guo and Chang 1997, EPA/600/A-98/024, 'Characterization of VOC emissions

    from an alkyd paint': over 90 % of all volatiles within the first ten hours (the ten hours
    from memory). Touch dry of an alkyd at room temperature: 4 to 6 h (common practice, no source).
    On the safe side, so not much sooner than was measured.
    """
    for touch_dry_h in (4.0, 6.0):
        left = LEFT_AT_TOUCH_DRY ** (10.0 / touch_dry_h)
        assert 0.01 < left < 0.10
    assert pytest.approx(GONE) == LEFT_AT_TOUCH_DRY**TOUCH_DRY_TIMES


@pytest.mark.parametrize(
    ("flow", "volume", "reach"),
    [
        (400.0, 26.0, True),  # a coat of varnish in a saloon
        (400.0, 1.0, True),  # and in a locker, with a fan and a hose
        (1400.0, 1.0, False),  # thousands of air changes
        (2000.0, 60.0, False),  # more than a blower on a hatch moves
        (MOST_AIR_M3_H, None, True),
    ],
)
def test_air_that_can_be_had(flow: float, volume: float | None, reach: bool) -> None:
    """Common practice, no source."""
    assert within_reach(flow, volume) is reach
