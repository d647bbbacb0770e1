"""What stands beneath a picture, in words."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final

from curewindow.voice.speaking import and_all
from curewindow.wording import Wording

ALL_SHOWN: Final = "all the time shown"


def stretches_text(
    ahead: Sequence[tuple[datetime, datetime]], right: datetime, words: Wording, most: int = 3
) -> str:
    """'now until Thu 09:10, Fri 02:00 until 07:40 and 2 more'; what reaches ``right`` says so."""
    if not ahead:
        return ""
    if len(ahead) == 1 and ahead[0][0] <= words.now and ahead[0][1] >= right:
        return ALL_SHOWN
    parts = []
    for begin, end in ahead[:most]:
        opens = "now" if begin <= words.now else words.when(begin)
        if end >= right:
            parts.append(f"from {opens}" if opens != "now" else "from now on")
            continue
        same = words.local(max(begin, words.now)).date() == words.local(end).date()
        parts.append(f"{opens} until {words.clock(end) if same else words.when(end)}")
    more = len(ahead) - most
    return f"{', '.join(parts)}{f' and {more} more' if more > 0 else ''}"


def forms_text(what: str, surface: str, when: str) -> str:
    """'dew forms on the bilge: now until 09:10'."""
    return f"{what} forms on the {surface}: {when}"


def lies_text(what: str, panel: str, when: str, most_g_m2: float) -> str:
    """'frost lies on the locker side: from now on, up to 120 g/m²'."""
    return f"{what} lies on the {panel}: {when}, up to {most_g_m2:.0f} g/m²"


def coldest_text(surfaces: Sequence[str]) -> str:
    """'coldest surface: mostly bilge, else locker side'; '' where it is always the same one."""
    if len(surfaces) < 2:
        return ""
    first, *others = surfaces
    return f"coldest surface: mostly {first}, else {', '.join(others)}"


def range_text(low: float | None, high: float | None, unit: str, words: Wording) -> str:
    """'5 °C to 35 °C', 'at least 3 °C', 'at most 80 %'."""
    if low is not None and high is not None:
        return f"{words.limit(low, unit)} to {words.limit(high, unit)}"
    if low is not None:
        return f"at least {words.limit(low, unit)}"
    return "" if high is None else f"at most {words.limit(high, unit)}"


def limits_text(by_range: Mapping[str, Sequence[str]]) -> str:
    """'air and locker side 5 °C to 35 °C, no rain': what is limited alike, by its range."""
    parts = [f"{and_all(names)} {text}".strip() for text, names in by_range.items()]
    return f"limits: {', '.join(parts)}" if parts else ""


def heater_on_text(when: str) -> str:
    """'heater on: now until 22:50'."""
    return f"heater on: {when}"
