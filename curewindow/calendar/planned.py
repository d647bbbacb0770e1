"""The kept order of work as events: a step where the plan has it."""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.calendar.happening import Happening
from curewindow.daysheet.models import DaySheet
from curewindow.voice.calendar import FROM_PLAN, planned_lines, planned_title
from curewindow.voice.cautions import care_lines
from curewindow.voice.plan import what
from curewindow.wording import Wording


def planned_of(sheet: DaySheet, words: Wording) -> Iterator[Happening]:
    """Steps of today and the days after; none that the day sheet refuses, none of an old plan.

    A plan is no promise: each is tentative until the day sheet calls it go.
    """
    plan = sheet.plan
    if plan is None or not plan.fresh:
        return
    for step in [*plan.today, *plan.coming]:
        if step.allowed is False:
            continue
        heat = None
        if step.heat_from is not None and step.heat_until is not None and step.setpoint_c:
            heat = step.setpoint_c, step.heat_from, step.heat_until
        lines = planned_lines(
            words,
            product=step.product or "",
            wipe_first=step.wipe_first,
            must_by=step.must_by,
            heat=heat,
            note=step.step_note,
        )
        yield Happening(
            kind="plan",
            job=step.job,
            step=step.step,
            coat=step.coat,
            what=step.part,
            begins=step.start,
            ends=step.end,
            title=planned_title(step.job, what(step)),
            body="\n".join([*lines, *care_lines(step.cautions, words), FROM_PLAN]),
            where=step.where,
            certain=step.allowed is True,
            busy=True,
        )
