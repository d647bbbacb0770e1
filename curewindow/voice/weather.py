"""What has to be said of the weather, in words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, full, spoken_of
from curewindow.wording import Wording, span

_PLAIN = {
    "sun estimated": "sunshine is estimated from the cloud cover",
    "dew point by low": "where no dew point is written the day's low is taken for it",
    "rain not written": "no rain is written for part of the time: outdoors that counts as unknown",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


# ---- how new it is, and who gave it ---------------------------------------------------------


@spoken_of("kept forecast")
def _kept(f: Finding, w: Wording) -> Said:
    text = f"the forecast is {span(f.number('hours'))} old"
    if not (failed := f.text("note")):
        return Said(text, f"{text}: working offline")
    again = f.moment("until")
    later = "" if again is None else f"; the feed is asked again from {w.near(again)}"
    return Said(text, f"{text}: the feed did not answer ({failed}){later}")


@spoken_of("service without forecast")
def _without(f: Finding, w: Wording) -> str:
    return f.text("note")


@spoken_of("forecast not renewed")
def _not_renewed(f: Finding, w: Wording) -> str:
    made = span(f.number("hours"))
    return f"{f.text('service')} made this forecast {made} ago and has not renewed it since"


@spoken_of("forecast undated")
def _undated(f: Finding, w: Wording) -> str:
    return f"{f.text('service')} does not say when it made this forecast"


@spoken_of("clock wrong")
def _clock(f: Finding, w: Wording) -> str:
    off = "ahead of" if f.text("state") == "ahead" else "behind"
    return (
        f"this machine's clock is {span(f.number('hours'))} {off} that of {f.text('service')}: "
        "set the clock"
    )


@spoken_of("feed ending")
def _ending(f: Finding, w: Wording) -> str:
    return (
        f"{f.text('service')} will soon end the version of its feed asked here: update curewindow"
    )


# ---- what it is -----------------------------------------------------------------------------


@spoken_of("weather by hand")
def _by_hand(f: Finding, w: Wording) -> str:
    hours = f.maybe("hours")
    written = "not said when" if hours is None else f"written {span(hours)} ago"
    return f"weather by hand ({f.text('service')}), {written}: highs and lows of days"


@spoken_of("weather goes on")
def _goes_on(f: Finding, w: Wording) -> str:
    count = round(f.number("count"))
    noun = "reading" if count == 1 else "readings"
    return (
        f"by hand: the weather of {count} {noun} outdoors is taken to go on, the latest "
        f"{span(f.number('hours'))} ago; no forecast stands behind it"
    )


@spoken_of("past weather")
def _past(f: Finding, w: Wording) -> str:
    return f"past weather from {f.text('service')} (reanalysis): what was, not what comes"


@spoken_of("past years")
def _years(f: Finding, w: Wording) -> str:
    return f"weather of {f.number('count'):.0f} past years: what was, not what comes"


@spoken_of("usual weather")
def _usual(f: Finding, w: Wording) -> str:
    year = f.text("year")
    kind = f"the weather of {year}" if year else "a typical year's weather"
    return f"{f.text('service')} is {kind}, not a forecast: what is usual, not what comes"


@spoken_of("typical weather from")
def _typical(f: Finding, w: Wording) -> str:
    year, count = f.text("year"), f.maybe("count")
    if not year:
        days = f.maybe("days") or 1
        last = "last day" if days == 1 else f"last {days:.0f} days"
        of = f"the forecast's {last} over again"
    elif count is None:
        of = f"that of {year}"
    else:
        of = f"that of {year}, the most usual of {count:.0f} past years"
    return f"from {w.day(f.time('at'))} on the weather is typical, not forecast: {of}"


# ---- what is missing ------------------------------------------------------------------------


@spoken_of("weather begins late")
def _late(f: Finding, w: Wording) -> str:
    return f"the weather begins only {w.when(f.time('at'))}: nothing is known before"


@spoken_of("weather hole")
def _hole(f: Finding, w: Wording) -> str:
    return f"no weather known from {w.when(f.time('begins'))} for {span(f.number('hours'))}"


@spoken_of("more weather holes")
def _holes(f: Finding, w: Wording) -> str:
    return f"and {f.number('count'):.0f} more times without known weather"


@spoken_of("weather lacks")
def _lacks(f: Finding, w: Wording) -> str:
    return f"{f.text('service')} has no {', no '.join(f.texts('names'))}"


@spoken_of("values left out")
def _left_out(f: Finding, w: Wording) -> str:
    count = round(f.number("count"))
    values = "1 value" if count == 1 else f"{count} values"
    are = "is" if count == 1 else "are"
    return f"{values} of {f.text('thing')} beyond anything measured {are} left out"


@spoken_of("past hours forecast")
def _past_hours(f: Finding, w: Wording) -> str:
    return f"some past hours are known only from forecasts {span(f.number('hours'))} before"


# ---- what is done to it ---------------------------------------------------------------------


@spoken_of("place difference")
def _difference(f: Finding, w: Wording) -> str:
    by, off = f.number("difference_k"), w.difference(round(f.number("uncertainty_k"), 1))
    more, less = "warmer", "colder"
    if f.text("kind_of") == "dew point":
        more, less = "more dew point", "less dew point"
    amount = w.difference(round(abs(by), 1))
    return f"{f.text('state')} {amount} {more if by > 0.0 else less} (give or take {off})"


@spoken_of("place corrected")
def _corrected(f: Finding, w: Wording) -> Said:
    text = f"corrected for this place by {f.number('count'):.0f} of your readings outdoors"
    said = ", ".join(full(each, w) for each in f.because)
    return Said(text, f"{text}: {said}; local_correction = false in boat.toml turns it off")


@spoken_of("confidence corrected")
def _confidence(f: Finding, w: Wording) -> Said:
    count, days = round(f.number("count")), round(f.number("days"))
    windows = "1 earlier window" if count == 1 else f"{count} earlier windows"
    on = "1 day" if days == 1 else f"{days} days"
    text = f"chances are corrected by what came of {windows} on {on}"
    stated, then = (w.chance(f.number(name)) for name in ("chance", "other_chance"))
    means = f"{stated} a day ahead becomes {then}"
    if stated == then:
        means = "at some lead times they are lowered"
    return Said(text, f"{text}: {means}{w.by_command('; `curewindow trust` shows it')}")


@spoken_of("error taken")
def _error(f: Finding, w: Wording) -> str:
    hours = f.number("hours")
    when = "now" if hours < 1.0 else f"{span(hours)} ahead"
    return f"{w.difference(round(f.number('difference_k'), 1))} {when}"


@spoken_of("members made")
def _members(f: Finding, w: Wording) -> Said:
    text = f"{f.number('count'):.0f} members made from the forecast"
    if f.text("state") == "percentiles":
        return Said(f"{text}, their errors by the service's own percentiles")
    text += ", their errors estimated"
    errors = ", ".join(full(each, w) for each in f.because)
    whole = f"{text}: {errors}" if errors else text
    hours, share = f.maybe("hours"), f.maybe("share")
    if hours is None or share is None:
        return Said(text, whole)
    return Said(
        text,
        f"{whole}; correlated over {span(hours)}, temperature with dew point by {share:.1f}",
    )
