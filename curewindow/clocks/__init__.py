"""Where each recorded coat stands: recoat opens and closes, closed up, cured.

Hours that were measured count by the readings, the others by the model. Hours of
which nothing is known count nothing towards 'from' and everything towards 'until';
where that decides what state the coat is in, the state is 'unknown'.
"""

from curewindow.clocks.clock import NextCoat, clock_for
from curewindow.clocks.next_coat import CoatBounds, latest_coats, next_coat_bounds, sort_clocks

__all__ = [
    "CoatBounds",
    "NextCoat",
    "clock_for",
    "latest_coats",
    "next_coat_bounds",
    "sort_clocks",
]
