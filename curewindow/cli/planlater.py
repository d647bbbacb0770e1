"""What lies beyond the forecast, for a narrow screen: likely weeks, and no times."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import groupby

from curewindow.cli.text import heading, wrap
from curewindow.order.plan import LaterStep, Plan
from curewindow.voice.cautions import care_text, caution
from curewindow.voice.plan import parts_text, within_text
from curewindow.voice.season import in_week_text, later_title, only_within_text
from curewindow.voice.speaking import short
from curewindow.wording import Wording, counted

_IN = "  "


def later_lines(plan: Plan, words: Wording, width: int, *, full: bool, colour: bool) -> list[str]:
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
    """
    until = None if plan.all_done is None else plan.all_done.until
    found: list[str] = []
    for title, steps in groupby(
        plan.later,
        key=lambda step: later_title(step.week, None if step.within_pct is None else until),
    ):
        found += ["", heading(title, colour=colour)]
        for together in _together(list(steps)):
            found += _lines(together, plan, words, width, full)
    return found


def _together(steps: list[LaterStep]) -> Iterator[list[LaterStep]]:
    """Coats or sittings of one step, one after the other."""
    for _, group in groupby(steps, key=lambda step: (step.job, step.step, step.held)):
        yield list(group)


def _lines(steps: list[LaterStep], plan: Plan, words: Wording, width: int, full: bool) -> list[str]:
    first, last = steps[0], steps[-1]
    mark = " =" if first.held is not None else ""
    title = f"{first.job}: {_what(steps)}{mark}"
    if first.held is not None:
        # The owner's own time, whatever the weather.
        title += f", held by you: {_held(first, words)}"
    elif last.within_pct is not None and plan.all_done is not None:
        title += f"; {_sure(last, plan, words)}"
    found = wrap(title, width, "", _IN)
    under = []
    under += [short(each, words) for each in first.first]
    if first.note:
        under.append(f"your note: {first.note}")
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
    elif dangers:
        found += wrap(care_text(dangers), width, f"{_IN}! ", f"{_IN}{_IN}")
    return found


def _held(step: LaterStep, words: Wording) -> str:
    assert step.held is not None
    return replace(words, known_until=None).when(step.held)


def _sure(step: LaterStep, plan: Plan, words: Wording) -> str:
    assert plan.all_done is not None
    assert step.within_pct is not None
    until = plan.all_done.until
    if step.week is None or step.chance_pct is None:
        return only_within_text(step.within_pct / 100.0, until, words)
    return in_week_text(
        step.chance_pct / 100.0, step.week, step.sure_week, step.within_pct / 100.0, until, words
    )


def _what(steps: list[LaterStep]) -> str:
    first = steps[0]
    if first.coat is not None and first.do == "coat":
        coats = [step.coat for step in steps if step.coat is not None]
        return f"{parts_text(coats)} of {first.of_coats}, {first.product}"
    if first.product is not None:
        return f"{first.do}, {first.product}"
    if first.of_sittings == 1:
        return first.do
    if len(steps) == first.of_sittings:
        return f"{first.do}, in {counted(len(steps), 'part')}"
    parts = " to ".join(dict.fromkeys(str(step.sitting) for step in (first, steps[-1])))
    return f"{first.do}, part {parts} of {first.of_sittings}"
