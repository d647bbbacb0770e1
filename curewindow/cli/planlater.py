"""What lies beyond the forecast, for a narrow screen: likely weeks, and no times."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace
from itertools import groupby

from curewindow.cli.text import heading, wrap
from curewindow.order.horizon import by_week, sure_text, week_title
from curewindow.order.plan import LaterStep, Plan
from curewindow.voice.cautions import care_text, caution
from curewindow.voice.orderwords import your_note_text
from curewindow.voice.paper import coats_text
from curewindow.voice.plan import sanding_text, within_text
from curewindow.voice.speaking import short
from curewindow.wording import Wording, counted

_IN = "  "


def later_lines(
    plan: Plan,
    words: Wording,
    width: int,
    *,
    full: bool,
    colour: bool,
    usual: Collection[str] = (),
) -> list[str]:
    """The later steps by their likely weeks, coats of one step that follow each other together.

    Parameters
    ----------
    plan : Plan
    words : Wording
    width : int
        Columns.
    full : bool
        What to do about each danger, and not only its name.
    colour : bool
    usual : collection of str
        Names of dangers that are told of all steps at once.
    """
    found: list[str] = []
    for week, steps in by_week(plan).items():
        found += ["", heading(week_title(plan, week), colour=colour)]
        for together in _together(steps):
            found += _lines(together, plan, words, width, full, usual)
    return found


def _together(steps: list[LaterStep]) -> Iterator[list[LaterStep]]:
    """Coats or sittings of one step, one after the other."""
    for _, group in groupby(steps, key=lambda step: (step.job, step.step, step.held)):
        yield list(group)


def _lines(
    steps: list[LaterStep],
    plan: Plan,
    words: Wording,
    width: int,
    full: bool,
    usual: Collection[str],
) -> list[str]:
    first, last = steps[0], steps[-1]
    mark = " =" if first.held is not None else ""
    title = f"{first.job}: {_what(steps)}{mark}"
    if first.held is not None:
        # The owner's own time, whatever the weather.
        title += f", held by you: {_held(first, words)}"
    elif sure := sure_text(last, plan, words):
        title += f"; {sure}"
    found = wrap(title, width, "", _IN)
    under = [sanding_text(spoilt=first.spoilt)] if first.sanding_for_missed else []
    under += [short(each, words) for each in first.first]
    if first.note:
        under.append(your_note_text(first.note))
    if first.within_h is not None and first.below is not None:
        under.append(within_text(first.within_h, first.below))
    for text in under:
        found += wrap(text, width, _IN, f"{_IN}{_IN}")
    dangers = list(
        {each.model_dump_json(): each for step in steps for each in step.cautions}.values()
    )
    if full:
        for each in dangers:
            found += wrap(caution(each, words), width, f"{_IN}! ", f"{_IN}{_IN}")
    elif text := care_text(dangers, usual):
        found += wrap(text, width, f"{_IN}! ", f"{_IN}{_IN}")
    return found


def _held(step: LaterStep, words: Wording) -> str:
    assert step.held is not None
    return replace(words, known_until=None).when(step.held)


def _what(steps: list[LaterStep]) -> str:
    first = steps[0]
    if first.coat is not None and first.do == "coat":
        coats = [step.coat for step in steps if step.coat is not None]
        return coats_text(first.do, coats, first.of_coats or 1, first.product or "")
    if first.product is not None:
        return f"{first.do}, {first.product}"
    if first.of_sittings == 1:
        return first.do
    if len(steps) == first.of_sittings:
        return f"{first.do}, in {counted(len(steps), 'part')}"
    parts = " to ".join(dict.fromkeys(str(step.sitting) for step in (first, steps[-1])))
    return f"{first.do}, part {parts} of {first.of_sittings}"
