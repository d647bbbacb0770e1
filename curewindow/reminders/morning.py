"""The morning notice: what the day allows, in a dozen short lines."""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.daysheet.models import JobDay
from curewindow.daysheet.plannedwords import plan_lines, plan_note
from curewindow.reminders.daily import EARLY, morning_notice, morning_of
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder
from curewindow.reminders.saying import listed
from curewindow.voice import full, short
from curewindow.voice.cautions import DEFER, care_lines
from curewindow.voice.day import act_text, recoat_text, short_reason

_MOST_LINES = 4
_MOST_STEPS = 6


def morning_reminders(known: Known) -> Iterator[Reminder]:
    """Today's notice, once its time has come."""
    due = morning_of(known.now, known.settings.morning, known.words.zone)
    if known.now < due - EARLY:
        return
    sheet = known.sheet
    go = [day for day in sheet.jobs if day.status == "go"]
    refused = [day for day in sheet.jobs if day.status == "refused"]
    title = (
        f"{known.words.date(due)}: {listed(day.job for day in go[:3])}"
        + (f" and {len(go) - 3} more" if len(go) > 3 else "")
        if go
        else f"{known.words.date(due)}: no start today"
    )
    yield morning_notice(due, known.words.zone, title, _lines(known, go, refused))


def _planned(known: Known) -> list[str]:
    """Today's part of the order of work, if one is kept: only what the day sheet allows."""
    plan = known.sheet.plan
    if plan is None:
        return []
    found = [line for line in plan_lines(plan, known.words) if line.ok]
    lines = [f"PLAN {line.clock} {line.text}" for line in found[:_MOST_STEPS]]
    if len(found) > _MOST_STEPS:
        lines.append(f"and {len(found) - _MOST_STEPS} more in the plan")
    if found and (note := plan_note(plan)):
        lines.append(f"PLAN {note}")
    return lines


def _lines(known: Known, go: list[JobDay], refused: list[JobDay]) -> list[str]:
    words, sheet = known.words, known.sheet
    lines: list[str] = []
    lines += [
        f"! {clock.job}: {recoat_text(clock, words)}"
        for clock in sheet.clocks
        if clock.next_deadline is not None and clock.next_deadline > known.now
    ]
    lines += [f"! {clock.job}: check the coat" for clock in sheet.clocks if clock.to_check]
    lines += _planned(known)
    for day in go:
        assert day.next is not None
        lines.append(f"✓ {day.job}, {act_text(day.next)}: {full(day.verdict, words)}")
    lines += [f"✗ {day.job}: {full(day.verdict, words)}" for day in refused]
    lines += [
        f"HEAT {day.job}: {short(day.heat.verdict, words)}"
        for day in sheet.jobs
        if day.heat is not None and day.heat.status == "possible" and day.heat.light_at is not None
    ]
    if not go:
        waits = [
            (day.job, short_reason(day.waits, day.obstacles, words))
            for day in sheet.jobs
            if day.status != "done"
        ]
        lines += [f"{job}: {why}" for job, why in waits[:_MOST_LINES] if why]
    lines += [
        f"CARE {line}"
        for line in care_lines((each.danger for each in sheet.cautions), words, _MOST_LINES)
    ]
    lines += [
        f"NEW {change.job}: {full(change.said, words)}" for change in sheet.changes[:_MOST_LINES]
    ]
    if len(sheet.changes) > _MOST_LINES:
        lines.append(f"and {len(sheet.changes) - _MOST_LINES} more changes")
    if sheet.cautions:
        lines.append(DEFER)
    if sheet.provenance.typical_sheets:
        lines.append("Typical sheets: check your tin.")
    return lines
