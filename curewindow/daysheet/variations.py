"""What could be done otherwise to be done sooner: each way as another boat or other work."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.folder import own_sheets
from curewindow.boat.schema import Boat, Heating, Hours, Job, Space, Weekday, Work
from curewindow.cautions import cautions_for, gravest_first
from curewindow.cautions.products import product_cautions
from curewindow.cautions.spaces import heater_cautions
from curewindow.errors import CurewindowError
from curewindow.findings import Finding, finding
from curewindow.order.given import Given
from curewindow.physics.air import dew_point
from curewindow.rules.over import family_of
from curewindow.rules.sleep import not_to_sleep_over
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import ProductKind, Sheet
from curewindow.sheets.shelf import get_sheet, names
from curewindow.voice.cautions import topic

EVENING: Final = (time(18, 30), time(21, 30))
HOME: Final = "at home"
_HOME_C, _HOME_RH_PCT = 20.0, 50.0
_HEATER_W = 2000.0
_FIRE = "fire"
_WEEK: Final[tuple[Weekday, ...]] = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")
_FINISH: Final[tuple[ProductKind, ...]] = ("paint", "varnish")
"""No sheet says whether a finish stands the weather: none is offered for another outdoors."""

ONCE_H: Final = {"delivery": 1.0, "product": 1.0, "home": 3.0, "heater": 4.0, "heater at once": 4.0}
"""Trouble a way is, once [h]: a call, another tin, carrying there and back, getting and rigging a
heater (estimates)."""
WEEKLY_H: Final = {"evening": 3.0, "day": 8.0}
"""The same every week until all is done [h]."""


@dataclass(frozen=True, slots=True, eq=False)
class Variation:
    """One thing done otherwise.

    Attributes
    ----------
    what : Finding
        Of the kind 'variation'.
    boat, work : Boat, Work or None
        As they are then; None: as they are.
    job : str
        The only job whose conditions or products are others; '' where none is.
    cautions : tuple of Finding
    """

    what: Finding
    boat: Boat | None = None
    work: Work | None = None
    job: str = ""
    cautions: tuple[Finding, ...] = ()

    @property
    def kind(self) -> str:
        """Which sort of way."""
        return self.what.text("kind_of")

    def trouble_h(self, weeks: float) -> float:
        """What it takes of the owner's time by an estimate [h]."""
        return ONCE_H.get(self.kind, 0.0) + weeks * WEEKLY_H.get(self.kind, 0.0)


def variations(folder: Path, given: Given, urgent: Collection[str]) -> Iterator[Variation]:
    """All that could be done otherwise.

    Parameters
    ----------
    folder : Path
        The boat folder.
    given : Given
    urgent : collection of str
        Jobs that hold the rest up, or cannot be done at all as things are.
    """
    yield from _more_hours(given)
    yield from _sooner_there(given)
    yield from _heater_for_more(given)
    yield from _more_heaters(given, urgent)
    yield from _at_home(given, urgent)
    yield from _other_products(folder, given, urgent)


def _more_hours(given: Given) -> Iterator[Variation]:
    """One more day a week, and one more evening."""
    usual = given.boat.hours
    if not usual:
        return
    aboard = {day for hours in usual for day in hours.days}
    free = [day for day in ("Thu", "Wed", "Tue", "Mon", "Fri", "Sat", "Sun") if day not in aboard]
    if free:
        longest = max(usual, key=_length)
        day = max(free, key=lambda each: _apart(each, aboard))
        yield _with_hours(given, "day", day, longest.from_, longest.until)
    begin, until = EVENING
    for day in ("Wed", "Sat"):
        if any(
            day in hours.days and (hours.until > begin or hours.until == time(0)) for hours in usual
        ):
            continue
        yield _with_hours(given, "evening", day, begin, until)
        return


def _with_hours(given: Given, kind: str, day: str, begin: time, until: time) -> Variation:
    more = Hours.model_validate({"days": [day], "from": begin, "until": until})
    boat = given.boat.model_copy(update={"hours": [*given.boat.hours, more]})
    return Variation(finding("variation", kind_of=kind, names=(day,)), boat=boat)


