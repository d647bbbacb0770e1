"""Where nobody sleeps tonight: told in the evening, while there is time to make another bed."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from typing import Final

from curewindow.judgement.dangers import night_dangers
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder
from curewindow.rules.sleep import next_night

_BEFORE: Final = timedelta(hours=4)


def sleep_reminders(known: Known) -> Iterator[Reminder]:
    """One a space and a night, some hours before bedtime or as soon as a coat is on."""
    bed, awake = next_night(known.now, known.words.zone)
    night = known.words.local(bed).date()
    for danger in dict.fromkeys(each for each, _ in night_dangers(known.facts)):
        space = danger.text("space")
        yield known.reminder(
            "sleep",
            f"{space}|{night}",
            about=space or "aboard",
            level="urgent",
            due=bed - _BEFORE,
            latest=bed,
            expires=awake,
            head=danger,
            body=[danger],
        )
