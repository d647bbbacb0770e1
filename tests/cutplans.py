"""A plan as it were, had its forecast ended sooner."""

from __future__ import annotations

from datetime import datetime

from curewindow.order.plan import LaterStep, Plan


def cut_at(plan: Plan, known: datetime) -> Plan:
    """The plan with its steps from a moment on told as later ones, whose weeks nobody knows."""
    far = [
        LaterStep.model_validate(
            {name: getattr(step, name) for name in LaterStep.model_fields if hasattr(step, name)}
        )
        for step in plan.steps
        if step.start >= known and not step.sanding_for_missed
    ]
    near = [step for step in plan.steps if step.start < known]
    return plan.model_copy(
        update={"steps": near, "later": [*far, *plan.later], "known_until": known}
    )
