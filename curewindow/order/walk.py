"""A planned order of work with what a slow second look at it needs: films and their real times."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Step
from curewindow.curing import CureModel
from curewindow.order.given import Given
from curewindow.order.slots import Slots
from curewindow.rules.work import MAKES_DUST, WITH_PRODUCT
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Milestone, Sheet
from curewindow.windows.grid import at_index, position


@dataclass(frozen=True, slots=True)
class PlacedWork:
    """A piece of work as planned.

    Attributes
    ----------
    job : str
    step : int
    coat : int or None
    sitting : int
    start, end : datetime
        Aware; the hands are on it between them.
    extra_sanding : bool
        The sanding of a missed recoat interval.
    warm : tuple of (datetime, datetime) or None
        Heat that is held for it.
    """

    job: str
    step: int
    coat: int | None
    sitting: int
    start: datetime
    end: datetime
    extra_sanding: bool = False
    warm: tuple[datetime, datetime] | None = None


@dataclass(frozen=True, slots=True)
class OrderFault:
    """A rule an order of work breaks.

    Attributes
    ----------
    rule : str
    job : str
    at : datetime
    text : str
    """

    rule: str
    job: str
    at: datetime
    text: str


class Walk:
    """The order as planned, with what is looked up again and again."""

    def __init__(
        self,
        given: Given,
        slots: Slots,
        done: list[PlacedWork],
        series: Mapping[str, SurfaceSeries],
    ) -> None:
        self.given, self.slots, self.done, self.series = given, slots, done, series
        self.zone = ZoneInfo(given.boat.place.time_zone)
        self.job = {job.name: job for job in given.work.job}
        self._cures: dict[tuple[str, str], CureModel] = {}

    def step(self, each: PlacedWork) -> Step:
        return Step(do="sand") if each.extra_sanding else self.job[each.job].step[each.step - 1]

    def film(self, each: PlacedWork) -> Sheet | None:
        step = self.step(each)
        return self.given.sheet(step.sheet) if step.do in WITH_PRODUCT and step.sheet else None

    def cure(self, each: PlacedWork) -> CureModel:
        """The cure of a planned film, counted once for all that is asked of its job."""
        sheet = self.film(each)
        assert sheet is not None
        key = (each.job, self.step(each).sheet or "")
        if key not in self._cures:
            self._cures[key] = CureModel(sheet, self.series[each.job])
        return self._cures[key]

    def dusty(self, each: PlacedWork) -> bool:
        step = self.step(each)
        return step.do in MAKES_DUST or (step.between == "sand" and (each.coat or 1) > 1)

    def of(self, job: str) -> list[PlacedWork]:
        return [each for each in self.done if each.job == job]

    def reached(self, each: PlacedWork, names: tuple[Milestone, ...]) -> datetime | None:
        """When a planned film comes to the first of these milestones its sheet has."""
        series, model = self.series[each.job], self.cure(each)
        for name in names:
            if model.has(name):
                last = np.array([np.ceil(position(series, self.last_stroke(each)))])
                ends = np.sort(np.nan_to_num(model.milestone_end(name, last)[:, 0], nan=np.inf))
                index = ends[int(np.ceil((ends.size - 1) * 0.9))]
                return at_index(series, int(np.ceil(index))) if np.isfinite(index) else None
        return None

    def last_stroke(self, each: PlacedWork) -> datetime:
        """Hands-on time as asked for, not as rounded up to slots."""
        hours = hands_on_h(self.step(each), self.job[each.job])
        return min(each.end, each.start + timedelta(hours=hours))
