"""When a coat may be started: limits held against conditions, every start at once."""

from curewindow.windows.find import find_obstacles, find_windows
from curewindow.windows.judge import Verdict, judge
from curewindow.windows.limits import LimitTrack, limit_tracks

__all__ = [
    "LimitTrack",
    "Verdict",
    "find_obstacles",
    "find_windows",
    "judge",
    "limit_tracks",
]
