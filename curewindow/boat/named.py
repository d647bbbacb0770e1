"""What a person means by one name: a job, a space, or the open air."""

from __future__ import annotations

import difflib

from curewindow.boat.checks import OUTDOORS
from curewindow.boat.schema import Boat, Job, Space, Work
from curewindow.errors import NotFoundError


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
    close = difflib.get_close_matches(wanted, known, n=1, cutoff=0.5)
    hint = f"did you mean '{close[0]}'?" if close else f"there are: {', '.join(known)}"
    raise NotFoundError(f"there is no job or space '{name}'; {hint}")
