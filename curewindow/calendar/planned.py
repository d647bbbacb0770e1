"""The kept order of work as events: a step where the plan has it."""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.calendar.happening import Happening
from curewindow.calendar.saying import Words
from curewindow.daysheet.models import DaySheet
from curewindow.voice.cautions import care_lines
from curewindow.voice.plan import what


def planned_of(sheet: DaySheet, words: Words) -> Iterator[Happening]:
    """Steps of today and the days after; none that the day sheet refuses, none of an old plan.

    A plan is no promise: each is tentative until the day sheet calls it go.
    """
    plan = sheet.plan
    if plan is None or not plan.fresh:
        return
    for step in [*plan.today, *plan.coming]:
        if step.allowed is False:
            continue
        lines = [] if step.product is None else [f"{step.product}."]
        if step.wipe_first:
            lines.append("Wipe it dry first, and log that.")
        if step.must_by is not None:
            lines.append(f"By {words.when(step.must_by)}, or sand first.")
        if step.heat_from is not None and step.heat_until is not None and step.setpoint_c:
            lines.append(
                f"Hold {words.temp(step.setpoint_c)} from {words.when(step.heat_from)} "
                f"to {words.when(step.heat_until)}."
            )
        if step.step_note:
            lines.append(f"Your note: {step.step_note}.")
        lines += care_lines(step.cautions, words.dated)
        lines.append("From the order of work: look at the day sheet before you open the tin.")
        yield Happening(
            kind="plan",
            job=step.job,
            step=step.step,
            coat=step.coat,
            what=step.part,
            begins=step.start,
            ends=step.end,
            title=f"Plan: {step.job}, {what(step)}",
            body="\n".join(lines),
            where=step.where,
            certain=step.allowed is True,
            busy=True,
        )
