"""An order of work in words: its head, what goes with a step, and what it goes by."""

from __future__ import annotations

from collections.abc import Set as AbstractSet
from datetime import datetime
from typing import Final

from curewindow.wording import Wording, counted

FROM_SLACK_D: Final = 1.0
"""Less is no day to spare."""
WIPE_FIRST: Final = "wipe it dry first, dew lies on it"
LATE_MARK: Final = "* the date moves with it"
HELD_MARK: Final = "= held by you"


def in_hand_text(finish: str, days: int | None) -> str:
    """The end as planned, with the days it is before or behind the date."""
    if days is None:
        return finish
    after = " in hand" if days >= 0 else " too late for the date"
    return f"{finish}, {counted(abs(days), 'day')}{after}"


def extra_heat_text(kwh: float, amount: float, unit: str, *, typical: bool) -> str:
    """Heat on top of the routine's; ``typical``: some of it in a winter that nobody knows yet."""
    winter = ", in a typical winter" if typical else ""
    text = f"heat beyond the usual{winter}: {kwh:.0f} kWh"
    return text if unit in ("", "kWh") else f"{text}, about {amount:.0f} {unit}"


def faults_text(count: int) -> str:
    """Above what the second look found against an order."""
    return f"the second look does not agree with {count}: look before you trust it"


def held_warm_text(setpoint_c: float, begins: datetime, ends: datetime, words: Wording) -> str:
    """Heat of a step without a run of its own."""
    stretch = f"from {words.when(begins)} until {words.when(ends)}"
    return f"heat: hold {words.temp(setpoint_c)} {stretch}"


def by_clock_text(at: datetime, words: Wording, *, turned: bool) -> str:
    """By when a heater is lit, or when it is turned."""
    if at <= words.now:
        return "now:"
    return words.clock(at) if turned else f"by {words.clock(at)}"


def your_note_text(note: str) -> str:
    """A step's note in work.toml."""
    return f"your note: {note}"


def by_or_sand_text(must_by: datetime, words: Wording) -> str:
    """The last moment of a coat."""
    return f"by {words.when(must_by)}, or sand first"


def slack_text(days: float) -> str:
    """How long something may be put off."""
    if days < FROM_SLACK_D:
        return "no day to spare"
    return f"{counted(round(days), 'day')} to spare"


def where_text(where: str, hard: datetime, slack_days: float | None, words: Wording) -> str:
    """Where a step is, when it is hard, and how long it may be put off."""
    text = f"{where}; hard {words.when(hard)}"
    return text if slack_days is None else f"{text}; {slack_text(slack_days)}"


def job_slack_text(job: str, slack_days: float, last: datetime, words: Wording) -> str:
    """How long a job may be put off, and when it is hard."""
    return f"{job}: {slack_text(slack_days)}, hard {words.day(last)}"


def link_text(days: float, text: str, ends: datetime, words: Wording) -> str:
    """A link of the chain that sets the end: how long, what, until when."""
    long = f"{days:.0f} d" if days >= 1.95 else f"{24 * days:.0f} h"
    return f"{long}  {text}, until {words.when(ends)}"


def proven_text(proven: AbstractSet[str], sooner_days: int | None) -> str:
    """How good an order is known to be; '' where no date was looked for.

    Parameters
    ----------
    proven : set of str
        Aims that nothing reaches better.
    sooner_days : int or None
        By so many it may end sooner; None: no date was looked for.
    """
    if proven >= {"date", "cost", "calm"}:
        return "no better order exists for what is known"
    if proven >= {"date", "cost"}:
        return (
            "no sooner date exists, nor one with less heat, waiting and sanding; the days might "
            "be calmer"
        )
    if sooner_days is None:
        return ""
    if "date" in proven:
        return "no sooner date exists; heat and calm may go better"
    return f"not proven to be the best: perhaps {sooner_days} days sooner: give it --seconds"


def second_look_text(*, verified: bool) -> str:
    """Was the order looked at again?"""
    return "a second look found every rule kept" if verified else "not verified"


def made_text(at: datetime, seconds: float, words: Wording) -> str:
    """When it was made, and how long that took."""
    return f"made {words.when(at)} in {seconds:.0f} s"
