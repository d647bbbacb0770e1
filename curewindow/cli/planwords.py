"""An order of work for a narrow screen."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime
from itertools import groupby

from curewindow.boat.schema import VENTS_WORD
from curewindow.cli.planlater import later_lines
from curewindow.cli.text import heading, paint, wrap
from curewindow.heating import HeatPlan
from curewindow.order.plan import LaterStep, Plan, PlannedStep
from curewindow.voice.cautions import DEFER, care_text, caution
from curewindow.voice.heat import vents_text
from curewindow.voice.paper import as_planned
from curewindow.voice.plan import NOT_ALL, NOT_BOTH, SPOILT, done_text, for_later, heat_for_later
from curewindow.voice.season import all_done_text, job_by_text, sets_end_text
from curewindow.voice.speaking import act, short
from curewindow.voice.variations import (
    DECIDE_TITLE,
    HELPS_TITLE,
    NEAR_STAYS,
    NOTHING_HELPS,
    more_variations_text,
)
from curewindow.wording import Wording, counted

_IN = "  "
_FROM_SLACK_D = 1.0
_OFTEN_PCT = 10.0


def lines(
    plan: Plan,
    words: Wording,
    width: int,
    *,
    full: bool,
    colour: bool,
    looked_for_help: bool = False,
) -> list[str]:
    """All lines of a plan: by the day as far as the forecast carries, by likely weeks beyond.

    Parameters
    ----------
    plan : Plan
    words : Wording
        At the moment it is shown.
    width : int
        Columns.
    full : bool
        Say why for every step, every wait and every note.
    colour : bool
    looked_for_help : bool
        Were ways to save days looked for?
    """
    words = replace(words, known_until=plan.known_until)
    head = f"{plan.boat}, work in order as of {words.when(plan.as_of)}"
    found = [paint(line, "head", colour=colour) for line in wrap(head, width)]
    found += _sum(plan, words, width, colour)
    if plan.conflict is not None:
        found += ["", heading("Nothing fits", colour=colour)]
        for text in plan.conflict.sentences:
            found += wrap(text, width, "- ", _IN)
        if len(plan.conflict.sentences) > 1:
            found += wrap(NOT_ALL if plan.conflict.sentences[2:] else NOT_BOTH, width)
    found += _decide(plan, words, width, colour, full)
    heat = [(step.heat_from, step) for step in plan.later if step.heat_from is not None]
    near = [*((step.start, step) for step in plan.steps), *_once(heat)]
    near.sort(key=lambda each: each[0])
    for title, group in groupby(near, key=lambda each: words.day(each[0])):
        found += ["", heading(title, colour=colour)]
        for at, step in group:
            if isinstance(step, LaterStep):
                found += _lit_for_later(at, step, words, width)
            else:
                found += _step(step, words, width, full, colour)
    found += later_lines(plan, words, width, full=full, colour=colour)
    found += _critical_chain(plan, words, width, full, colour)
    if plan.left_out:
        found += ["", heading("Not in the plan", colour=colour)]
        for job, why in plan.left_out.items():
            found += wrap(f"{job}: {why}", width, "", _IN)
    found += _helps(plan, words, width, colour, looked_for_help)
    found += _basis(plan, words, width, full, colour)
    return found


def _sum(plan: Plan, words: Wording, width: int, colour: bool) -> list[str]:
    late = plan.days_in_hand is not None and plan.days_in_hand < 0
    style = "refused" if late else "go"
    said = []
    if plan.all_done is not None:
        said.append(all_done_text(plan.all_done, words))
    if plan.finish is not None:
        text = done_text(plan.finish, plan.left_out, words)
        if plan.days_in_hand is not None:
            after = " in hand" if plan.days_in_hand >= 0 else " too late for the date"
            text += f", {counted(abs(plan.days_in_hand), 'day')}{after}"
        said.append(text if plan.all_done is None else as_planned(text))
    found = [
        paint(line, style, colour=colour) for text in said for line in wrap(text, width, "", _IN)
    ]
    if plan.heat_kwh >= 0.1:
        winter = ", in a typical winter" if plan.later else ""
        text = f"heat beyond the usual{winter}: {plan.heat_kwh:.0f} kWh"
        if plan.fuel_unit not in ("", "kWh"):
            text += f", about {plan.fuel_amount:.0f} {plan.fuel_unit}"
        found += wrap(text, width)
    if plan.faults:
        text = f"the second look does not agree with {len(plan.faults)}: look before you trust it"
        found += [paint(line, "refused", colour=colour) for line in wrap(text, width, "! ", _IN)]
        for fault in plan.faults:
            found += wrap(fault, width, _IN, f"{_IN}{_IN}")
    return found


def _once(
    heat: list[tuple[datetime, LaterStep]],
) -> list[tuple[datetime, PlannedStep | LaterStep]]:
    """One lighting of a heater a line, whatever it is for besides."""
    first = {(at, step.space): (at, step) for at, step in reversed(heat)}
    return list(first.values())


def _lit_for_later(at: datetime, step: LaterStep, words: Wording, width: int) -> list[str]:
    assert step.setpoint_c is not None
    text = heat_for_later(step.space, step.setpoint_c, words)
    part = f"coat {step.coat} of {step.of_coats}" if step.coat is not None else step.do
    found = wrap(f"{words.clock(at)} {text}", width, "", _IN)
    found += wrap(for_later(step.job, part), width, _IN, f"{_IN}{_IN}")
    if step.cautions:
        found += wrap(care_text(step.cautions), width, f"{_IN}! ", f"{_IN}{_IN}")
    return found


def _step(step: PlannedStep, words: Wording, width: int, full: bool, colour: bool) -> list[str]:
    marks = ("*" if step.critical else "") + ("=" if step.fixed else "")
    title = f"{words.clock(step.start)}-{words.clock(step.end)} {step.job}: {_what(step)}"
    title += f" {marks}" if marks else ""
    style = "head" if step.critical else ""
    found = [
        paint(line, style, colour=colour) if style else line for line in wrap(title, width, "", _IN)
    ]
    if step.heat_before is not None:
        found += wrap(_heat(step.heat_before, words), width, _IN, f"{_IN}{_IN}")
    if step.heat is not None:
        found += wrap(_heat(step.heat, words), width, _IN, f"{_IN}{_IN}")
    elif step.setpoint_c is not None and step.heat_from and step.heat_until:
        stretch = f"from {words.when(step.heat_from)} until {words.when(step.heat_until)}"
        text = f"heat: hold {words.temp(step.setpoint_c)} {stretch}"
        found += wrap(text, width, _IN, f"{_IN}{_IN}")
    for each in step.first:
        found += wrap(short(each, words), width, _IN, f"{_IN}{_IN}")
    if step.note:
        found += wrap(f"your note: {step.note}", width, _IN, f"{_IN}{_IN}")
    if step.cautions:
        found += _care(step, words, width, full)
    if step.wipe_first:
        found += wrap("wipe it dry first, dew lies on it", width, _IN, f"{_IN}{_IN}")
    if step.must_by is not None:
        # of a coat that is on the day is known, whatever the weather till then
        text = f"by {replace(words, known_until=None).when(step.must_by)}"
        found += wrap(f"{text}, or sand first", width, _IN, f"{_IN}{_IN}")
    if full or step.critical:
        found += wrap(step.why, width, _IN, f"{_IN}{_IN}")
    if full:
        text = f"{step.where}; hard {words.when(step.hard)}"
        if step.slack_h is not None:
            text += f"; {_slack(step.slack_h / 24.0)}"
        found += wrap(text, width, _IN, f"{_IN}{_IN}")
    return found


def _heat(run: HeatPlan, words: Wording) -> str:
    """A step's heater run, as 'heat' tells it."""
    vents = run.ventilation
    state = "" if vents in (None, "normal") else f"; {vents_text(VENTS_WORD[vents])}"
    return act(run.verdict, words) + state


