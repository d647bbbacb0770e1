"""The kept plan as the judgement reads it: does it still hold, and the heat it has for a step."""

from __future__ import annotations

from datetime import timedelta

from curewindow.boat.schema import Job
from curewindow.findings import Finding, finding
from curewindow.heating import HeatPlan
from curewindow.judgement.progress import Progress
from curewindow.order.kept import KeptPlan, key_of, load
from curewindow.order.plan import Plan
from curewindow.situation import Situation


def kept_plan(facts: Situation) -> KeptPlan:
    """The plan kept in the boat folder, read once."""
    if not facts._plan:
        facts._plan.append(load(facts.folder))
    found: KeptPlan = facts._plan[0]
    return found


def stale_because(facts: Situation, kept: KeptPlan) -> Finding | None:
    """Why a plan may not hold any more; None where nothing is known against it."""
    plan, words = kept.plan, facts.words
    assert plan is not None
    if kept.key != key_of(facts.folder, ()):
        return finding("plan out of date", state="files")
    planned = {(step.job, step.step, step.coat) for step in plan.every()}
    # An entry is kept to the second, a plan made within it
    since = plan.as_of - timedelta(seconds=1)
    unplanned = [
        coat.job
        for coat in facts.coats
        if coat.end > since and (coat.job, coat.step, coat.coat) not in planned
    ]
    if spoilt := spoilt_since(facts, plan):
        return finding("plan out of date", state="spoilt", other_job=min(spoilt))
    if unplanned:
        return finding("plan out of date", state="done otherwise", other_job=unplanned[0])
    if words.local(plan.as_of).date() != words.local(facts.now).date():
        return finding("plan out of date", state="weather", at=plan.as_of)
    return None


def spoilt_since(facts: Situation, plan: Plan) -> set[str]:
    """Jobs of which a coat was found spoilt since a plan was made."""
    return {
        coat.job for coat in facts.coats if coat.spoilt is not None and coat.spoilt > plan.as_of
    }


def planned_heat(facts: Situation, job: Job, progress: Progress) -> HeatPlan | None:
    """The heater run that a plan which still holds has for a job's next step.

    None where it has none, or where the last moment to light for it has passed: what can be
    done then is for the heat search to say.
    """
    kept = kept_plan(facts)
    if kept.plan is None or kept.plan.as_of > facts.now:
        return None
    for step in kept.plan.steps:
        here = (step.job, step.step, step.coat) == (job.name, progress.step_number, progress.coat)
        runs = [run for run in (step.heat_before, step.heat) if run is not None]
        if not here or not runs or step.sanding_for_missed:
            continue
        # What is lit before it comes first.
        for run in runs:
            latest = run.latest_light_at
            if latest is not None and latest >= facts.now:
                return None if stale_because(facts, kept) is not None else run
        return None
    return None
