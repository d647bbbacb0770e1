"""How grave a danger is: it forbids the start, it can hurt, or it is easily forgotten."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final, Literal

from curewindow.findings import KINDS, Finding

Grade = Literal["refused", "warning", "reminder"]
_REMINDERS: Final = frozenset(
    {
        "heat in the pot",
        "methanol or oxime vapour",
        "skin irritant",
        "sleepers apart from vapour",
        "sleepers not known",
        "heater burns",
        "electric heater at night",
        "tin too cold",
        "goes on what is below",
    }
)
_KINDS: Final = list(KINDS)
_ORDER: Final[tuple[Grade, ...]] = ("refused", "warning", "reminder")


def grade(danger: Finding) -> Grade:
    """Its grade: while one is 'refused' no start it belongs to may be called go."""
    if danger.flag("refuses"):
        return "refused"
    return "reminder" if danger.kind in _REMINDERS else "warning"


def rank(danger: Finding) -> tuple[int, int]:
    """Its place among dangers: by its grade, then as the list of kinds has them."""
    return _ORDER.index(grade(danger)), _KINDS.index(danger.kind)


def gravest_first(dangers: Iterable[Finding]) -> list[Finding]:
    """Dangers by their rank, each once, otherwise in their order."""
    return sorted(dict.fromkeys(dangers), key=rank)


def refusal_of(dangers: Iterable[Finding]) -> Finding | None:
    """The first danger that forbids a start; None where none does."""
    return next((each for each in dangers if each.flag("refuses")), None)
