"""Where a job stands by its record: which step, which coat comes next."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from curewindow.boat.schema import Job, Step
from curewindow.findings import Finding, finding
from curewindow.record.entries import Coat, Done
from curewindow.record.spoilt import counting, still_done
from curewindow.rules.work import WITH_PRODUCT


@dataclass(frozen=True, slots=True)
class Progress:
    """What comes next in a job.

    Attributes
    ----------
    step_number : int
        Counts from 1.
    step : Step
        The step itself.
    coat : int or None
        The coat that is next, from 1; None for steps without a product.
    last_coat : Coat or None
        The last coat that went on in this job, of whatever step, spoilt or not.
    notes : tuple of Finding
        What was taken for granted.
    """

    step_number: int
    step: Step
    coat: int | None
    last_coat: Coat | None
    notes: tuple[Finding, ...] = ()

    @property
    def sands_first(self) -> bool:
        """Is the coat before of the same step to be sanded before this one?"""
        return self.coat is not None and self.coat > 1 and self.step.between == "sand"


def next_of(job: Job, coats: Sequence[Coat], dones: Sequence[Done]) -> Progress | None:
    """Derive the next step and coat of a job.

    Whatever stands in the record of a later step shows that the earlier ones were
    done, whether they were written down or not. A coat that is spoilt is due again, and what
    was done on it with it.

    Parameters
    ----------
    job : Job
        The job.
    coats, dones : sequence
        The record up to the moment asked about, of any job.

    Returns
    -------
    Progress or None
        None where every step is done.
    """
    lying = sorted((coat for coat in coats if coat.job == job.name), key=lambda c: (c.end, c.id))
    own = counting(lying)
    steps = range(1, len(job.step) + 1)
    done_by = still_done(lying, dones)
    finished = {done.step for done in done_by if done.job == job.name and done.step in steps}
    reached = max([0, *finished, *(coat.step for coat in own if coat.step in steps)])
    last = lying[-1] if lying else None
    unwritten: list[int] = []
    for number, step in enumerate(job.step, 1):
        on = [coat.coat for coat in own if coat.step == number]
        complete = (
            max(on, default=0) >= step.coats if step.do in WITH_PRODUCT else number in finished
        )
        if complete or number in finished:
            continue
        if number < reached:
            unwritten.append(number)
            continue
        notes = _changed(job, own)
        if unwritten:
            which = tuple(f"{n} ({job.step[n - 1].do})" for n in unwritten)
            notes.append(finding("steps not logged", names=which))
        coat_number = max(on, default=0) + 1 if step.do in WITH_PRODUCT else None
        return Progress(number, step, coat_number, last, tuple(notes))
    return None


def _changed(job: Job, own: Sequence[Coat]) -> list[Finding]:
    """What to say of recorded coats whose step is another, or none, in the list of today."""
    notes: list[Finding] = []
    for coat in {coat.step: coat for coat in own}.values():
        planned = job.step[coat.step - 1] if coat.step <= len(job.step) else None
        if planned is None or planned.do not in WITH_PRODUCT:
            do, thing = None if planned is None else planned.do, None
        elif planned.sheet != coat.sheet:
            do, thing = planned.do, planned.sheet
        else:
            continue
        notes.append(
            finding("steps renumbered", sheet=coat.sheet, count=coat.step, do=do, thing=thing)
        )
    return notes
