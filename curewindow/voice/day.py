"""Steps, windows, clocks and spaces of a day in words, in the boat's zone and degrees."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta

from curewindow.answers import (
    Clock,
    Daylight,
    Dewfall,
    Margin,
    NextStep,
    Obstacle,
    SpaceNow,
    Wait,
    Window,
)
from curewindow.rules.chance import worth_saying
from curewindow.rules.limits import DEW
from curewindow.voice.speaking import full, in_full, listed, short
from curewindow.wording import Wording


def product_text(name: str) -> str:
    """A product's name within a sentence: no capital, nothing in brackets."""
    plain = name[: name.index(" (")] if " (" in name else name
    return plain if plain[:2].isupper() else plain[:1].lower() + plain[1:]


def act_text(ahead: NextStep) -> str:
    """What is to be done, without the product: 'sand, then coat 4 of 5', 'bond'."""
    if ahead.product is None:
        return str(ahead.do)
    if ahead.do == "coat":
        text = f"coat {ahead.coat} of {ahead.of_coats}"
    else:
        rounds = f" {ahead.coat} of {ahead.of_coats}" if (ahead.of_coats or 1) > 1 else ""
        text = f"{ahead.do}{rounds}"
    return f"sand, then {text}" if ahead.sand_first else text


def step_text(ahead: NextStep) -> str:
    """What is to be done: 'sand, then coat 4 of 5, oil varnish'."""
    product = "" if ahead.product is None else f", {product_text(ahead.product)}"
    return f"{act_text(ahead)}{product}"


def window_text(window: Window, hands_on_h: float, words: Wording) -> str:
    """'Thu 10:20 until 13:40, 7 in 10' for one to come, hands-on time included."""
    text = words.from_to(window.opens, window.closes + timedelta(hours=hands_on_h))
    if worth_saying(window.confidence):
        text += f", {words.chance(window.confidence)}"
    return text


def after_text(window: Window, words: Wording, *, brief: bool = False) -> str:
    """What follows the best start: 'touch dry 19:10, next coat tomorrow 08:10 until Fri 15:00'."""
    after = window.after
    # outside the sheet's own table of times
    about = "~" if after.extrapolated else ""

    def when(at: datetime) -> str:
        return about + words.near(at)

    parts = []
    if after.touch_dry is not None:
        parts.append(f"touch dry {when(after.touch_dry)}")
    if after.recoat_from is not None:
        text = f"next coat from {when(after.recoat_from)}"
        ends = after.recoat_until
        if not brief and ends is not None and ends > after.recoat_from:
            text += f" until {when(ends)}"
        parts.append(text)
    elif after.closed_up is not None:
        parts.append(f"may be covered from {when(after.closed_up)}")
    return ", ".join(parts)


def dewfall_text(dewfall: Dewfall, words: Wording) -> str:
    """'dew from about 17:20'; on another day than today with the day."""
    what = "frost" if dewfall.frost else "dew"
    return f"{what} from about {words.near(dewfall.at)}"


def daylight_text(daylight: Daylight | None, words: Wording) -> str:
    """'daylight 08:19 until 16:33'; '' where nothing is known of it."""
    if daylight is None:
        return ""
    if daylight.sunrise is None or daylight.sunset is None:
        only = daylight.sunrise or daylight.sunset
        if only is None:
            return "no sunrise or sunset today"
        return f"{'sunrise' if daylight.sunrise else 'sunset'} {words.clock(only)}"
    return f"daylight {words.clock(daylight.sunrise)} until {words.clock(daylight.sunset)}"


def waits_text(waits: Sequence[Wait], words: Wording) -> str:
    """What has to come first, in full."""
    return in_full((wait.why for wait in waits), words)


def short_reason(waits: Sequence[Wait], obstacles: Sequence[Obstacle], words: Wording) -> str:
    """Why not now, in a few words; '' where nothing is known to be in the way."""
    today = words.local(words.now).date()
    held = [w for w in waits if w.until is None or words.local(w.until).date() > today]
    if held:
        return listed((wait.why for wait in held), words)
    return short(obstacles[0].why, words) if obstacles else ""


def obstacle_text(obstacle: Obstacle, words: Wording) -> str:
    """What stands in the way, with the worst figure of the span."""
    worst, why = obstacle.margin, obstacle.why
    if worst is not None and why.kind == "limit broken":
        why = why.changed(value=worst.value)
    return full(why, words)


