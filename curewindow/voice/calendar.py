"""Events of a calendar in the trade's words: days by date, since a calendar keeps them."""

from __future__ import annotations

from datetime import datetime, timedelta

from curewindow.answers import Clock, NextStep, Window
from curewindow.findings import Finding
from curewindow.rules.chance import worth_saying
from curewindow.voice.day import margin_text, step_text
from curewindow.voice.speaking import act, full
from curewindow.wording import Wording

LOOK_FIRST = "The weather moves: look at the day sheet before you open the tin."
_AFTER = {"never": "after that no further coat may go on", "sand": "after that sand it first"}


def _sentence(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}."


# ---- windows --------------------------------------------------------------------------------


def window_title(job: str, ahead: NextStep, window: Window, words: Wording) -> str:
    """'hatch rim: coat 2 of 3, oil varnish, 6 in 10'."""
    chance = f", {words.chance(window.confidence)}" if worth_saying(window.confidence) else ""
    return f"{job}: {step_text(ahead)}{chance}"


def window_soon(title: str) -> str:
    """What the alarm before a window says."""
    return f"Opens soon: {title}"


def window_lines(ahead: NextStep, window: Window, words: Wording) -> list[str]:
    """Last start and end, the best start, how likely, what closes it and what follows."""
    ends = window.closes + timedelta(hours=ahead.tail_h)
    lines = [f"Last start {words.when(window.closes)}, done by {words.when(ends)}."]
    if window.best_start > window.opens:
        lines.append(f"Best start {words.when(window.best_start)}.")
    if ahead.sheet is None:
        return lines
    lines.append(f"Chance that the best start holds: {words.chance(window.confidence)}.")
    lines.append(f"Closes then: {full(window.closes_because, words)}.")
    if window.tightest is not None:
        lines.append(f"Tightest: {margin_text(window.tightest, words)}.")
    return [*lines, *_after(window, words)]


def _after(window: Window, words: Wording) -> list[str]:
    """What follows the best start, a line each."""
    after = window.after
    about = "about " if after.extrapolated else ""
    lines = []
    if after.touch_dry is not None:
        lines.append(f"Then touch dry {about}{words.when(after.touch_dry)}.")
    if after.recoat_from is not None:
        until = ""
        if after.recoat_until is not None and after.recoat_until > after.recoat_from:
            until = f" until {about}{words.when(after.recoat_until)}"
        lines.append(f"Next coat from {about}{words.when(after.recoat_from)}{until}.")
    elif after.closed_up is not None:
        lines.append(f"May be covered from {about}{words.when(after.closed_up)}.")
    return lines


# ---- heat -----------------------------------------------------------------------------------


def heat_title(temp_c: float, job: str, words: Wording) -> str:
    """'Heat to 21 °C: hatch rim'."""
    return f"Heat to {words.temp(temp_c)}: {job}"


def heat_alarms(space: str, job: str) -> tuple[str, str]:
    """What is said when the heater is to be lit, and when it may be turned down."""
    return f"Light the heater, {space}: {job}", f"Turn the heater down, {space}: {job}"


def heat_lines(run: Finding, until: datetime, milestone: str, words: Wording) -> list[str]:
    """The run, then the coat, then the end of it.

    Parameters
    ----------
    run : Finding
        The 'heater run', or the one by which a film 'hardens' sooner.
    until : datetime
        The heat is held so long.
    milestone : str
        What the coat has reached by then; '' where nothing names it.
    words : Wording
        As of before it is lit: read later, it still says by when and not 'now'.
    """
    why = f", when it is {milestone}" if milestone else ""
    begins = run.moment("begins")
    step = "Start the coat" if run.kind == "heater run" else "Go on with the next step"
    return [
        _sentence(act(run, words)),
        *([] if begins is None else [f"{step} {words.when(begins)}."]),
        f"Turn the heater down {words.when(until)}{why}.",
    ]


def airing_line(begins: datetime, ends: datetime, flow_m3_h: float, words: Wording) -> str:
    """'Air it Thu 3 Dec 09:00 until 12:00, at least 360 m³/h.'"""
    return f"Air it {words.from_to(begins, ends)}, at least {flow_m3_h:.0f} m³/h."


# ---- coats that are on ----------------------------------------------------------------------


def _coat(clock: Clock) -> str:
    of = f" {clock.coat} of {clock.of_coats}" if clock.of_coats > 1 else ""
    return f"{clock.job}, coat{of}"


def _basis(clock: Clock, words: Wording) -> list[str]:
    lines = [f"Put on {words.when(clock.applied)}.", f"Hours so far: {full(clock.basis, words)}."]
    if clock.extrapolated:
        lines.append("Partly outside the sheet's own table: less certain.")
    return lines


def ready_title(clock: Clock) -> str:
    """'Ready for the next coat: hatch rim, coat 2 of 3'."""
    return f"Ready for the next coat: {_coat(clock)}"


def recoat_title(clock: Clock, ends: datetime, words: Wording) -> str:
    """'Recoat by 14:40, after that sand it first: hatch rim, coat 2 of 3'."""
    return f"Recoat by {words.clock(ends)}{_then(clock)}: {_coat(clock)}"


def milestone_title(clock: Clock, milestone: str) -> str:
    """'Touch dry: hatch rim, coat 2 of 3'."""
    return f"{milestone[:1].upper()}{milestone[1:]}: {_coat(clock)}"


def from_lines(clock: Clock, at: datetime, words: Wording) -> list[str]:
    """From when on, at the latest, and by what."""
    return [f"From {words.when(at)} at the latest.", *_basis(clock, words)]


def recoat_lines(clock: Clock, ends: datetime, words: Wording) -> list[str]:
    """By when, what comes of a missed interval, and by what."""
    return [f"Recoat by {words.when(ends)}{_then(clock)}.", *_basis(clock, words)]


def _then(clock: Clock) -> str:
    then = _AFTER.get(clock.recoat_after or "")
    return "" if then is None else f", {then}"


# ---- the order of work ----------------------------------------------------------------------

FROM_PLAN = "From the order of work: look at the day sheet before you open the tin."


def planned_title(job: str, what: str) -> str:
    """'Planned: hatch rim, coat 2 of 3'."""
    return f"Planned: {job}, {what}"


def planned_lines(
    words: Wording,
    *,
    product: str,
    wipe_first: bool,
    must_by: datetime | None,
    heat: tuple[float, datetime, datetime] | None,
    note: str,
) -> list[str]:
    """What goes with a planned step; ``heat`` is held at, from and until."""
    lines = [f"{product}."] if product else []
    if wipe_first:
        lines.append("Wipe the surface dry first, and log that.")
    if must_by is not None:
        lines.append(f"By {words.when(must_by)}, or sand it first.")
    if heat is not None:
        temp_c, begins, until = heat
        lines.append(f"Hold {words.temp(temp_c)} {words.from_to(begins, until)}.")
    if note:
        lines.append(f"Your note: {note}.")
    return lines
