"""Everything a day sheet is made from, read once: boat, work, record, weather, conditions."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from curewindow.boat.checks import OUTDOORS
from curewindow.boat.folder import RECORD_FILE, WORK_FILE, load_boat, load_work, own_sheets
from curewindow.boat.hours import daylight_mask, hours_mask
from curewindow.boat.schema import Boat, Job, Work
from curewindow.conditions import (
    Changed,
    DryingCoat,
    SpaceConditions,
    boat_conditions,
    drying_coats,
    learned_in,
    surface_series,
)
from curewindow.errors import NotFoundError, SheetError
from curewindow.record.entries import Coat, Done, Heat, Inspection, Reading, Wiped
from curewindow.record.heat import with_heat
from curewindow.record.marking import MarkedReading
from curewindow.record.store import Record
from curewindow.series import BoolArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import LoadedSheet, get_sheet
from curewindow.weather.choose import get_forecast
from curewindow.weather.forecast import Forecast
from curewindow.weather.spread import as_ensemble
from curewindow.windows.wet import water_lying
from curewindow.wording import Wording

_READ_LATELY = timedelta(hours=24)


@dataclass(frozen=True, slots=True, eq=False)
class Situation:
    """What is known of a boat at a moment; sheets and surfaces are looked up once each.

    Attributes
    ----------
    folder : Path
    boat : Boat
    work : Work
    forecast : Forecast
    coats, dones, readings, wiped, inspections : list
        The record up to ``now``.
    conditions : dict of str to SpaceConditions
        By the name of the space.
    now : datetime
        Aware UTC.
    words : Wording
    changed : dict of str to Changed
        Heating and air otherwise than described, by space: what is only thought of.
    drying : dict of str to tuple of DryingCoat
        Coats of the record that still give off water, by space.
    heats : list of Heat
        Heaters lit and put out by the log; ``boat`` has them already.
    marks : list of MarkedReading
        Values of the last day's readings that are kept and not used.
    lost : dict of str to str
        Sheets of recorded coats that cannot be read, with what is wrong, as they are met.
    """

    folder: Path
    boat: Boat
    work: Work
    forecast: Forecast
    coats: list[Coat]
    dones: list[Done]
    readings: list[Reading]
    conditions: dict[str, SpaceConditions]
    now: datetime
    words: Wording
    changed: dict[str, Changed] = field(default_factory=dict)
    drying: dict[str, tuple[DryingCoat, ...]] = field(default_factory=dict)
    heats: list[Heat] = field(default_factory=list)
    wiped: list[Wiped] = field(default_factory=list)
    inspections: list[Inspection] = field(default_factory=list)
    marks: list[MarkedReading] = field(default_factory=list)
    lost: dict[str, str] = field(default_factory=dict)
    _sheets: dict[str, LoadedSheet] = field(default_factory=dict)
    _series: dict[str, SurfaceSeries] = field(default_factory=dict)
    _masks: dict[str, BoolArray] = field(default_factory=dict)
    _rooms: dict[tuple[str, datetime], Any] = field(default_factory=dict)
    _films: dict[str, Any] = field(default_factory=dict)
    _plan: list[Any] = field(default_factory=list)

    def sheet(self, stem: str) -> LoadedSheet:
        """The sheet of that name, the boat's own before the shelf's."""
        if stem not in self._sheets:
            try:
                self._sheets[stem] = get_sheet(stem, own_sheets(self.folder))
            except (NotFoundError, SheetError) as bad:
                if stem not in {coat.sheet for coat in self.coats}:
                    raise
                self._sheets[stem] = nothing_known(stem)
                self.lost[stem] = str(bad)
        return self._sheets[stem]

    def series(self, job: Job) -> SurfaceSeries:
        """Conditions at the surface of a job."""
        if job.name not in self._series:
            # without a sheet: what is worked out for the surface serves every step of the job
            series = surface_series(
                self.boat,
                job,
                None,
                self.forecast,
                self.readings,
                self.now,
                spaces=self.conditions,
            )
            lying = water_lying(series, self.dry_at(job))
            self._series[job.name] = replace(series, lying_kg_m2=lying)
        return self._series[job.name]

    def dry_at(self, job: Job) -> list[datetime]:
        """When a job's surface was dry for certain: wiped by the record, or coated."""
        return [
            *(
                each.at
                for each in self.wiped
                if (
                    each.job == job.name
                    if each.space is None
                    else each.space == job.space and each.panel in (None, job.panel)
                )
            ),
            # Nobody coats a wet surface.
            *(coat.start for coat in self.coats if coat.job == job.name),
        ]

    def hours_ok(self, series: SurfaceSeries) -> BoolArray:
        """True where someone is aboard, on the grid of a series."""
        if "hours" not in self._masks:
            self._masks["hours"] = hours_mask(self.boat, series.times)
        return self._masks["hours"]

    def daylight_ok(self, series: SurfaceSeries) -> BoolArray:
        """True in daylight, on the grid of a series."""
        if "daylight" not in self._masks:
            self._masks["daylight"] = daylight_mask(self.boat.place, series.times)
        return self._masks["daylight"]


