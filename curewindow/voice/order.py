"""What the order of work hangs on, in words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import short, spoken_of
from curewindow.wording import Wording


@spoken_of("awaited")
def _awaited(f: Finding, w: Wording) -> str:
    part, other = f.text("part", "what is below"), f.text("other_job", "another job")
    return {
        "hardens": f"{part} to harden",
        "done": f"{part} to be done",
        "before": f"{part} before it",
        "hands": f"you, busy with {part}",
        "delivery": f"{f.text('thing')} to arrive",
        "cured": f"'{other}' to cure",
        "touch dry": f"'{other}' to be touch dry",
        "dust": f"'{other}' to dry: dust would settle in it",
        "drying": "its last coat to be hard enough",
        "recoat": "the coat below to be ready for the next",
        "conditions": "conditions its sheet allows, in your hours",
        "pinned": "the day the plan has it",
        "choice": "nothing: put where it saves heat or half-days",
    }[f.text("state")]


@spoken_of("begins when")
def _begins(f: Finding, w: Wording) -> str:
    state, at = f.text("state"), f.moment("at")
    if state == "at once":
        return "can be done at once"
    if state == "any time":
        return "any time before would do: put here to save heat or half-days"
    until = "" if at is None else f" ({w.when(at)})"
    waited = f"{_first(f, w)}{until}"
    if state == "choice":
        return f"{waited}; put here to save heat or half-days"
    return f"{'then: ' if state == 'ends then' else ''}waits for {waited}"


@spoken_of("sets end")
def _sets_end(f: Finding, w: Wording) -> str:
    waits = f.text("state") == "waits"
    return f"{f.text('part')} waits for {_first(f, w)}" if waits else f"{f.text('part')} hardens"


@spoken_of("held in plan")
def _held(f: Finding, w: Wording) -> str:
    return f"{f.text('part')} is fixed for {w.when(f.time('at'))}"


@spoken_of("part not before")
def _not_before(f: Finding, w: Wording) -> str:
    why = f": {_first(f, w)}" if f.because else ""
    return f"{f.text('part')} cannot be before {w.when(f.time('at'))}{why}"


@spoken_of("not allowed then")
def _not_allowed(f: Finding, w: Wording) -> str:
    part, at, near = f.text("part"), w.when(f.time("at")), f.moment("otherwise")
    other = "" if near is None else f"; {w.when(near)} is the nearest"
    return {
        "sheet": f"its sheet or the dark does not allow {part} {at}{other}",
        "aboard": f"nobody is aboard for {part} {at}{other}",
        "nothing": f"nothing allows {part} to start {at}",
    }[f.text("state")]


@spoken_of("part waits")
def _waits(f: Finding, w: Wording) -> str:
    at = f.moment("at")
    until = "later than looked at" if at is None else w.when(at)
    return f"{f.text('part')} waits for {_first(f, w)} ({until})"


@spoken_of("no start looked at")
def _no_start(f: Finding, w: Wording) -> str:
    return f"{f.text('part')} has no start within the time looked at"


@spoken_of("part after part")
def _after(f: Finding, w: Wording) -> str:
    part, other, at = f.text("part"), f.text("other_part"), f.moment("at")
    soonest = "" if at is None else f" and cannot be before {w.when(at)}"
    return {
        "row": f"{part} comes after {other}",
        "soonest": f"{part} comes after {other}{soonest}",
        "hot coat": f"{part} has to follow {other} while that is still tacky",
        "cured": f"{part} covers {other}, which does not cure in time",
        "late": f"{part} does not fit after {other} in the time looked at",
    }[f.text("state")]


@spoken_of("hours too few")
def _too_few(f: Finding, w: Wording) -> str:
    return f"hands: the hours aboard up to {w.day(f.time('until'))} are not enough"


@spoken_of("never begun")
def _never_begun(f: Finding, w: Wording) -> str:
    why = f"waits for {_first(f, w)}" if f.because else "has no start"
    return f"{f.text('part')} {why} within the time looked at"


@spoken_of("never hard enough")
def _never_hard(f: Finding, w: Wording) -> str:
    return (
        f"{f.text('other_part')} does not harden enough for {f.text('part')} within the time "
        "looked at"
    )


@spoken_of("delivery in plan")
def _delivery(f: Finding, w: Wording) -> str:
    thing, at = f.text("thing"), f.moment("at")
    day = "" if at is None else f" {w.day(at)}"
    return {
        "no date": f"nobody knows when {thing} arrives: give it a date",
        "week after": f"{thing}: no latest date given, taken as a week after the first",
        "overdue": f"{thing} is overdue: taken to arrive{day}",
    }[f.text("state")]


def _first(f: Finding, w: Wording) -> str:
    return short(f.because[0], w)
