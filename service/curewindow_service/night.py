"""Once a night: windows told are held against what came of them, and holes in the past filled.

In a process of its own, like a look; nothing of it stands in the way of a notice.
"""

from __future__ import annotations

import logging
import subprocess
import sys
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any

from curewindow.errors import CurewindowError
from curewindow_service.apart import REFUSED, BrokenOffError, answer_apart, run_apart

log = logging.getLogger(__name__)

NIGHT_S = 1200.0
"""So long at most [s]."""
FROM_HOUR = 1
"""By the boat's clock: yesterday is over, and the morning's look finds what was learned."""

Night = Callable[[Path, datetime], None]


def night_here(folder: Path, now: datetime) -> None:
    """Look back, in this process.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.

    Raises
    ------
    CurewindowError
        A hand-written file, the record or what is kept of forecasts cannot be used.
    """
    from curewindow.boat.folder import load_boat, load_work
    from curewindow.calibration.look_back import look_back
    from curewindow.weather.archive import fill_holes
    from curewindow.weather.cache import Cache, cache_folder

    boat = load_boat(folder)
    if boat.weather.feed not in ("file", "by-hand"):
        try:
            fill_holes(boat.place, boat.weather, Cache(cache_folder()), now)
        except CurewindowError as bad:  # the next night may fare better
            log.warning("hours of the past that nobody saw stay unknown: %s", bad)
    look_back(folder, boat, load_work(folder, boat), now)


def night_apart(folder: Path, now: datetime) -> None:
    """Look back, in a process of its own; what goes wrong is in the log."""
    try:
        done = run_apart("night", {"folder": str(folder), "now": now.isoformat()}, NIGHT_S)
    except BrokenOffError:
        return
    except (subprocess.TimeoutExpired, OSError) as bad:
        log.warning("looking back was not possible: %s", bad)
        return
    for line in done.stderr.splitlines():
        log.warning("%s", line)
    if done.returncode == REFUSED:
        log.warning("looking back was not possible: %s", done.stdout.strip())


def _answer(asked: dict[str, Any]) -> str:
    night_here(Path(asked["folder"]), datetime.fromisoformat(asked["now"]))
    return ""


if __name__ == "__main__":
    sys.exit(answer_apart(_answer, niceness=10))
