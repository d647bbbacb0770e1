"""Until when a tin is good: by its shelf life unopened, and once opened."""

from __future__ import annotations

from datetime import date, timedelta

from curewindow.boat.service import Tin
from curewindow.sheets.schema import Storage


def good_until(tin: Tin, storage: Storage) -> date | None:
    """The last day a tin is good; None where neither its dates nor its sheet tell."""
    ends = [
        since + timedelta(hours=life)
        for since, life in (
            (tin.bought, storage.shelf_life),
            (tin.opened, storage.shelf_life_opened),
        )
        if since is not None and life is not None
    ]
    return min(ends, default=None)
