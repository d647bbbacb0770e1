"""How much is searched, counted: the same on an idle machine and on a busy one."""

from __future__ import annotations

import time
from dataclasses import dataclass, field
from typing import Final

PER_SECOND: Final = 0.7
"""The solver's deterministic seconds that two idle cores get through in one of the clock's."""
RULE_S, START_S = 1.5e-5, 1e-6
"""Such a rule of a constraint model is made and read in, and such a start looked at."""
FAR: Final = 4.0
"""So many times the seconds asked for, and the wall clock cuts the search short after all."""


@dataclass(slots=True)
class Work:
    """What a search may do, and what it has done, in seconds of two idle cores.

    Attributes
    ----------
    most : float
        What there is to be done.
    done : float
    cut_short : bool
        The wall clock ended it before that was done.
    """

    most: float
    done: float = 0.0
    cut_short: bool = False
    _far: float = field(init=False)

    def __post_init__(self) -> None:
        self._far = time.monotonic() + FAR * self.most

    @property
    def left(self) -> float:
        """What there still is to be done."""
        return max(0.0, self.most - self.done)

    @property
    def wall_s(self) -> float:
        """Seconds of the wall clock until it is cut short."""
        return max(0.0, self._far - time.monotonic())

    def spend(self, deterministic: float = 0.0, *, rules: int = 0, starts: int = 0) -> None:
        """Count what was done: by the solver, in a model's making, beside it."""
        self.done += deterministic / PER_SECOND + RULE_S * rules + START_S * starts

    def over(self, until: float) -> bool:
        """Is all done up to a mark, or the machine too slow for it?"""
        if self.left <= 0.0 or self.done >= until:
            return True
        self.cut_short = self.cut_short or self.wall_s <= 0.0
        return self.cut_short
