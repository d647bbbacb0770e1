"""Reminders: what ought to be told, worked out from the day sheet and what it is made from."""

from curewindow.reminders.models import LEVELS, Level, Reminder, SettingBounds

__all__ = ["LEVELS", "Level", "Reminder", "SettingBounds"]