def _length(hours: Hours) -> float:
    """Hours of a day."""
    ends = 24.0 if hours.until == time(0) else hours.until.hour + hours.until.minute / 60.0
    return ends - hours.from_.hour - hours.from_.minute / 60.0


def _apart(day: str, others: Collection[str]) -> int:
    """Days to the nearest day someone is aboard already."""
    names_of = list[str](_WEEK)
    gaps = [abs(names_of.index(day) - names_of.index(other)) for other in others]
    return min(min(gap, 7 - gap) for gap in gaps)


def _sooner_there(given: Given) -> Iterator[Variation]:
    """What is to arrive, at the first day it may."""
    zone = ZoneInfo(given.boat.place.time_zone)
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
            at = datetime.combine(first, time(18), zone).astimezone(UTC)
            yield Variation(
                finding("variation", kind_of="delivery", thing=delivery.what, until=at), work=work
            )


def _heater_for_more(given: Given) -> Iterator[Variation]:
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
        what = finding("variation", kind_of="heater at once", count=heating.at_once + 1)
        yield Variation(what, boat=boat, cautions=tuple(heater_cautions(space, boat, more)))


def with_heater(space: Space) -> Space:
    """A space a heater is brought for: electric, without a flame, one that may be left on alone.

    No plan counts on a heater that may not (:func:`curewindow.cautions.alone.not_planned`).
    """
    heating = Heating.model_validate(
        {
            "kind": "electric",
            "power": f"{_HEATER_W:g} W",
            "vented": False,
            "open_flame": False,
            "unattended": "yes",
        }
    )
    return space.model_copy(update={"heating": heating})


def dangers_of(given: Given, space: Space) -> tuple[Finding, ...]:
    """The usual cautions of such a heater, and of what it would light; gravest first.

    Parameters
    ----------
    given : Given
    space : Space
        With the heater.

    Returns
    -------
    tuple of Finding
        One that refuses where it may not stand over what is put on there.
    """
    number = next(n for n, each in enumerate(given.boat.space) if each.name == space.name)
    boat = _with_space(given.boat, number, space)
    found = [*heater_cautions(space, boat, space.heating), finding("heat unattended")]
    for job in given.work.job:
        left = given.stands[job.name].step
        if job.space != space.name or left is None:
            continue
        for step in job.step[left - 1 :]:
            if step.sheet is not None:
                sheets = [given.sheet(step.sheet)]
                dangers = cautions_for(sheets, job, space, boat, space.heating, step=step)
                found += [each for each in dangers if topic(each) == _FIRE]
    return tuple(gravest_first(found))


def _more_heaters(given: Given, urgent: Collection[str]) -> Iterator[Variation]:
    """An electric heater in a space that has none and holds work up."""
    spaces = {
        job.space
        for job in given.work.job
        if job.name in urgent
        and (left := given.stands[job.name].step) is not None
        and any(step.sheet is not None for step in job.step[left - 1 :])
    }
    for number, space in enumerate(given.boat.space):
        if space.heating is not None or space.name not in spaces or space.logged_only:
            continue
        changed = with_heater(space)
        boat = _with_space(given.boat, number, changed)
        what = finding("variation", kind_of="heater", space=space.name, power_w=_HEATER_W)
        yield Variation(what, boat=boat, cautions=dangers_of(given, changed))


def _at_home(given: Given, urgent: Collection[str]) -> Iterator[Variation]:
    """Joinery that can be carried is coated in a warm, dry room.

    Not with what nobody sleeps over (:mod:`curewindow.rules.sleep`): people sleep at home.
    """
    for number, job in enumerate(given.work.job):
        left = given.stands[job.name].step
        if job.name not in urgent or job.space is None or job.panel is not None or left is None:
            continue
        steps = [step for step in job.step[left - 1 :] if step.sheet is not None]
        sheets = [given.sheet(step.sheet) for step in steps if step.sheet is not None]
        if not sheets or any(not_to_sleep_over(each) for each in sheets):
            continue
        boat = given.boat.model_copy(
            update={"space": [*given.boat.space, Space(name=HOME, logged_only=True)]}
        )
        work = _with_job(given.work, number, job.model_copy(update={"space": HOME}))
        cautions = [
            each
            for step, sheet in zip(steps, sheets, strict=True)
            for each in product_cautions(sheet, outdoors=False, step=step)
        ]
        what = finding("variation", kind_of="home", job=job.name)
        yield Variation(what, boat, work, job.name, tuple(dict.fromkeys(cautions)))


