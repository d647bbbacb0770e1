"""What a caution is."""

from __future__ import annotations

from typing import Literal

from pydantic import Field

from curewindow.answers import Answer

Urgency = Literal["refused", "warning", "reminder"]

# Every warning ends on who has the last word.
DEFER = "The product's own data sheet and safety data sheet and the rules of the place come first."


class Caution(Answer):
    """One caution for a day's work."""

    topic: str = Field(description="such as 'fire', 'vapour', 'isocyanate'")
    text: str
    urgency: Urgency = Field(description="'refused': no start may be called go while it stands")


def refused(topic: str, text: str) -> Caution:
    """A caution that forbids the start."""
    return Caution(topic=topic, text=f"{text} {DEFER}", urgency="refused")


def warning(topic: str, text: str) -> Caution:
    """A caution about something that can hurt."""
    return Caution(topic=topic, text=f"{text} {DEFER}", urgency="warning")


def reminder(topic: str, text: str) -> Caution:
    """A caution that is easily forgotten."""
    return Caution(topic=topic, text=text, urgency="reminder")
