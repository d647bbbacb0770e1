"""Ways to be done sooner, and what must be decided now."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "variation",
        "fact",
        "one thing done otherwise: kind_of 'day' or 'evening' ('names': the day of the week "
        "someone is aboard too), 'delivery' ('thing' there by the day of 'until'), 'heater at "
        "once' ('count' spaces warm at a time), 'heater' (an electric one of 'power_w' in "
        "'space'), 'home' ('job' in the warm) or 'product' ('job' with 'product' instead of "
        "'products')",
        needs=("kind_of",),
        may=("names", "thing", "until", "count", "space", "power_w", "job", "product", "products"),
    ),
    Kind(
        "order now",
        "act",
        "the end hangs on something that has to arrive: state 'late': waited for, in the 'share' "
        "of the seasons; 'overdue': its day is over, and it is taken to come tomorrow",
        needs=("thing", "job", "state"),
        may=("share",),
    ),
    Kind(
        "bring heater",
        "act",
        "a job finds no start, or the end waits for one in the 'share' of the seasons, in a space "
        "without a heater; because: the usual dangers of one",
        needs=("space", "job"),
        may=("share",),
        because=True,
    ),
)
