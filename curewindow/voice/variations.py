"""Ways to be done sooner, and what must be decided now, in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, full, spoken_of
from curewindow.wording import MONTHS, Wording, counted, figure

HELPS_TITLE: Final = "What would help"
DECIDE_TITLE: Final = "Decide now"
NOTHING_HELPS: Final = "nothing that was tried saves a day"
STOPPED_EARLY: Final = "stopped: this is what was found so far"
NEAR_STAYS: Final = (
    "tried on the same seasons as the date; the days of the forecast stay as planned"
)
_MONEY_WORTH_SAYING = 1.0
_ASIDE: Final = ("heater at once", "heater", "home")
"""Said with a clause of their own, which ends before what they bring."""


@spoken_of("variation")
def _variation(f: Finding, w: Wording) -> str:
    kind = f.text("kind_of")
    if kind == "day":
        return f"one more day aboard a week ({_names(f)})"
    if kind == "evening":
        return f"one more evening a week ({_names(f)})"
    if kind == "delivery":
        at = f.moment("until")
        return f"{f.text('thing')} there by {'then' if at is None else _date(at, w)}"
    if kind == "heater at once":
        count = counted(f.maybe("count") or 2, "space")
        return f"a second heater, so that {count} are warm at a time"
    if kind == "heater":
        watts = f.maybe("power_w") or 0.0
        return (
            f"an electric heater of {figure(watts / 1000.0)} kW in the {f.text('space')}, one that "
            "may be left on alone"
        )
    if kind == "home":
        return f"'{f.text('job')}' at home, warm and dry, if it can be carried"
    if "product" not in f.about:
        return "another product of the same family"
    instead = ", ".join(f.texts("products"))
    return f"'{f.text('job')}' with {f.text('product')} instead of {instead}"


def _names(f: Finding) -> str:
    return ", ".join(f.texts("names"))


def _date(at: datetime, w: Wording) -> str:
    day = w.local(at)
    return f"{day:%a} {day.day} {MONTHS[day.month - 1]}"


def variation_text(
    way: Finding,
    w: Wording,
    *,
    days: int,
    at_least: bool = False,
    possible: Sequence[str] = (),
    before: float | None = None,
    after: float | None = None,
    cost: float | None = None,
) -> str:
    """'a second heater saves 5 days; the date: 6 in 10, not 2 in 10; fuel costs about 12 more'."""
    text = full(way, w) + ("," if way.text("kind_of") in _ASIDE else "")
    least = "at least " if at_least else ""
    if possible:
        text += f" makes {', '.join(repr(job) for job in possible)} possible"
        if days:
            text += f", {least}{counted(abs(days), 'day')} {'sooner' if days > 0 else 'later'}"
    elif days > 0:
        text += f" saves {least}{counted(days, 'day')}"
    else:
        text += " makes the date likelier"
    if before is not None and after is not None:
        text += f"; the date: {w.chance(after)}"
        if w.chance(after) != w.chance(before):
            text += f", not {w.chance(before)}"
    if cost is not None and abs(cost) >= _MONEY_WORTH_SAYING:
        text += f"; fuel costs about {abs(cost):.0f} {'more' if cost > 0 else 'less'}"
    return text


def trying_text(way: Finding, left: int, w: Wording) -> str:
    """What is tried just now, and how many are left."""
    after = f"{left} left" if left else "the last"
    return f"trying ({after}, Ctrl-C: enough): {full(way, w)}"


def more_variations_text(count: int) -> str:
    """Ways that help too, and are not told."""
    return f"{counted(count, 'more way')} would help too, for more trouble or less gained"


@spoken_of("order now")
def _order(f: Finding, w: Wording) -> Said:
    thing = f.text("thing")
    if f.text("state") == "overdue":
        text = (
            f"ask after the {thing}, overdue: '{f.text('job')}' is planned as if it came in a day"
        )
        return Said(text, act=text)
    share = f.maybe("share")
    often = "the end waits for it" if share is None else f"waited for in {w.chance(share)} seasons"
    text = f"order the {thing}, or have it sooner: {often}"
    return Said(text, act=text)


@spoken_of("bring heater")
def _bring(f: Finding, w: Wording) -> Said:
    share = f.maybe("share")
    job = f.text("job")
    why = f"'{job}' finds no start there as it is"
    if share is not None:
        why = f"the end waits for '{job}' in {w.chance(share)} seasons"
    text = f"bring a heater for the {f.text('space')}, one that may be left on alone: {why}"
    return Said(text, act=text)
