"""What would save days: the work planned again with one thing otherwise, each with its price."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import time, timedelta
from pathlib import Path

import numpy as np

from curewindow.boat.folder import own_sheets
from curewindow.boat.hours import hours_mask
from curewindow.boat.schema import Boat, Heating, Hours, Job, Space, Work
from curewindow.cautions.products import product_cautions
from curewindow.cautions.spaces import heater_cautions
from curewindow.daysheet.ordering import facts_and_given
from curewindow.daysheet.planning import Made, pins_of, problem_as_stated
from curewindow.errors import CurewindowError
from curewindow.findings import Finding, finding
from curewindow.order.aims import Solved
from curewindow.order.given import Given
from curewindow.order.plan import Suggestion
from curewindow.order.problem import Problem
from curewindow.order.solve import solve
from curewindow.physics.air import dew_point
from curewindow.series import SurfaceSeries
from curewindow.sheets.shelf import get_sheet, names

EACH_S = 5.0
_EVENING = (time(18, 30), time(21, 30))
_HOME_C, _HOME_RH_PCT = 20.0, 50.0
_HEATER_W = 2000.0
Option = tuple[str, Given, str, list[Finding]]
"""In words, what it is planned from, the job that is otherwise ('' where none is), cautions."""


def what_helps(folder: Path, made: Made) -> list[Suggestion]:
    """Try what would save days.

    Parameters
    ----------
    folder : Path
        The boat folder.
    made : Made
        The plan as things are.

    Returns
    -------
    list of Suggestion
        Only what saves a day or lets a job be done that could not be; most days first.
    """
    assert made.told is not None
    as_it_is: dict[str, tuple[int, set[str]]] = {}
    found: list[Suggestion] = []
    for text, given, other, cautions in _options(folder, made):
        # Compared with the very same problem but for the one thing: what the day sheet tells
        # of a job goes for neither where that job is otherwise.
        if other not in as_it_is:
            problem, solved = _planned(made, made.given, other)
            bound = solved.steps[0].bound if solved.steps else 0
            as_it_is[other] = bound, {job for job, _ in problem.left_out}
            if solved.stopped:
                break
        base, out = as_it_is[other]
        problem, solved = _planned(made, given, other)
        if solved.stopped:
            break
        left_out = {job for job, _ in problem.left_out}
        if solved.order is None or left_out - out:
            continue  # done sooner with less done is no help
        freed = sorted(out - left_out)
        saves = base - problem.slots.day_of(solved.order.finish)
        if saves <= 0 and not freed:
            continue
        brings = f"saves {saves} {'day' if saves == 1 else 'days'}"
        if freed:
            brings = f"makes {', '.join(repr(job) for job in freed)} possible"
            if saves:
                more = "sooner" if saves > 0 else "later"
                brings += f", all done {abs(saves)} {'day' if abs(saves) == 1 else 'days'} {more}"
        found.append(
            Suggestion(
                text=f"{text} {brings}",
                saves_days=saves,
                finish=problem.slots.at(solved.order.finish)
                if solved.order.finish <= problem.known_until
                else None,
                cautions=cautions,
            )
        )
    return sorted(found, key=lambda each: -each.saves_days)


def _planned(made: Made, given: Given, other: str) -> tuple[Problem, Solved]:
    """How soon all of it can be done, by the same rules for all that is compared.

    The last argument names the job of which what the day sheet tells is left out of account.
    """
    assert made.told is not None
    windows = {job: spans for job, spans in made.told.windows.items() if job != other}
    problem = problem_as_stated(given, replace(made.told, windows=windows))
    pins, _ = pins_of(problem, made.pins)
    return problem, solve(problem, seconds=EACH_S, pins=pins, aims=("date",))


def _options(folder: Path, made: Made) -> Iterator[Option]:
    yield from _more_hours(made.given)
    yield from _sooner_there(made.given)
    yield from _heater_for_more(made.given)
    yield from _at_home(made.given)
    yield from _other_products(folder, made)
    yield from _more_heaters(folder, made)


def _more_hours(given: Given) -> Iterator[Option]:
    """One more evening a week."""
    if not given.boat.hours:
        return
    begin, until = _EVENING
    for day in ("Wed", "Sat"):
        if any(
            day in hours.days and (hours.until > begin or hours.until == time(0))
            for hours in given.boat.hours
        ):
            continue
        more = Hours.model_validate({"days": [day], "from": begin, "until": until})
        boat = given.boat.model_copy(update={"hours": [*given.boat.hours, more]})
        mask = hours_mask(boat, next(iter(given.series.values())).times)
        yield f"one more evening a week ({day})", replace(given, boat=boat, hours_ok=mask), "", []
        return


def _sooner_there(given: Given) -> Iterator[Option]:
    """What is to arrive, at the first day it may."""
    for number, job in enumerate(given.work.job):
        for delivery in job.delivery:
            first = delivery.earliest
            if delivery.arrived or first is None or first == delivery.latest:
                continue
            sooner = [
                each.model_copy(update={"on": first, "earliest": None, "latest": None})
                if each is delivery
                else each
                for each in job.delivery
            ]
            work = _with_job(given.work, number, job.model_copy(update={"delivery": sooner}))
            text = f"{delivery.what} there by {first:%a} {first.day} {first:%b}"
            yield text, replace(given, work=work), "", []


def _heater_for_more(given: Given) -> Iterator[Option]:
    """A heater that could warm one more space at a time."""
    for number, space in enumerate(given.boat.space):
        heating = space.heating
        if heating is None or heating.at_once is None:
            continue
        served = 1 + sum(
            1
            for other in given.boat.space
            if other.heating and other.heating.outlet_of == space.name
        )
        if heating.at_once >= served:
            continue
        more = heating.model_copy(update={"at_once": heating.at_once + 1})
        boat = _with_space(given.boat, number, space.model_copy(update={"heating": more}))
        text = f"a second heater, so that {heating.at_once + 1} spaces are warm at a time,"
        yield text, replace(given, boat=boat), "", []


def _at_home(given: Given) -> Iterator[Option]:
    """Joinery that can be carried is coated in a warm, dry room."""
    for number, job in enumerate(given.work.job):
        left = given.stands[job.name].step
        if job.space is None or job.panel is not None or left is None:
            continue
        if all(step.sheet is None for step in job.step[left - 1 :]):
            continue
        home = Space(name="at home", logged_only=True)
        boat = given.boat.model_copy(update={"space": [*given.boat.space, home]})
        work = _with_job(given.work, number, job.model_copy(update={"space": home.name}))
        series = {**given.series, job.name: _indoors(given.series[job.name])}
        bedtime = frozenset(key for key in given.by_bedtime if key[0] != job.name)
        changed = replace(given, boat=boat, work=work, series=series, by_bedtime=bedtime)
        yield f"'{job.name}' at home, warm and dry, if it can be carried,", changed, job.name, []


def _indoors(series: SurfaceSeries) -> SurfaceSeries:
    shape = series.air_c.shape
    air = np.full(shape, _HOME_C)
    dew = np.full(shape, float(dew_point(_HOME_C, _HOME_RH_PCT)))
    return replace(
        series,
        space="at home",
        surface="",
        air_c=air,
        rh_pct=np.full(shape, _HOME_RH_PCT),
        dew_point_c=dew,
        surface_c=air,
        tin_c=air,
        tins=None,
        wood_moisture_pct=None if series.wood_moisture_pct is None else np.full(shape, 9.0),
    )


def _other_products(folder: Path, made: Made) -> Iterator[Option]:
    """Another product of the same kind from the shelf, where the old one is not begun."""
    given = made.given
    own = own_sheets(folder)
    urgent = _urgent(made)
    for number, job in enumerate(given.work.job):
        stand = given.stands[job.name]
        if job.name not in urgent or stand.step is None or stand.on is not None:
            continue
        for at, step in enumerate(job.step):
            if step.sheet is None or at + 1 < stand.step:
                continue
            now = given.sheet(step.sheet)
            for entry in names(own):
                if entry.name == step.sheet:
                    continue
                try:
                    other = get_sheet(entry.name, own).sheet
                except CurewindowError:
                    continue
                if other.kind != now.kind or other.chemistry == now.chemistry:
                    continue
                if other.stays_tacky != now.stays_tacky:  # a laminating resin closes no surface
                    continue
                steps = list(job.step)
                steps[at] = step.model_copy(update={"sheet": entry.name})
                changed = job.model_copy(update={"step": steps})
                try:
                    _, again = facts_and_given(
                        folder,
                        given.now,
                        days=_days(given),
                        work=_with_job(given.work, number, changed),
                    )
                except CurewindowError:
                    continue
                if any((job.name, each.sheet) in again.refused for each in changed.step):
                    continue
                cautions = [
                    *product_cautions(other, outdoors=job.space is None),
                    finding("goes on what is below"),
                ]
                text = f"'{job.name}' with {other.name} instead of {now.name}"
                yield text, again, job.name, cautions


def _urgent(made: Made) -> set[str]:
    """Jobs that hold the rest up, or cannot be done at all as things are."""
    found = {step.job for step in made.plan.steps if step.critical}
    found |= {each.job for each in made.plan.sets_end if each.share_pct >= 10.0}
    return found | {job for job, _ in made.problem.left_out}


def _more_heaters(folder: Path, made: Made) -> Iterator[Option]:
    """An electric heater in a space that has none and holds work up."""
    given = made.given
    urgent = _urgent(made)
    spaces = {job.space for job in given.work.job if job.name in urgent}
    for number, space in enumerate(given.boat.space):
        if space.heating is not None or space.name not in spaces or space.logged_only:
            continue
        heating = Heating.model_validate(
            {
                "kind": "electric",
                "power": f"{_HEATER_W:g} W",
                "vented": False,
                "open_flame": False,
            }
        )
        changed = space.model_copy(update={"heating": heating})
        boat = _with_space(given.boat, number, changed)
        _, again = facts_and_given(folder, given.now, days=_days(given), boat=boat)
        cautions = list(heater_cautions(changed, boat, heating))
        yield f"an electric heater of 2 kW in the {space.name}", again, "", cautions


def _days(given: Given) -> float:
    return (given.until - given.now) / timedelta(days=1)


def _with_job(work: Work, number: int, job: Job) -> Work:
    jobs = list(work.job)
    jobs[number] = job
    return work.model_copy(update={"job": jobs})


def _with_space(boat: Boat, number: int, space: Space) -> Boat:
    spaces = list(boat.space)
    spaces[number] = space
    return boat.model_copy(update={"space": spaces})
