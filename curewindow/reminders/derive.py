"""All reminders that ought to exist at a moment."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from curewindow.daysheet.models import DaySheet
from curewindow.judgement.clocks import clocks_of
from curewindow.reminders.changed import changed_reminders
from curewindow.reminders.coats import coat_reminders
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder
from curewindow.reminders.morning import morning_reminders
from curewindow.reminders.sleep import sleep_reminders
from curewindow.reminders.starts import start_reminders
from curewindow.reminders.stores import store_reminders
from curewindow.reminders.watch import watch_reminders
from curewindow.reminders.wet import wet_reminders
from curewindow.situation import Situation


def reminders_of(
    facts: Situation,
    sheet: DaySheet,
    *,
    plan: Mapping[str, Any] | None = None,
) -> list[Reminder]:
    """Work out what ought to be told from now on, and what is due but may be untold.

    The same facts give the same reminders; whoever sends them keeps count of what was told.

    Parameters
    ----------
    facts : Situation
        What is known at ``facts.now``.
    sheet : DaySheet
        Made from them.
    plan : mapping, optional
        The plan as it was last told, see :func:`plan_of`.

    Returns
    -------
    list of Reminder
        By the time they are due; each key once.
    """
    known = Known(facts, sheet, clocks_of(facts), plan)
    made: dict[str, Reminder] = {}
    for source in (
        morning_reminders,
        coat_reminders,
        start_reminders,
        wet_reminders,
        sleep_reminders,
        watch_reminders,
        store_reminders,
        changed_reminders,
    ):
        for reminder in source(known):
            made.setdefault(reminder.key, reminder)
    return sorted(made.values(), key=lambda reminder: (reminder.due, reminder.key))