def nothing_known(stem: str) -> LoadedSheet:
    """Stand-in for the sheet of a recorded coat that cannot be read: it promises nothing."""
    sheet = Sheet.model_validate(
        {
            "name": stem,
            "kind": "paint",
            "chemistry": "oxidation",
            "basis": "its sheet cannot be read",
            "applying": {},
            "setting": {},
            "cure": {"temps": ["20 °C"], "touch_dry": ["9999 d"]},  # not within any forecast
        }
    )
    return LoadedSheet(stem, Path(f"{stem}.toml"), sheet, (), True)


def read_situation(folder: Path, now: datetime, forecast: Forecast | None = None) -> Situation:
    """Read all there is to know for a day sheet.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware; nothing recorded later counts.
    forecast : Forecast, optional
        Weather that is at hand already, taken as it is; else it is got as boat.toml says,
        and one that has one member gets others (:mod:`curewindow.weather.spread`).

    Raises
    ------
    CurewindowError
        A file, the weather or the record cannot be used.
    ValueError
        ``now`` is not aware.
    """
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    now = now.astimezone(UTC)
    boat = load_boat(folder)
    # No work list yet is no fault: the spaces can be looked at all the same.
    work = load_work(folder, boat) if (folder / WORK_FILE).exists() else Work()
    words = Wording(ZoneInfo(boat.place.time_zone), now, boat.units.temperature in ("°F", "F"))
    with Record(folder / RECORD_FILE, read_only=True) as record:
        coats = record.coats(by=now)
        spaces = [*(space.name for space in boat.space), OUTDOORS]
        began = min((coat.start for coat in coats), default=now) - timedelta(days=1)
        readings = record.readings_lately(spaces, now, began)
        dones = [done for done in record.done() if done.at <= now]
        heats = record.heat()
        wiped = [each for each in record.wiped() if each.at <= now]
        inspections = [each for each in record.inspections() if each.at <= now]
        marks = record.marked(since=now - _READ_LATELY, until=now)
    boat = with_heat(boat, heats, readings, now)
    if forecast is None:
        place = f"{boat.name}, {boat.place.latitude}, {boat.place.longitude}"
        forecast = as_ensemble(get_forecast(boat, folder, now), place)

    sheets: dict[str, LoadedSheet] = {}

    def sheet_of(stem: str) -> Sheet:
        try:
            sheets[stem] = sheets.get(stem) or get_sheet(stem, own_sheets(folder))
            return sheets[stem].sheet
        except (NotFoundError, SheetError):
            return nothing_known(stem).sheet

    drying = drying_coats(work, coats, sheet_of, readings, now)
    conditions = boat_conditions(
        boat, forecast, readings, now, learned=learned_in(folder), drying=drying
    )
    return Situation(
        folder,
        boat,
        work,
        forecast,
        coats,
        dones,
        readings,
        conditions,
        now,
        words,
        drying=drying,
        heats=heats,
        wiped=wiped,
        inspections=inspections,
        marks=marks,
        _sheets=sheets,
    )