def _care(step: PlannedStep, words: Wording, width: int, full: bool) -> list[str]:
    """Every danger of a step by its name; with ``full`` what to do about each."""
    if full:
        return [
            line
            for each in step.cautions
            for line in wrap(caution(each, words), width, f"{_IN}! ", f"{_IN}{_IN}")
        ]
    return wrap(care_text(step.cautions), width, f"{_IN}! ", f"{_IN}{_IN}")


def _what(step: PlannedStep) -> str:
    if step.spoilt:
        return SPOILT
    if step.sanding_for_missed:
        return "sand, its recoat interval passes"
    if step.coat is not None and step.do == "coat":
        return f"coat {step.coat} of {step.of_coats}, {step.product}"
    if step.product is not None:
        return f"{step.do}, {step.product}"
    part = f", part {step.sitting} of {step.of_sittings}" if step.of_sittings > 1 else ""
    return f"{step.do}{part}"


def _slack(days: float) -> str:
    if days < _FROM_SLACK_D:
        return "no day to spare"
    return f"{days:.0f} {'day' if round(days) == 1 else 'days'} to spare"


def _critical_chain(plan: Plan, words: Wording, width: int, full: bool, colour: bool) -> list[str]:
    found: list[str] = []
    if plan.chain:
        found += ["", heading("What sets the end", colour=colour)]
        for link in plan.chain:
            if link.days < 0.1 and not full:
                continue
            text = f"{_days(link.days)}  {link.text}, until {words.when(link.ends)}"
            found += wrap(text, width, "", _IN)
    if plan.jobs:
        found += ["", heading("To spare", colour=colour)]
        for job in sorted(plan.jobs, key=lambda each: each.slack_days):
            text = f"{job.job}: {_slack(job.slack_days)}, hard {words.day(job.last)}"
            found += wrap(text, width, "", _IN)
    often = [each for each in plan.sets_end if full or each.share_pct >= _OFTEN_PCT]
    if often:
        found += ["", heading("What the end hangs on", colour=colour)]
        for each in often:
            share = each.share_pct / 100.0
            said = sets_end_text(each.job, share, each.kind, each.days, words)
            found += wrap(said, width, "", _IN)
    later = {step.job for step in plan.later}
    ends = [each for each in plan.jobs_by if full or each.job in later]
    if ends and plan.all_done is not None:
        found += ["", heading("Each job done", colour=colour)]
        for by in ends:
            chance = None if by.chance_pct is None else by.chance_pct / 100.0
            said = job_by_text(by.job, by.middle, chance, plan.all_done.until, words)
            found += wrap(said, width, "", _IN)
    return found


