"""The day sheet: what can be coated today, until when, and why not."""

from curewindow.daysheet.ahead import windows_ahead
from curewindow.daysheet.assemble import day_sheet
from curewindow.daysheet.models import DaySheet, WindowsAhead
from curewindow.judgement.models import JobDay

__all__ = ["DaySheet", "JobDay", "WindowsAhead", "day_sheet", "windows_ahead"]
