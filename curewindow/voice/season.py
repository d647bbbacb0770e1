"""The outlook over the season, in words. Days are dates: what it says is read for weeks."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Final

from curewindow.wording import MONTHS, Wording, counted, span

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


def done_text(on: date, chance: float, low: float | None, high: float | None, w: Wording) -> str:
    """'done by 25 Mar: 4 in 10 (3 in 10 to 6 in 10 with so few years)'."""
    text = f"done by {day_text(on)}: {w.chance(chance)}"
    if low is None or high is None or w.chance(low) == w.chance(high):
        return text
    return f"{text} ({w.chance(low)} to {w.chance(high)} with so few years)"


def date_text(on: date | None, end: date, chance: float, w: Wording) -> str:
    """'8 in 10: done by 20 Apr'."""
    when = f"after {day_text(end)}" if on is None else f"by {day_text(on)}"
    return f"{w.chance(chance)}: done {when}"


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


def chance_text(on: date, chance: float, age_h: float, years: int, w: Wording) -> str:
    """The chance last worked out, in one line: '4 in 10 to be done by 25 Mar (..)'."""
    age = "of today" if age_h < 24.0 else f"{span(age_h)} old"
    return (
        f"{w.chance(chance)} to be done by {day_text(on)} (outlook {age}, by "
        f"{counted(years, 'past year')})"
    )
