"""A kept order of work for a case: each job's next step where its windows are, none solved for."""

from __future__ import annotations

import random
from datetime import timedelta
from pathlib import Path

from curewindow.findings import finding
from curewindow.order.kept import KeptPlan, key_of, store
from curewindow.order.plan import Plan, PlannedStep
from tests.laws.judgement.faces import GRID, Faces


def keep_plan(faces: Faces, folder: Path, rng: random.Random) -> None:
    """Keep a plan made at a moment: steps at any point of the grid in their windows."""
    steps = []
    for job in faces.facts.work.job:
        ahead, windows = faces.day(job.name).next, faces.windows(job.name)
        if ahead is None or not windows:
            continue
        window = rng.choice(windows[:2])
        room = int((window.closes - window.opens) / GRID)
        start = window.opens + rng.randint(0, max(room, 0)) * GRID
        end = start + timedelta(hours=ahead.hands_on_h)
        day = faces.day(job.name)
        steps.append(
            PlannedStep(
                key=f"{job.name}|{ahead.step}.{ahead.coat}",
                part=f"{ahead.step}.{ahead.coat}",
                job=job.name,
                where=day.where,
                space=day.space,
                step=ahead.step,
                do=ahead.do,
                product=ahead.product,
                coat=ahead.coat,
                of_coats=ahead.of_coats,
                start=start,
                end=end,
                hard=end + timedelta(hours=8),
                why=finding("begins when", state="at once"),
                slack_h=0.0,
            )
        )
    if not steps:
        return
    plan = Plan(
        boat=faces.facts.boat.name,
        time_zone=faces.sheet.time_zone,
        temperature_unit=faces.sheet.temperature_unit,
        as_of=faces.now,
        made_at=faces.now,
        finish=max(step.hard for step in steps),
        steps=sorted(steps, key=lambda step: step.start),
    )
    store(folder, KeptPlan(plan, key_of(folder, ())))