def margin_text(margin: Margin, words: Wording) -> str:
    """'surface above dew point 3.6 °C (at least 3 °C), Thu 21:00 while setting'."""
    bound = "at least" if margin.bound == "min" else "at most"
    return (
        f"{margin.limit} {words.amount(margin.value, margin.unit)} "
        f"({bound} {words.limit(margin.limit_value, margin.unit)}), "
        f"{words.when(margin.at)} while {margin.phase}"
    )


def window_details(window: Window, hands_on_h: float, words: Wording) -> list[str]:
    """What opens and closes a window, its tightest margin, how likely it holds."""
    details = [
        f"{window_text(window, hands_on_h, words)}: opens: {full(window.opens_because, words)}; "
        f"closes: {full(window.closes_because, words)}"
    ]
    if window.tightest is not None:
        details.append(f"tightest: {margin_text(window.tightest, words)}")
    chance = f"chance that the best start holds: {words.chance(window.confidence)}"
    if window.stated is not None and abs(window.stated - window.confidence) >= 0.01:
        chance += f" ({words.chance(window.stated)} before what came of earlier windows)"
    details.append(chance)
    return details


def what_broke(clock: Clock, *, brief: bool = False) -> str:
    """What a coat had to bear since anybody looked at it: 'dew fell on the wet coat'."""
    if any(margin.limit == DEW.name and margin.value < 0.0 for margin in clock.to_check):
        if brief:
            return "dew fell on it"
        return "dew fell on the wet coat: look for bloom or dull patches"
    names = dict.fromkeys(margin.limit for margin in clock.to_check)
    return f"outside its limits: {', '.join(names)}"


def answer_text(job: str) -> str:
    """What to type once a coat that had to bear something was looked at."""
    return f"answer with: curewindow log look '{job}'"


def recoat_text(clock: Clock, words: Wording) -> str:
    """What a clock says, in a line."""
    if clock.state == "cured":
        return "cured"
    if clock.state == "never again":
        return "no further coat may go on"
    if clock.next_deadline is not None:
        return _deadline_text(clock, clock.next_deadline, words)
    if clock.state == "sand first":
        return "the recoat interval is over: sand first"
    if clock.recoat_from is not None and clock.recoat_from > words.now:
        return f"recoat from {words.when(clock.recoat_from)}"
    if clock.state == "recoat open":
        return "recoat open, no latest time"
    ready: datetime | None = clock.closed_up or clock.full_cure
    if ready is None:
        return f"{clock.state}; when it may be covered lies beyond the forecast"
    if ready > words.now:
        return f"{clock.state}; may be covered from {words.when(ready)}"
    return f"{clock.state}; may be covered"


def _deadline_text(clock: Clock, ends: datetime, words: Wording) -> str:
    opens, never = clock.recoat_from, clock.recoat_after == "never"
    if opens is not None and opens >= ends:
        # on the safe side it is over before it begins: nobody can promise a gap
        soonest = f"ready for the next coat {words.when(opens)} at the latest"
        over = "too late" if never else "sand first"
        return f"{soonest}; {over} from {words.when(ends)} at the earliest"
    start = f"recoat from {words.when(opens)}, " if opens is not None and opens > words.now else ""
    consequence = "no further coat after that" if never else "after that sand first"
    return f"{start}recoat by {words.when(ends)}, {consequence}"


def heater_text(space: SpaceNow, words: Wording) -> str:
    """'heater held at 21 °C until Sun 00:50', by the log; '' where it goes by its routine."""
    broken, mended = space.heater_broken_from, space.heater_broken_until
    if broken is not None and mended is not None and broken <= words.now:
        return f"heater out of order until {words.when(mended)}"
    lit = _lit_text(space, words)
    if broken is None or mended is None:
        return lit
    ahead = f"heater out of order from {words.when(broken)} until {words.when(mended)}"
    return f"{lit}; {ahead}" if lit else ahead


def _lit_text(space: SpaceNow, words: Wording) -> str:
    if space.heater_out_c is not None:
        return f"heater logged as lit, but {words.temp(space.heater_out_c)} read: taken as out"
    if space.heater_until is None:
        return ""
    doing = "off" if space.heater_c is None else f"held at {words.temp(space.heater_c)}"
    return f"heater {doing} until {words.when(space.heater_until)}"
