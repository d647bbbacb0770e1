"""The outlook over the season, in words. Days are dates: what it says is read for weeks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from curewindow.answers import AllDone
from curewindow.voice.speaking import and_all
from curewindow.wording import MONTHS, Wording, counted

BEYOND: Final = "the date lies beyond the time looked at: look further with --days"
TYPICAL_YEAR: Final = "a typical year is put together of several: it has no bad winter in it"
PACE_GUESSED: Final = (
    "your pace is an estimate: two pieces of work in three take 0.74 to 1.35 times the hours "
    "written; logged coats teach it"
)
CLIMATE: Final = "the weather of past years is taken as it was: the climate may have moved since"
_WITHOUT: Final = {
    "bad weather": "always mild and dry weather",
    "only one pair of hands": "as many hands as there is work for",
    "waiting for deliveries": "everything delivered already",
}


def day_text(when: date | None) -> str:
    """'20 Mar'."""
    return "later than was looked" if when is None else f"{when.day} {MONTHS[when.month - 1]}"


def head_text(boat: str, years: int, seasons: int) -> str:
    """'Heron: the season by 5 past years, 200 seasons run'."""
    return f"{boat}: the season by {counted(years, 'past year')}, {counted(seasons, 'season')} run"


def all_done_text(done: AllDone, w: Wording) -> str:
    """By when all is done, for every face: 'all done: 5 in 10 by 3 May, 9 in 10 by 20 May; ...'.

    The date follows: '...; the date, 26 Mar: 2 in 10'.
    """
    names = [f"'{each}'" for each in done.without]
    but = f" but {and_all(names)}" if names else ""
    said = [_by(0.9, done.late, done.until, w)]
    if done.middle is None:
        said = [_by(0.5, None, done.until, w)]
    elif done.middle != done.late:
        said.insert(0, _by(0.5, done.middle, done.until, w))
    text = f"all{but} done: {', '.join(said)}"
    if done.done_by is None or done.chance_pct is None:
        return text
    return f"{text}; the date, {day_text(done.done_by)}: {w.chance(done.chance_pct / 100.0)}"


def _by(chance: float, on: date | None, until: date, w: Wording) -> str:
    if on is None:
        return f"not {w.chance(chance)} by {day_text(until)}"
    return f"{w.chance(chance)} by {day_text(on)}"


def range_text(low: float, high: float, w: Wording) -> str:
    """What so few years leave open of the date's chance."""
    return f"with so few years the date's chance may be {w.chance(low)} to {w.chance(high)}"


def no_seasons_text(why: str) -> str:
    """No past years are at hand: nothing can be told of chances."""
    return f"how sure the end and the weeks beyond the forecast are cannot be told: {why}"


STOPPED: Final = "the work was not run through past years: it was stopped"


def runs_text(years: int, seasons: int) -> str:
    """What the weeks and chances of a plan go by."""
    return (
        f"weeks and chances beyond it: the work run through {counted(years, 'past year')}, "
        f"{counted(seasons, 'season')}"
    )


def in_week_text(
    chance: float, week: date, sure: date | None, within: float, until: date, w: Wording
) -> str:
    """How sure a step's week is: '7 in 10 by its end, 9 in 10 by the week of 22 Feb'."""
    text = f"{w.chance(chance)} by its end"
    if sure == week or (sure is not None and w.chance(chance) == w.chance(0.9)):
        return text
    if sure is None:
        return f"{text}, {w.chance(within)} by {day_text(until)}"
    return f"{text}, {w.chance(0.9)} by the week of {day_text(sure)}"


def only_within_text(within: float, until: date, w: Wording) -> str:
    """Of a step that less than half of the seasons get to: '3 in 10 by 30 May'."""
    return f"{w.chance(within)} by {day_text(until)}"


def later_title(week: date | None, until: date | None) -> str:
    """The heading of a week beyond the forecast, or of what is later than was looked at."""
    if week is not None:
        return f"probably the week of {day_text(week)}"
    return "later, no week can be told" if until is None else f"probably after {day_text(until)}"


