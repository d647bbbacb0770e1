"""Keys of notices: what tells one piece of news from all others."""

from __future__ import annotations

from datetime import datetime

from curewindow.answers import Clock


def stamp(at: datetime) -> str:
    """A moment within a key."""
    return f"{at:%Y-%m-%dT%H:%MZ}"


def coat_key(clock: Clock) -> str:
    """What tells one recorded coat from all others."""
    return f"{clock.job}|{clock.step}.{clock.coat}|{stamp(clock.applied)}"
