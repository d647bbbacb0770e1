"""The calendar: windows, heater times, deadlines and milestones as an iCalendar feed.

::

    publish(folder, day_sheet(folder, now), windows_ahead(folder, now))   # bytes, remembered
"""

from curewindow.calendar.feed import (
    DAYS,
    calendar_of,
    events_of,
    happenings,
    known_aboard,
    publish,
    remembered_events,
    written,
)
from curewindow.calendar.happening import Alarm, Happening, uid_of
from curewindow.calendar.memory import Published

__all__ = [
    "DAYS",
    "Alarm",
    "Happening",
    "Published",
    "calendar_of",
    "events_of",
    "happenings",
    "known_aboard",
    "publish",
    "remembered_events",
    "uid_of",
    "written",
]
