"""What the outlook says, and in which order; :mod:`curewindow.voice.season` has the words."""

from __future__ import annotations

import numpy as np

from curewindow.daysheet.seasonfacts import SeasonFacts
from curewindow.season.answer import Outlook, WorkableWeeks
from curewindow.season.run import Season
from curewindow.voice import season as voice
from curewindow.wording import Wording

FEW = 10
"""Fewer years say little of a bad winter (estimate: a winter in ten is not among them)."""


def sentences(outlook: Outlook, words: Wording) -> list[str]:
    """What the outlook says, the most wanted first."""
    said = [voice.all_done_text(outlook.all_done, words)]
    low, high = _share(outlook.chance_low_pct), _share(outlook.chance_high_pct)
    if low is not None and high is not None and words.chance(low) != words.chance(high):
        said.append(voice.range_text(low, high, words))
    said += _hangs_on(outlook, words)
    for saving in outlook.savings:
        then, least = _share(saving.chance_pct), saving.at_least
        said.append(voice.saving_text(saving.without, saving.days, then, words, at_least=least))
    return said


def hours_sentences(outlook: Outlook) -> list[str]:
    """Hours a week of each kind of work, in words."""
    return [_hours(each, outlook) for each in outlook.workable]


def _share(percent: float | None) -> float | None:
    return None if percent is None else percent / 100.0


def _hangs_on(outlook: Outlook, words: Wording) -> list[str]:
    """The least certain jobs, and what the rest would be without the worst."""
    said = []
    for each in outlook.jobs[:3]:
        if each.chance_pct is None or each.chance_pct >= 95.0:
            continue
        said.append(voice.job_text(each.job, each.chance_pct / 100.0, each.middle, words))
    rest, whole = outlook.chance_rest_pct, outlook.chance_pct
    if said and rest is not None and whole is not None and rest >= whole + 5.0:
        said.append(voice.rest_text(outlook.jobs[0].job, rest / 100.0, words))
    return said


def _hours(each: WorkableWeeks, outlook: Outlook) -> str:
    as_is, warmed = np.array(each.hours_as_is), np.array(each.hours_warmed)
    low, high = int(np.argmin(warmed)), int(np.argmax(warmed))
    varies = warmed[high] - warmed[low] >= 1.0
    return voice.hours_text(
        f"{each.product}, {each.place}",
        float(as_is.mean()),
        float(warmed.mean()),
        (float(warmed[low]), outlook.weeks_from[low]) if varies else None,
        (float(warmed[high]), outlook.weeks_from[high]) if varies else None,
    )


def note_sentences(known: SeasonFacts, season: Season, *, beyond: bool) -> list[str]:
    """What has to be said with it."""
    said: list[str] = []
    count = len(known.years)
    if beyond:
        said.append(voice.BEYOND)
    said += [voice.never_text(job, why) for job, why in season.never]
    said += [voice.not_in_text(job, len(rows), count) for job, rows in season.not_in.items()]
    if any(not label[:1].isdigit() for label in known.years):
        said.append(voice.TYPICAL_YEAR)
    if count < FEW:
        said.append(voice.few_years_text(count))
    said += voice.not_had_texts([str(each) for each in known.missing])
    pace = known.pace
    if pace.logged:
        factor = float(np.exp(pace.spread))
        said.append(voice.pace_text(pace.logged, pace.median, 1.0 / factor, factor))
    else:
        said.append(voice.PACE_GUESSED)
    said.append(voice.CLIMATE)
    return said
