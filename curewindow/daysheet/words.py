"""The sentences of the day sheet, in the boat's zone and degrees."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from curewindow.answers import Clock, Margin, Obstacle, Window
from curewindow.daysheet.models import (
    Daylight,
    DaySheet,
    Dewfall,
    JobDay,
    NextStep,
    SpaceNow,
    Wait,
)
from curewindow.rules.limits import DEW
from curewindow.windows.working import CLAMP, LED
from curewindow.wording import Wording

_READ_ON = re.compile(r": | before the first stroke")
_WORTH_SAYING = 0.8  # below this chance the short line says it


NO_JOBS = "no jobs yet: put them into work.toml"
"""How to begin: to be said where there is no job."""


def wording_of(sheet: DaySheet) -> Wording:
    """The boat's zone and degrees."""
    return Wording(ZoneInfo(sheet.time_zone), sheet.as_of, sheet.temperature_unit == "°F")


def product_text(name: str) -> str:
    """A sheet's name within a sentence: no capital, nothing in brackets."""
    short = name.split(" (")[0]
    return short if short[:2].isupper() else short[:1].lower() + short[1:]


def step_text(ahead: NextStep) -> str:
    """What is to be done: 'sand, then coat 4 of 5, oil varnish'."""
    if ahead.product is None:
        return str(ahead.do)
    product = product_text(ahead.product)
    if ahead.do == "coat":
        text = f"coat {ahead.coat} of {ahead.of_coats}, {product}"
    else:
        rounds = f" {ahead.coat} of {ahead.of_coats}" if (ahead.of_coats or 1) > 1 else ""
        text = f"{ahead.do}{rounds}, {product}"
    return f"sand, then {text}" if ahead.sand_first else text


def go_text(
    windows: Sequence[Window],
    hands_on_h: float,
    words: Wording,
    sand_after: datetime | None = None,
) -> str:
    """'10:20 to 13:40, last start 12:10; best start 11:00'.

    ``sand_after``: from here on the coat below has to be sanded first.
    """
    takes = timedelta(hours=hands_on_h)
    parts = []
    for window in windows:
        opens = "now" if _open(window, words) else words.clock(window.opens)
        until = words.clock(window.closes + takes)
        parts.append(f"{opens} to {until}, last start {words.clock(window.closes)}")
    text = "; or ".join(parts)
    best = max(windows, key=lambda window: window.confidence).best_start
    if best - max(windows[0].opens, words.now) > timedelta(minutes=30):
        text += f"; best start {words.clock(best)}"
    surest = max(window.confidence for window in windows)
    if surest < _WORTH_SAYING:
        text += f"; {round(surest * 100)} % sure"
    for note in windows[0].notes:
        if note.startswith(LED):
            # the particulars are told with the rest
            text += f"; {note if note.startswith(CLAMP) else _READ_ON.split(note)[0]}"
    if sand_after is not None and windows[0].opens < sand_after < windows[-1].closes:
        text += f"; after {words.clock(sand_after)} sand first"
    return text


def hands_text(windows: Sequence[Window], words: Wording) -> str:
    """For a step without a product: 'now until 18:00'."""
    first = windows[0]
    opens = "now" if _open(first, words) else f"from {words.clock(first.opens)}"
    return f"{opens} until {words.clock(windows[-1].closes)}"


def _open(window: Window, words: Wording) -> bool:
    # the first point of the grid from now on
    return window.opens - words.now < timedelta(minutes=10)


def window_text(window: Window, hands_on_h: float, words: Wording) -> str:
    """'Thu 10:20 to 13:40, 65 % sure' for one to come, hands-on time included."""
    text = words.from_to(window.opens, window.closes + timedelta(hours=hands_on_h))
    if window.confidence < _WORTH_SAYING:
        text += f", {round(window.confidence * 100)} % sure"
    return text


def after_text(window: Window, words: Wording, *, short: bool = False) -> str:
    """What follows the best start: 'touch dry 19:10, next coat tomorrow 08:10 to Fri 15:00'."""
    after = window.after
    # outside the sheet's own table of times
    about = "~" if after.extrapolated else ""

    def when(at: datetime) -> str:
        return about + words.when(at).removeprefix("today ")

    parts = []
    if after.touch_dry is not None:
        parts.append(f"{'dry' if short else 'touch dry'} {when(after.touch_dry)}")
    if after.recoat_from is not None:
        text = f"next coat {when(after.recoat_from)}"
        if not short and after.recoat_until is not None and after.recoat_until > after.recoat_from:
            text += f" to {when(after.recoat_until)}"
        parts.append(text)
    elif after.closed_up is not None:
        parts.append(f"may be covered {when(after.closed_up)}")
    return ", ".join(parts)


def dewfall_text(dewfall: Dewfall, words: Wording) -> str:
    """'dew from about 17:20'; on another day than today with the day."""
    what = "frost" if dewfall.frost else "dew"
    return f"{what} from about {words.when(dewfall.at).removeprefix('today ')}"


def daylight_text(daylight: Daylight | None, words: Wording) -> str:
    """'daylight 08:19 to 16:33'; '' where nothing is known of it."""
    if daylight is None:
        return ""
    if daylight.sunrise is None or daylight.sunset is None:
        only = daylight.sunrise or daylight.sunset
        if only is None:
            return "no sunrise or sunset today"
        return f"{'sunrise' if daylight.sunrise else 'sunset'} {words.clock(only)}"
    return f"daylight {words.clock(daylight.sunrise)} to {words.clock(daylight.sunset)}"


