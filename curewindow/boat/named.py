"""What a person means by one name: a job, a space, or the open air."""

from __future__ import annotations

from curewindow.boat.checks import OUTDOORS
from curewindow.boat.schema import Boat, Job, Space, Work
from curewindow.errors import NotFoundError
from curewindow.nearest import nearest_or_all


def job_or_space(boat: Boat, work: Work, name: str) -> Job | Space | None:
    """The job, else the space, of that name; None for 'outdoors'.

    Raises
    ------
    NotFoundError
        Neither is there; says the nearest name or all of them.
    """
    wanted = name.strip().casefold()
    named: list[Job | Space] = [*work.job, *boat.space]
    for each in named:
        if each.name.casefold() == wanted:
            return each
    if wanted == OUTDOORS:
        return None
    known = [*(job.name for job in work.job), *(space.name for space in boat.space), OUTDOORS]
    hint = nearest_or_all(wanted, known, "there are")
    raise NotFoundError(f"there is no job or space '{name}'; {hint}")
