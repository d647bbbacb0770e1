"""An order of work for a narrow screen."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from datetime import datetime
from itertools import groupby

from curewindow.cli.planlater import later_lines
from curewindow.cli.text import heading, paint, wrap
from curewindow.heating import HeatPlan
from curewindow.order.heldwarm import heater_dangers, heater_times
from curewindow.order.plan import Plan, PlannedStep
from curewindow.voice.cautions import DEFER, care_text, caution, every_step_text, in_most
from curewindow.voice.heat import run_text
from curewindow.voice.orderwords import (
    HELD_MARK,
    LATE_MARK,
    WIPE_FIRST,
    by_clock_text,
    by_or_sand_text,
    extra_heat_text,
    faults_text,
    held_warm_text,
    in_hand_text,
    job_slack_text,
    link_text,
    made_text,
    proven_text,
    second_look_text,
    where_text,
    your_note_text,
)
from curewindow.voice.paper import as_planned, heat_for, heat_text
from curewindow.voice.plan import NOT_ALL, NOT_BOTH, done_text, part_text
from curewindow.voice.season import all_done_text, job_by_text, sets_end_text
from curewindow.voice.speaking import act, short
from curewindow.voice.variations import (
    DECIDE_TITLE,
    HELPS_TITLE,
    NEAR_STAYS,
    NOTHING_HELPS,
    more_variations_text,
)
from curewindow.wording import Wording

_IN = "  "
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
    usual = [] if full else in_most([step.cautions for step in plan.every()])
    if usual:
        found += ["", *wrap(every_step_text(usual), width, "! ", _IN)]
    rows = _held_warm(plan, words, width, usual)
    rows += [(step.start, _step(step, words, width, full, colour, usual)) for step in plan.steps]
    rows.sort(key=lambda row: row[0])
    for title, group in groupby(rows, key=lambda row: words.day(row[0])):
        found += ["", heading(title, colour=colour)]
        for _, told in group:
            found += told
    found += later_lines(plan, words, width, full=full, colour=colour, usual=usual)
    found += _critical_chain(plan, words, width, full, colour)
    if plan.left_out:
        found += ["", heading("Not in the plan", colour=colour)]
        for job, why in plan.left_out.items():
            found += wrap(f"{job}: {why}", width, "", _IN)
    found += _helps(plan, words, width, colour, looked_for_help)
    found += _basis(plan, words, width, full, colour)
    return found


def _held_warm(
    plan: Plan, words: Wording, width: int, usual: Collection[str]
) -> list[tuple[datetime, list[str]]]:
    """When each heater is to be lit or turned: an act of its own day, whatever it is for."""
    found = []
    for held in heater_times(plan.steps):
        at = max(held.begins, plan.as_of)
        text = heat_text(
            held.space,
            held.setpoint_c,
            held.ends,
            held.vents,
            words,
            still=False,
            turned=held.turned,
        )
        told = wrap(f"{by_clock_text(at, words, turned=held.turned)} {text}", width, "", _IN)
        told += wrap(heat_for(held.jobs), width, _IN, f"{_IN}{_IN}")
        if care := care_text(heater_dangers(held, plan.steps), usual):
            told += wrap(care, width, f"{_IN}! ", f"{_IN}{_IN}")
        found.append((at, told))
    return found


def _sum(plan: Plan, words: Wording, width: int, colour: bool) -> list[str]:
    late = plan.days_in_hand is not None and plan.days_in_hand < 0
    style = "refused" if late else "go"
    said = []
    if plan.all_done is not None:
        said.append(all_done_text(plan.all_done, words))
    if plan.finish is not None:
        text = in_hand_text(done_text(plan.finish, plan.left_out, words), plan.days_in_hand)
        said.append(text if plan.all_done is None else as_planned(text))
    found = [
        paint(line, style, colour=colour) for text in said for line in wrap(text, width, "", _IN)
    ]
    if plan.heat_kwh >= 0.1:
        text = extra_heat_text(
            plan.heat_kwh, plan.fuel_amount, plan.fuel_unit, typical=bool(plan.later)
        )
        found += wrap(text, width)
    if plan.faults:
        text = faults_text(len(plan.faults))
        found += [paint(line, "refused", colour=colour) for line in wrap(text, width, "! ", _IN)]
        for fault in plan.faults:
            found += wrap(fault, width, _IN, f"{_IN}{_IN}")
    return found


def _step(
    step: PlannedStep,
    words: Wording,
    width: int,
    full: bool,
    colour: bool,
    usual: Collection[str],
) -> list[str]:
    marks = ("*" if step.critical else "") + ("=" if step.fixed else "")
    what = part_text(step, step.sitting, step.of_sittings)
    title = f"{words.clock(step.start)}-{words.clock(step.end)} {step.job}: {what}"
    title += f" {marks}" if marks else ""
    style = "head" if step.critical else ""
    found = [
        paint(line, style, colour=colour) if style else line for line in wrap(title, width, "", _IN)
    ]
    if step.heat_before is not None:
        found += wrap(_run(step.heat_before, words), width, _IN, f"{_IN}{_IN}")
    if step.heat is not None:
        # when to light it stands on that day
        text = _run(step.heat, words) if full else short(step.heat.verdict, words)
        found += wrap(text, width, _IN, f"{_IN}{_IN}")
    elif step.setpoint_c is not None and step.heat_from and step.heat_until:
        text = held_warm_text(step.setpoint_c, step.heat_from, step.heat_until, words)
        found += wrap(text, width, _IN, f"{_IN}{_IN}")
    for each in step.first:
        found += wrap(short(each, words), width, _IN, f"{_IN}{_IN}")
    if step.note:
        found += wrap(your_note_text(step.note), width, _IN, f"{_IN}{_IN}")
    if step.cautions:
        found += _care(step, words, width, full, usual)
    if step.wipe_first:
        found += wrap(WIPE_FIRST, width, _IN, f"{_IN}{_IN}")
    if step.must_by is not None:
        # of a coat that is on the day is known, whatever the weather till then
        text = by_or_sand_text(step.must_by, replace(words, known_until=None))
        found += wrap(text, width, _IN, f"{_IN}{_IN}")
    if full or step.critical:
        found += wrap(short(step.why, words), width, _IN, f"{_IN}{_IN}")
    if full:
        slack_days = None if step.slack_h is None else step.slack_h / 24.0
        text = where_text(step.where, step.hard, slack_days, words)
        found += wrap(text, width, _IN, f"{_IN}{_IN}")
    return found


def _run(run: HeatPlan, words: Wording) -> str:
    return run_text(run.verdict, run.ventilation, words)


def _care(
    step: PlannedStep, words: Wording, width: int, full: bool, usual: Collection[str]
) -> list[str]:
    """Every danger of a step by its name, but for the usual; with ``full`` what to do about it."""
    if full:
        return [
            line
            for each in step.cautions
            for line in wrap(caution(each, words), width, f"{_IN}! ", f"{_IN}{_IN}")
        ]
    text = care_text(step.cautions, usual)
    return wrap(text, width, f"{_IN}! ", f"{_IN}{_IN}") if text else []


def _critical_chain(plan: Plan, words: Wording, width: int, full: bool, colour: bool) -> list[str]:
    found: list[str] = []
    if plan.chain:
        found += ["", heading("What sets the end", colour=colour)]
        for link in plan.chain:
            if link.days < 0.1 and not full:
                continue
            found += wrap(
                link_text(link.days, short(link.said, words), link.ends, words), width, "", _IN
            )
    if plan.jobs:
        found += ["", heading("To spare", colour=colour)]
        for job in sorted(plan.jobs, key=lambda each: each.slack_days):
            text = job_slack_text(job.job, job.slack_days, job.last, words)
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
        if text := proven_text(proven, None if date is None else date.value - date.bound):
            found += wrap(text, width)
        found += wrap(second_look_text(verified=plan.verified), width)
    if any(step.critical for step in plan.steps):
        found += wrap(LATE_MARK, width)
    if any(step.fixed for step in plan.steps) or any(step.held for step in plan.later):
        found += wrap(HELD_MARK, width)
    for note in plan.notes:
        found += wrap(note, width, "", _IN)
    if any(step.cautions for step in plan.every()):
        found += wrap(DEFER, width, "", _IN)
    if full:
        found += wrap(made_text(plan.made_at, plan.seconds, words), width)
    return found
