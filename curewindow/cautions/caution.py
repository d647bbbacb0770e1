"""What a caution is."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from curewindow.answers import Answer

Urgency = Literal["refused", "warning", "reminder"]

DEFER = (
    "The product's own data sheet and safety data sheet, the rules of the place and licensed "
    "practice come first."
)
"""Who has the last word: once a screen or notice, not behind each caution."""

DEFER_SHORT = "data sheets come first"


class Caution(Answer):
    """One caution for a day's work."""

    topic: str = Field(description="such as 'fire', 'vapour', 'isocyanate'")
    short: str = Field(description="what to do, in one line of a phone or two")
    text: str = Field(description="all of it")
    urgency: Urgency = Field(description="'refused': no start may be called go while it stands")


def refused(topic: str, short: str, text: str) -> Caution:
    """A caution that forbids the start."""
    return Caution(topic=topic, short=short, text=text, urgency="refused")


def warning(topic: str, short: str, text: str) -> Caution:
    """A caution about something that can hurt."""
    return Caution(topic=topic, short=short, text=text, urgency="warning")


def reminder(topic: str, short: str, text: str) -> Caution:
    """A caution that is easily forgotten."""
    return Caution(topic=topic, short=short, text=text, urgency="reminder")
