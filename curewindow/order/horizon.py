"""How far a plan is exact: steps within the forecast by the clock, later ones by their week."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from curewindow.order.plan import Plan, PlannedStep
from curewindow.wording import Wording


def near_steps(plan: Plan) -> list[PlannedStep]:
    """The steps whose weather is forecast: their clock times may be told."""
    return [step for step in plan.steps if not _beyond(step, plan)]


def later_steps(plan: Plan) -> list[PlannedStep]:
    """The steps beyond the forecast: of these no face tells more than the week."""
    return [step for step in plan.steps if _beyond(step, plan)]


def _beyond(step: PlannedStep, plan: Plan) -> bool:
    known = plan.known_until
    return step.typical_weather or (known is not None and step.start >= known)


def likely_weeks(step: PlannedStep, words: Wording) -> tuple[date, date]:
    """The Mondays of the first and the last week in which a later step is likely to fall."""
    monday = monday_of(words.local(step.start).date())
    return monday, monday


def monday_of(day: date) -> date:
    """The Monday of a day's week."""
    return day - timedelta(days=day.weekday())


def by_week(steps: Sequence[PlannedStep], words: Wording) -> dict[date, list[PlannedStep]]:
    """Steps by the Monday of their week on the boat's calendar, the first week first."""
    found: dict[date, list[PlannedStep]] = {}
    for step in sorted(steps, key=lambda each: each.start):
        found.setdefault(monday_of(words.local(step.start).date()), []).append(step)
    return found
