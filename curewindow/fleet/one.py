"""One boat of many: planned, and put into a line's worth of fields."""

from __future__ import annotations

import time
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.boat.folder import load_boat
from curewindow.boat.schema import Boat
from curewindow.daysheet.holding import named
from curewindow.daysheet.planning import make_plan
from curewindow.errors import EXIT_FAULT, CurewindowError, NotFoundError
from curewindow.fleet.models import FleetBoat
from curewindow.order.kept import load
from curewindow.order.plan import Plan
from curewindow.wording import moment

NOTHING_FITS = 1


def planned(
    folder: Path, at: str | None, *, seconds: float, days: float | None, in_time: bool, kept: bool
) -> FleetBoat:
    """Plan one boat; whatever is wrong with it is told in its answer.

    Parameters
    ----------
    folder : Path
        The boat folder.
    at : str or None
        The moment, in the boat's zone; None: now.
    seconds, days, in_time
        As :func:`curewindow.daysheet.planning.make_plan`.
    kept : bool
        The last plan, none is made.
    """
    begun = time.process_time()
    boat: Boat | None = None
    try:
        boat = load_boat(folder)
        clock = datetime.now(UTC).replace(microsecond=0)
        now = clock if at is None else moment(at, ZoneInfo(boat.place.time_zone), clock)
        plan = (
            _last(folder)
            if kept
            else make_plan(folder, now, seconds=seconds, days=days, in_time=in_time).plan
        )
        answer = _answer(folder, plan, now)
    except CurewindowError as bad:
        answer = _wrong(folder, boat, str(bad), bad.exit_code)
    except OSError as bad:
        name = f"{bad.filename}: " if bad.filename is not None else ""
        answer = _wrong(folder, boat, f"{name}{bad.strerror or bad}", EXIT_FAULT)
    except Exception as bad:
        told = f"a fault in curewindow itself ({type(bad).__name__}: {bad})"
        answer = _wrong(folder, boat, told, EXIT_FAULT)
    return answer.model_copy(update={"seconds": time.process_time() - begun})


def _last(folder: Path) -> Plan:
    plan = load(folder).plan
    if plan is None:
        raise NotFoundError("there is no plan yet", by_command="'curewindow plan' makes one")
    return plan


def _answer(folder: Path, plan: Plan, now: datetime) -> FleetBoat:
    ahead = [step for step in plan.steps if step.end > now]
    first = min(ahead, key=lambda step: step.start, default=None)
    conflict = plan.conflict
    return FleetBoat(
        folder=folder.name,
        boat=plan.boat,
        time_zone=plan.time_zone,
        as_of=now,
        finish=plan.finish,
        all_done=plan.all_done,
        known_until=plan.known_until,
        done_by=plan.done_by,
        days_in_hand=plan.days_in_hand,
        left_out=list(plan.left_out),
        next_job=None if first is None else first.job,
        next_act=None if first is None else named(first),
        next_at=None if first is None else first.start,
        problem="" if conflict is None else "; ".join(conflict.sentences),
        exit_code=0 if conflict is None else NOTHING_FITS,
    )


def _wrong(folder: Path, boat: Boat | None, problem: str, code: int) -> FleetBoat:
    return FleetBoat(
        folder=folder.name,
        boat=folder.name if boat is None else boat.name,
        time_zone=None if boat is None else boat.place.time_zone,
        problem=" ".join(problem.split()),
        exit_code=code,
    )
