"""The coats and the other steps that are left of the work, and when the plan has them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from curewindow.boat.schema import Job, Step, Work
from curewindow.judgement.progress import next_of
from curewindow.record.entries import Coat, Done
from curewindow.rules.work import WITH_PRODUCT

# Job, number of the step, coat (None: a step without a product).
Key = tuple[str, int, int | None]


@dataclass(frozen=True, slots=True)
class PlannedAt:
    """When a plan has a coat or a step, and how warm it is held for it.

    ``weeks``: Mondays of the first and the last week it is likely to fall in, where it lies
    beyond the forecast; then ``start`` is no time to be told.
    """

    start: datetime
    setpoint_c: float | None = None
    weeks: tuple[date, date] | None = None


@dataclass(frozen=True, slots=True)
class Left:
    """One coat, or one step without a product, that is still to be done.

    Attributes
    ----------
    job : Job
    number : int
        Of the step, from 1.
    step : Step
    coat : int or None
    planned : PlannedAt or None
        None: there is no plan, or it has not got it.
    """

    job: Job
    number: int
    step: Step
    coat: int | None
    planned: PlannedAt | None

    @property
    def sands_before(self) -> bool:
        """Is the coat below of the same step sanded first?"""
        return self.coat is not None and self.coat > 1 and self.step.between == "sand"


def left_of(
    work: Work,
    coats: Sequence[Coat],
    dones: Sequence[Done],
    planned: Mapping[Key, PlannedAt],
) -> list[Left]:
    """All that is left, in the order of work.toml.

    Parameters
    ----------
    work : Work
    coats, dones : sequence
        The record.
    planned : mapping
        What the plan has, if there is one.
    """
    found: list[Left] = []
    for job in work.job:
        progress = next_of(job, coats, dones)
        if progress is None:
            continue
        for number, step in enumerate(job.step, 1):
            if number < progress.step_number:
                continue
            first = progress.coat if number == progress.step_number else 1
            each: list[int | None] = [None]
            if step.do in WITH_PRODUCT:
                each = list(range(first or 1, step.coats + 1))
            found += [
                Left(job, number, step, coat, planned.get((job.name, number, coat)))
                for coat in each
            ]
    return found
