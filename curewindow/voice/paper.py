"""The planned days on paper in the trade's words: days by date, since paper hangs for days."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from typing import Final

from curewindow.boat.schema import VENTS_WORD, Ventilation
from curewindow.voice.day import product_text
from curewindow.voice.heat import vents_text
from curewindow.wording import Wording, counted

DONE: Final = "done already, by the record"
WIPE_FIRST: Final = "wipe it dry first: dew lies on it"
HELD_BY_YOU: Final = "held there by you"
LOOK_FIRST: Final = "weather changes: look at the day sheet before you open a tin"
TAKE_CARE: Final = "Take care"
LATER: Final = "Later, by the week"
DOUBTED: Final = "the second look does not agree with this plan: look before you trust it"
ALL_PAST: Final = "all of this plan lies in the past: make a new one"


def days_text(first: str, last: str) -> str:
    """'Mon 30 Nov until Sun 6 Dec'; one day by itself."""
    return first if first == last else f"{first} until {last}"


def act_text(
    do: str,
    *,
    coat: tuple[int, int] | None = None,
    product: str = "",
    part: tuple[int, int] | None = None,
) -> str:
    """'coat 2 of 5, oil varnish', 'sand, part 1 of 2': which of how many."""
    text = do if coat is None else f"{do} {coat[0]} of {coat[1]}"
    if product:
        text += f", {product_text(product)}"
    return f"{text}, part {part[0]} of {part[1]}" if part is not None else text


def step_text(job: str, space: str, what: str) -> str:
    """'hatch rim (outdoors): coat 2 of 3, oil varnish'."""
    return f"{job} ({space}): {what}"


def ready_text(job: str, do: str, coat: int) -> str:
    """A coat that should be hard by now."""
    return f"{job}, {do} {coat}: should be hard, test it by hand"


def deadline_text(job: str, do: str, coat: int | None) -> str:
    """The last moment of a step."""
    return f"{job}, {do} {coat or ''}".rstrip() + ": last moment, after that sand first"


def wait_text(what: str, until: datetime, words: Wording) -> str:
    """What a step waits for."""
    return f"wait for {what}, about {words.when(until)}"


def by_text(until: datetime, words: Wording) -> str:
    """When a step has to be begun."""
    return f"by {words.when(until)}, after that sand it first"


def together(texts: Sequence[str]) -> str:
    """What is short, on one line."""
    return "; ".join(texts)


def care_named(names: Sequence[str]) -> str:
    """The dangers of a step: what to do about each stands once, under 'Take care'."""
    return f"take care: {', '.join(names)}"


def note_text(note: str) -> str:
    """The owner's own words."""
    return f"your note: {note}"


def heat_text(
    space: str,
    temp_c: float,
    until: datetime,
    vents: Ventilation,
    words: Wording,
    *,
    still: bool,
    turned: bool,
) -> str:
    """A heater to be lit, turned, or left on, and how the vents stand meanwhile."""
    verb = "heater stays on" if still else "turn the heater" if turned else "light the heater"
    held = f"{verb}, {space}: hold {words.temp(temp_c)} until {words.when(until)}"
    return held if vents == "normal" else f"{held}; {vents_text(VENTS_WORD[vents])}"


def heat_for(jobs: Sequence[str]) -> str:
    """What the heat is for."""
    return f"for {', '.join(jobs)}"


def heat_off(space: str) -> str:
    """A heater that nothing asks for any more."""
    return f"turn the heater back, {space}: its routine again"


def printed_text(at: datetime, made: datetime, words: Wording) -> str:
    """When it was printed, and from which plan."""
    return f"printed {words.when(at)}, from the plan made {words.when(made)}"


def as_planned(done: str) -> str:
    """When all is done."""
    return f"{done}, if it goes as planned"


def nothing_text(until: str) -> str:
    """A day without work, or several in a row."""
    return f"nothing planned{f' until {until}' if until else ''}"


def coats_text(do: str, coats: Sequence[int], of_coats: int, product: str) -> str:
    """'coats 1 and 2 of 3, oil varnish': what a week has of one product."""
    if of_coats == 1:
        return f"{do}, {product_text(product)}"
    some = [f"{each}" for each in coats]
    named = some[0] if len(some) == 1 else f"{', '.join(some[:-1])} and {some[-1]}"
    return f"{do}{'s' if len(some) > 1 else ''} {named} of {of_coats}, {product_text(product)}"


def week_job_text(job: str, acts: Sequence[str], sure: str) -> str:
    """What a week has of a job, and how sure that is."""
    text = f"{job}: {'; '.join(acts)}"
    return f"{text} ({sure})" if sure else text


def more_weeks_text(count: int, last: str) -> str:
    """Weeks that did not fit on the page."""
    return f"{counted(count, 'more step')}, the last in the {last}"


def beyond_text(count: int, until: datetime | None, words: Wording) -> str:
    """Steps after the days shown whose weather is forecast."""
    ends = "" if until is None else f", until {words.day(until)}"
    return f"{counted(count, 'more step')} after these days{ends}: print again by then"


def later_care_text(named: str) -> str:
    """Dangers that only work after the days shown has."""
    return f"With later work: {named}."


def forecast_over(ended: datetime, words: Wording) -> str:
    """The whole of a plan is beyond its forecast by now."""
    return f"the forecast of this plan ended {words.when(ended)}: make a new plan"


def left_out_text(jobs: Sequence[str]) -> str:
    """Jobs that could not be planned."""
    return f"not in the plan: {', '.join(jobs)}"