def at_home(given: Given, way: Variation) -> Given:
    """What is given, with the way's job carried home."""
    assert way.boat is not None
    assert way.work is not None
    return replace(
        given,
        boat=way.boat,
        work=way.work,
        series={**given.series, way.job: _indoors(given.series[way.job])},
        by_bedtime=frozenset(key for key in given.by_bedtime if key[0] != way.job),
    )


def _indoors(series: SurfaceSeries) -> SurfaceSeries:
    shape = series.air_c.shape
    air = np.full(shape, _HOME_C)
    dew = np.full(shape, float(dew_point(_HOME_C, _HOME_RH_PCT)))
    return replace(
        series,
        space=HOME,
        surface="",
        air_c=air,
        rh_pct=np.full(shape, _HOME_RH_PCT),
        dew_point_c=dew,
        surface_c=air,
        tin_c=air,
        tins=None,
        behind=None,
        wood_moisture_pct=None if series.wood_moisture_pct is None else np.full(shape, 9.0),
    )


def _other_products(folder: Path, given: Given, urgent: Collection[str]) -> Iterator[Variation]:
    """Another product of the same family from the shelf, where the old one is not begun."""
    own = own_sheets(folder)
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
                if not stands_in(other, now, outdoors=job.space is None):
                    continue
                steps = list(job.step)
                steps[at] = step.model_copy(update={"sheet": entry.name})
                changed = job.model_copy(update={"step": steps})
                space = None if job.space is None else given.boat.find_space(job.space)
                lit = None if space is None else space.heating
                dangers = cautions_for([other], job, space, given.boat, lit, step=steps[at])
                cautions = tuple(gravest_first([*dangers, finding("goes on what is below")]))
                what = finding(
                    "variation",
                    kind_of="product",
                    job=job.name,
                    product=other.name,
                    products=(now.name,),
                )
                yield Variation(
                    what, None, _with_job(given.work, number, changed), job.name, cautions
                )


def stands_in(other: Sheet, now: Sheet, *, outdoors: bool) -> bool:
    """Would the trade take one product for another: the same kind, of the same family?

    Whether it goes on what is below is asked of :mod:`curewindow.rules.over` with the job.
    """
    family = family_of(now)
    return (
        other.kind == now.kind
        and family is not None
        and family_of(other) == family
        and other.stays_tacky == now.stays_tacky  # a laminating resin closes no surface
        and not (outdoors and now.kind in _FINISH)
    )


def accepted(way: Variation, as_it_is: Given, then: Given) -> bool:
    """May the way's products go on what is below, for all that is known?

    A pair that needs a test patch, or more done to what is below than now, is no help.
    """
    if way.kind != "product":
        return True
    assert way.work is not None
    job = next(each for each in way.work.job if each.name == way.job)
    if any((job.name, step.sheet) in then.refused for step in job.step):
        return False
    numbers = range(1, len(job.step) + 1)

    def acts(given: Given) -> set[tuple[int, str, str]]:
        return {
            (number, each.kind, each.text("do_first"))
            for number in numbers
            for each in given.first.get((job.name, number), ())
        }

    return acts(then) <= acts(as_it_is)


def _with_job(work: Work, number: int, job: Job) -> Work:
    jobs = list(work.job)
    jobs[number] = job
    return work.model_copy(update={"job": jobs})


def _with_space(boat: Boat, number: int, space: Space) -> Boat:
    spaces = list(boat.space)
    spaces[number] = space
    return boat.model_copy(update={"space": spaces})
