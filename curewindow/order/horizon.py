"""What lies beyond the forecast of a plan: by likely weeks, with chances, and no clock."""

from __future__ import annotations

from datetime import date, timedelta

from curewindow.order.plan import LaterStep, Plan
from curewindow.voice.season import in_week_text, later_title, only_within_text
from curewindow.wording import Wording


def likely_weeks(step: LaterStep) -> tuple[date, date] | None:
    """Mondays of the likely week and of that by which 9 in 10 are reached; None: none is told."""
    return None if step.week is None else (step.week, step.sure_week or step.week)


def monday_of(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def by_week(plan: Plan) -> dict[date | None, list[LaterStep]]:
    """Later steps by the Monday of their likely week, the first week first; None: no week."""
    found: dict[date | None, list[LaterStep]] = {}
    for step in plan.later:
        found.setdefault(step.week, []).append(step)
    return found


def week_title(plan: Plan, week: date | None) -> str:
    """The heading of such a week."""
    return later_title(week, None if plan.all_done is None else plan.all_done.until)


def sure_text(step: LaterStep, plan: Plan, words: Wording) -> str:
    """How sure its week is; '' where no seasons were run."""
    if plan.all_done is None or step.within_pct is None:
        return ""
    until, within = plan.all_done.until, step.within_pct / 100.0
    if step.week is None or step.chance_pct is None:
        return only_within_text(within, until, words)
    return in_week_text(step.chance_pct / 100.0, step.week, step.sure_week, within, until, words)
