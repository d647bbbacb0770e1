"""The outlook in sentences."""

from __future__ import annotations

from datetime import date

import numpy as np

from curewindow.daysheet.seasonfacts import SeasonFacts
from curewindow.season.answer import Outlook, WorkableWeeks
from curewindow.season.run import Season
from curewindow.wording import Wording

FEW = 10
"""Fewer years say little of a bad winter (estimate: a winter in ten is not among them)."""
_WITHOUT = {
    "bad weather": "always mild and dry weather",
    "only one pair of hands": "as many hands as there is work for",
    "waiting for deliveries": "everything delivered already",
}


def day(when: date | None) -> str:
    """'20 Mar'."""
    return "later than was looked" if when is None else f"{when.day} {when:%b}"


def sentences(outlook: Outlook, words: Wording) -> list[str]:
    """What the outlook says, the most wanted first."""
    said = []
    end = day(words.local(outlook.until).date())
    if outlook.done_by is not None and outlook.chance_pct is not None:
        said.append(
            f"done by {day(outlook.done_by)}: {outlook.chance_pct:.0f} in 100 "
            f"({outlook.chance_low_pct:.0f} to {outlook.chance_high_pct:.0f} with so few years)"
        )
    for each in outlook.dates:
        when = f"after {end}" if each.on is None else f"by {day(each.on)}"
        said.append(f"{each.chance_pct} in 100: {when}")
    said += _hangs_on(outlook)
    for saving in outlook.savings:
        if saving.days < 0.5:
            said.append(f"with {_WITHOUT[saving.without]}: no sooner")
            continue
        least = "at least " if saving.at_least else ""
        chance = (
            "" if saving.chance_pct is None else f", {saving.chance_pct:.0f} in 100 by the date"
        )
        unit = "day" if round(saving.days) == 1 else "days"
        said.append(
            f"with {_WITHOUT[saving.without]}: {least}{saving.days:.0f} {unit} sooner{chance}"
        )
    return said


def hours_sentences(outlook: Outlook) -> list[str]:
    """Hours a week of each kind of work, in words."""
    return [_hours(each, outlook) for each in outlook.workable]


def _hangs_on(outlook: Outlook) -> list[str]:
    """The least certain jobs, and what the rest would be without the worst."""
    said = []
    for each in outlook.jobs[:3]:
        if each.chance_pct is None or each.chance_pct >= 95.0:
            continue
        half = (
            "not in half of the seasons" if each.middle is None else f"half by {day(each.middle)}"
        )
        said.append(f"'{each.job}' is done in time in {each.chance_pct:.0f} in 100, {half}")
    rest, whole = outlook.chance_rest_pct, outlook.chance_pct
    if said and rest is not None and whole is not None and rest >= whole + 5.0:
        said.append(f"everything but '{outlook.jobs[0].job}': {rest:.0f} in 100 by the date")
    return said


def _hours(each: WorkableWeeks, outlook: Outlook) -> str:
    """'alkyd enamel, saloon: 0 h a week as it is, 41 h kept warm; best the week of 12 Mar'."""
    as_is, warmed = np.array(each.hours_as_is), np.array(each.hours_warmed)
    text = f"{each.product}, {each.place}: {as_is.mean():.0f} h a week as it is"
    if warmed.mean() >= as_is.mean() + 1.0:
        text += f", {warmed.mean():.0f} h with the heat it needs"
    low, high = int(np.argmin(warmed)), int(np.argmax(warmed))
    if warmed[high] - warmed[low] >= 1.0:
        text += (
            f"; least {warmed[low]:.0f} h in the week of {day(outlook.weeks_from[low])}, "
            f"most {warmed[high]:.0f} h in that of {day(outlook.weeks_from[high])}"
        )
    return text


def note_sentences(known: SeasonFacts, season: Season, *, beyond: bool) -> list[str]:
    """What has to be said with it."""
    said: list[str] = []
    count = len(known.years)
    if beyond:
        said.append("the date lies beyond the time looked at: look further with --days")
    for job, why in season.never:
        said.append(f"without '{job}', which cannot be planned: {why}")
    for job, rows in season.not_in.items():
        said.append(f"'{job}' finds no start in {len(rows)} of {count} years: not done in these")
    typical = [label for label in known.years if not label[:1].isdigit()]
    if typical:
        said.append("a typical year is put together of several: it has no bad winter in it")
    if count < FEW:
        years = "1 past year" if count == 1 else f"{count} past years"
        said.append(f"only {years}: a bad winter may not be among them")
    said += [f"not had: {each}" for each in known.missing[:3]]
    if len(known.missing) > 3:
        said.append(f"and {len(known.missing) - 3} more years not had")
    pace = known.pace
    if pace.logged:
        said.append(
            f"your pace, from {pace.logged} coats logged: {pace.median:.2f} times the hours "
            f"written, two in three within {np.exp(-pace.spread):.2f} to "
            f"{np.exp(pace.spread):.2f} times that"
        )
    else:
        said.append(
            "your pace is an estimate: two pieces of work in three take 0.74 to 1.35 times "
            "the hours written; logged coats teach it"
        )
    said.append("the weather of past years is taken as it was: the climate may have moved since")
    return said