def _days(days: float) -> str:
    return f"{days:.0f} d" if days >= 1.95 else f"{24 * days:.0f} h"


def _helps(plan: Plan, words: Wording, width: int, colour: bool, looked: bool) -> list[str]:
    if not plan.suggestions:
        if not looked:
            return []
        return ["", heading(HELPS_TITLE, colour=colour), *wrap(NOTHING_HELPS, width)]
    found = ["", heading(HELPS_TITLE, colour=colour)]
    for each in plan.suggestions:
        done = "" if each.finish is None else f", done {words.day(each.finish)}"
        found += wrap(f"{each.text}{done}", width, "- ", _IN)
        for danger in each.cautions:
            found += wrap(caution(danger, words), width, f"{_IN}! ", f"{_IN}{_IN}")
    if plan.more_suggestions:
        found += wrap(more_variations_text(plan.more_suggestions), width)
    if plan.finish is None and plan.all_done is not None:
        found += wrap(NEAR_STAYS, width)
    return found


def _decide(plan: Plan, words: Wording, width: int, colour: bool, full: bool) -> list[str]:
    """What the date hangs on and has to be seen to today, with its dangers."""
    if not plan.decide_now:
        return []
    found = ["", heading(DECIDE_TITLE, colour=colour)]
    for each in plan.decide_now:
        found += wrap(act(each, words), width, "- ", _IN)
        if full:
            for danger in each.because:
                found += wrap(caution(danger, words), width, f"{_IN}! ", f"{_IN}{_IN}")
        elif each.because:
            found += wrap(care_text(each.because), width, f"{_IN}! ", f"{_IN}{_IN}")
    return found


def _basis(plan: Plan, words: Wording, width: int, full: bool, colour: bool) -> list[str]:
    found = ["", heading("Goes by", colour=colour)]
    proven = {each.aim for each in plan.reached if each.proven}
    if plan.steps or plan.later:
        date = next((each for each in plan.reached if each.aim == "date"), None)
        if proven >= {"date", "cost", "calm"}:
            found += wrap("no better order exists for what is known", width)
        elif proven >= {"date", "cost"}:
            found += wrap(
                "no sooner date exists, nor one with less heat, waiting and sanding; the days "
                "might be calmer",
                width,
            )
        elif date is not None and date.proven:
            found += wrap("no sooner date exists; heat and calm may go better", width)
        elif date is not None:
            best = f"perhaps {date.value - date.bound} days sooner: give it --seconds"
            found += wrap(f"not proven to be the best: {best}", width)
        said = "a second look found every rule kept" if plan.verified else "not verified"
        found += wrap(said, width)
    if any(step.critical for step in plan.steps):
        found += wrap("* the date moves with it", width)
    if any(step.fixed for step in plan.steps) or any(step.held for step in plan.later):
        found += wrap("= held by you", width)
    for note in plan.notes:
        found += wrap(note, width, "", _IN)
    if any(step.cautions for step in plan.every()):
        found += wrap(DEFER, width, "", _IN)
    if full:
        found += wrap(f"made {words.when(plan.made_at)} in {plan.seconds:.0f} s", width)
    return found
