"""The day sheet: what can be coated today, until when, and why not."""

from curewindow.daysheet.assemble import day_sheet
from curewindow.daysheet.models import DaySheet, JobDay

__all__ = ["DaySheet", "JobDay", "day_sheet"]