_WAITS: Final = {
    "conditions": "conditions its sheet allows",
    "cure": "films to harden",
    "delivery": "what has to arrive",
    "hands": "your hands, busy elsewhere",
    "dust": "dust to settle",
    "work before": "the work before it",
}


def sets_end_text(job: str, share: float, kind: str, days: float, w: Wording) -> str:
    """'hatch coaming: in 8 in 10 seasons; waits for conditions its sheet allows, 120 days'."""
    text = f"{job}: {w.chance(share)}"
    if kind not in _WAITS or days < 0.5:
        return text
    return f"{text}, waits for {_WAITS[kind]}, {counted(days, 'day')}"


def job_by_text(
    job: str, middle: date | None, chance: float | None, until: date, w: Wording
) -> str:
    """'saloon benches: 5 in 10 by 24 Jan, in time 9 in 10'."""
    text = f"{job}: {_by(0.5, middle, until, w)}"
    return text if chance is None else f"{text}, in time {w.chance(chance)}"


def saving_text(
    without: str, days: float, chance: float | None, w: Wording, *, at_least: bool
) -> str:
    """'with everything delivered already: 5 days sooner, 8 in 10 by the date'."""
    text = f"with {_WITHOUT[without]}"
    if days < 0.5:
        return f"{text}: no sooner"
    least = "at least " if at_least else ""
    by_date = "" if chance is None else f", {w.chance(chance)} by the date"
    return f"{text}: {least}{counted(days, 'day')} sooner{by_date}"


def job_text(job: str, chance: float, middle: date | None, w: Wording) -> str:
    """''hatch rim': 6 in 10 to be done in time, in half of the seasons by 3 Apr'."""
    half = (
        "in less than half of the seasons by the end of what was looked at"
        if middle is None
        else f"in half of the seasons by {day_text(middle)}"
    )
    return f"'{job}': {w.chance(chance)} to be done in time, {half}"


def rest_text(job: str, chance: float, w: Wording) -> str:
    """What the chance would be without the least certain job."""
    return f"everything but '{job}': {w.chance(chance)} by the date"


def hours_text(
    what: str,
    as_is_h: float,
    warmed_h: float,
    least: tuple[float, date] | None,
    most: tuple[float, date] | None,
) -> str:
    """'alkyd enamel, saloon: 0 h a week as it is, 41 h with heat; least 20 h in the week of ..'."""
    text = f"{what}: {as_is_h:.0f} h a week as it is"
    if warmed_h >= as_is_h + 1.0:
        text += f", {warmed_h:.0f} h with the heat it needs"
    if least is not None and most is not None:
        text += (
            f"; least {least[0]:.0f} h in the week of {day_text(least[1])}, "
            f"most {most[0]:.0f} h in that of {day_text(most[1])}"
        )
    return text


def never_text(job: str, why: str) -> str:
    """A job that no year lets be planned."""
    return f"without '{job}', which cannot be planned: {why}"


def not_in_text(job: str, years: int, of_years: int) -> str:
    """A job that some years leave undone."""
    return f"'{job}' finds no start in {years} of {counted(of_years, 'year')}: not done in these"


def few_years_text(count: int) -> str:
    """That a bad winter may be missing."""
    return f"only {counted(count, 'past year')}: a bad winter may not be among them"


def not_had_texts(missing: Sequence[str], most: int = 3) -> list[str]:
    """Years that could not be had, and why."""
    said = [f"not had: {each}" for each in missing[:most]]
    more = len(missing) - most
    return [*said, f"and {counted(more, 'more year')} not had"] if more > 0 else said


def pace_text(logged: int, median: float, least: float, most: float) -> str:
    """How fast the owner works, from coats logged."""
    return (
        f"your pace, from {counted(logged, 'coat')} logged: {median:.2f} times the hours written, "
        f"two in three within {least:.2f} to {most:.2f} times that"
    )
