"""How long a film gives off solvent vapour, and how much air can be had against it."""

from __future__ import annotations

import math
from typing import Final

LEFT_AT_TOUCH_DRY: Final = 0.2
"""Share of the solvent still in the film when it is touch dry, on the safe side.

Of an alkyd paint more than 90 % of the volatiles left within the first ten hours (EPA/600/A-98/024,
the ten hours from memory); with touch dry after six hours an exponential that has a fifth
left then has 7 % left after ten.
"""
GONE: Final = 0.01
"""A film with less of its solvent left gives off no vapour to speak of: estimate, no source."""
TOUCH_DRY_TIMES: Final = math.log(GONE) / math.log(LEFT_AT_TOUCH_DRY)
"""So many times as long as to touch dry until it is gone, as the film fares."""

MOST_AIR_M3_H: Final = 1500.0
"""More than a portable blower on a hatch moves. Common practice, no source."""
MOST_CHANGES_H: Final = 1000.0
"""Nobody gets the air of a space out more often in an hour. Common practice, no source."""

CONFINED_M3: Final = 3.0
"""A space no larger is a confined one: common practice, no source.

Rules go by size, access and what gathers there, and name no figure (US 29 CFR 1915.4: "small
size and limited access").
"""


def within_reach(flow_m3_h: float, volume_m3: float | None) -> bool:
    """Can so much outside air be had through a space at all?"""
    if flow_m3_h > MOST_AIR_M3_H:
        return False
    return not volume_m3 or flow_m3_h / volume_m3 <= MOST_CHANGES_H