def waits_text(waits: Sequence[Wait], words: Wording) -> str:
    """'slats to arrive (Fri 18:00); 'hatch' to be done first'."""
    parts = []
    for wait in waits:
        until = "" if wait.until is None else f" ({words.when(wait.until)})"
        parts.append(f"{wait.what}{until}")
    return "; ".join(parts)


_WAIT_SHORT = {
    "job": "after {about}",
    "cured": "{about} cures{until}",
    "delivery": "{about} arrives{until}",
    "recoat": "coat below not ready{until}",
    "dust": "dust: {about} is wet{until}",
    "drying": "last coat still soft{until}",
}


def short_reason(day: JobDay, words: Wording) -> str:
    """Why not now, in a few words; '' where nothing is known to be in the way."""
    today = words.local(words.now).date()
    held = [w for w in day.waits if w.until is None or words.local(w.until).date() > today]
    parts = [
        _WAIT_SHORT[wait.kind].format(
            about=wait.about,
            until=""
            if wait.until is None
            else f" {'by' if wait.kind == 'delivery' else 'to'} {words.when(wait.until)}",
        )
        for wait in held
    ]
    if not parts and day.obstacles:
        parts = [words.sentence(re.sub(r" \([^)]*\)", "", day.obstacles[0].reason))]
    return "; ".join(parts)


def obstacle_text(obstacle: Obstacle, words: Wording) -> str:
    """What stands in the way, with the figure and when it ends."""
    text = words.sentence(obstacle.reason)
    margin = obstacle.margin
    if margin is None or margin.unit not in ("°C", "%", "m/s"):
        return text
    reaches = "down to" if margin.bound == "min" else "up to"
    return f"{text} ({reaches} {words.amount(margin.value, margin.unit)})"


def recoat_text(clock: Clock, words: Wording) -> str:
    """What a clock says, in a line."""
    if clock.state == "cured":
        return "cured"
    if clock.state == "never again":
        return "no further coat may go on"
    if clock.next_deadline is not None:
        opens = clock.recoat_from
        start = (
            f"recoat from {words.when(opens)}, " if opens is not None and opens > words.now else ""
        )
        consequence = "no more coats after" if clock.recoat_after == "never" else "then sand first"
        if opens is not None and opens >= clock.next_deadline:
            # on the safe side it is over before it begins: nobody can promise a gap
            soonest = f"ready for the next coat {words.when(opens)} at the latest"
            over = "too late" if clock.recoat_after == "never" else "sand first"
            return f"{soonest}; {over} from {words.when(clock.next_deadline)} at the earliest"
        return f"{start}recoat by {words.when(clock.next_deadline)}, {consequence}"
    if clock.state == "sand first":
        return "recoat time is over: sand first"
    if clock.recoat_from is not None and clock.recoat_from > words.now:
        return f"recoat from {words.when(clock.recoat_from)}"
    if clock.state == "recoat open":
        return "recoat open, no end to it"
    ready: datetime | None = clock.closed_up or clock.full_cure
    if ready is not None and ready > words.now:
        return f"{clock.state}; may be covered from {words.when(ready)}"
    if ready is not None:
        return f"{clock.state}; may be covered"
    return f"{clock.state}; when it may be covered lies beyond the weather known"


def heater_text(space: SpaceNow, words: Wording) -> str:
    """'heater held at 21.0 °C to Sun 00:50', by the log; '' where it goes by its routine."""
    if space.heater_out_c is not None:
        return f"heater logged as lit, but {words.temp(space.heater_out_c)} read: taken as out"
    if space.heater_until is None:
        return ""
    doing = "off" if space.heater_c is None else f"held at {words.temp(space.heater_c)}"
    return f"heater {doing} to {words.when(space.heater_until)}"


def what_broke(clock: Clock) -> str:
    """What a coat had to bear: 'it had dew'."""
    names = [margin.limit for margin in clock.limits_broken]
    if any(margin.limit == DEW.name and margin.value < 0.0 for margin in clock.limits_broken):
        return "it had dew"
    return f"not within its limits: {', '.join(dict.fromkeys(names))}"


def window_details(window: Window, hands_on_h: float, words: Wording) -> list[str]:
    """What opens and closes a window, its tightest margin, how sure it is."""
    details = [
        f"{window_text(window, hands_on_h, words)}: opens as "
        f"{words.sentence(window.opens_because)}; closes as {words.sentence(window.closes_because)}"
    ]
    if window.tightest is not None:
        details.append(f"tightest: {margin_text(window.tightest, words)}")
    chance = f"chance that it holds: {round(window.confidence * 100)} %"
    if window.stated is not None and abs(window.stated - window.confidence) >= 0.01:
        chance += f" ({round(window.stated * 100)} % before what came of earlier windows)"
    details.append(chance)
    return details


def margin_text(margin: Margin, words: Wording) -> str:
    """'surface above dew point 3.6 °C, at least 3.0 °C, Thu 21:00 while setting'."""
    bound = "at least" if margin.bound == "min" else "at most"
    return (
        f"{margin.limit} {words.amount(margin.value, margin.unit)} "
        f"({bound} {words.amount(margin.limit_value, margin.unit)}), "
        f"{words.when(margin.at)} while {margin.phase}"
    )
