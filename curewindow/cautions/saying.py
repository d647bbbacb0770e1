"""Cautions on a face: whole, or folded with what is folded counted and named, never dropped."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol

from curewindow.cautions.unflued import ALARM


class Told(Protocol):
    """A caution, of a step or of a day."""

    @property
    def topic(self) -> str:
        """Such as 'fire'."""

    @property
    def short(self) -> str:
        """What to do."""


def topic_of(caution: Told) -> str:
    """The name of a danger, as it stands alone: of carbon monoxide it names the alarm."""
    return ALARM if caution.topic == "carbon monoxide" else caution.topic


def topics(cautions: Iterable[Told]) -> str:
    """'isocyanate, fire, rags': every danger by its name, each once, gravest first."""
    return ", ".join(dict.fromkeys(topic_of(each) for each in cautions))


def care_text(cautions: Iterable[Told]) -> str:
    """'take care: isocyanate, fire, rags'; '' where there is nothing."""
    named = topics(cautions)
    return f"take care: {named}" if named else ""


def care_lines(cautions: Iterable[Told], most: int | None = None) -> list[str]:
    """A line a caution, its topic first, gravest first; beyond ``most`` counted and named.

    'Rags: they light themselves: off the boat, flat or under water.'
    """
    found = {(each.topic, each.short): each for each in cautions}
    every = list(found.values())
    # A fold of one takes the line it would save.
    kept = every if most is None or len(every) <= most + 1 else every[:most]
    lines = [f"{each.topic[:1].upper()}{each.topic[1:]}: {each.short}." for each in kept]
    more = every[len(kept) :]
    if more:
        lines.append(f"And {len(more)} more: {topics(more)}.")
    return lines
