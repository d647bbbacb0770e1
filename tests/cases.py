"""How many cases a law is tried on: few in the quick run, more in the slow one."""

from __future__ import annotations

from typing import Any

from hypothesis import settings

QUICK, SLOW = "quick", "slow"
# The quick run draws the same cases each time, so that a change is never refused for a fault that
# was there before it; the slow one draws new ones (the same ones where CI is set).
_TIMES = {QUICK: 1, SLOW: 2}
settings.register_profile(QUICK, deadline=None, derandomize=True, print_blob=True)
settings.register_profile(SLOW, deadline=None, print_blob=True)
_in_force = QUICK


def choose(name: str) -> None:
    """Let all laws that are read from now on be tried as often as this run asks for."""
    global _in_force
    _in_force = name
    settings.load_profile(name)


def cases(quick: int, **more: Any) -> settings:
    """So many cases in the quick run, more in the slow one."""
    return settings(max_examples=quick * _TIMES[_in_force], **more)
