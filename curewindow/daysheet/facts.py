"""Everything a day sheet is made from, read once: boat, work, record, weather, conditions."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from curewindow.boat.folder import RECORD_FILE, load_boat, load_work, own_sheets
from curewindow.boat.hours import daylight_mask, hours_mask
from curewindow.boat.schema import Boat, Job, Work
from curewindow.conditions import (
    SpaceConditions,
    boat_conditions,
    learned_in,
    surface_series,
)
from curewindow.errors import NotFoundError, SheetError
from curewindow.record.entries import Coat, Done, Reading
from curewindow.record.store import Record
from curewindow.series import BoolArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.sheets.shelf import LoadedSheet, get_sheet
from curewindow.weather.choose import get_forecast
from curewindow.weather.forecast import Forecast
from curewindow.wording import Wording


@dataclass(frozen=True, slots=True, eq=False)
class Facts:
    """What is known of a boat at a moment; sheets and surfaces are looked up once each.

    Attributes
    ----------
    folder : Path
    boat : Boat
    work : Work
    forecast : Forecast
    coats, dones, readings : list
        The record up to ``now``.
    conditions : dict of str to SpaceConditions
        By the name of the space.
    now : datetime
        Aware UTC.
    words : Wording
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
    lost: dict[str, str] = field(default_factory=dict)
    _sheets: dict[str, LoadedSheet] = field(default_factory=dict)
    _series: dict[str, SurfaceSeries] = field(default_factory=dict)
    _masks: dict[str, BoolArray] = field(default_factory=dict)

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
            self._series[job.name] = surface_series(
                self.boat,
                job,
                None,
                self.forecast,
                self.readings,
                self.now,
                spaces=self.conditions,
            )
        return self._series[job.name]

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


def gather(folder: Path, now: datetime, forecast: Forecast | None = None) -> Facts:
    """Read all there is to know for a day sheet.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware; nothing recorded later counts.
    forecast : Forecast, optional
        Weather that is at hand already; else it is got as boat.toml says.

    Raises
    ------
    CurewindowError
        A file, the weather or the record cannot be used.
    """
    boat = load_boat(folder)
    work = load_work(folder, boat)
    words = Wording(ZoneInfo(boat.place.time_zone), now, boat.units.temperature in ("°F", "F"))
    with Record(folder / RECORD_FILE, read_only=True) as record:
        readings = record.readings(until=now)
        coats = [coat for coat in record.coats() if coat.start <= now]
        dones = [done for done in record.done() if done.at <= now]
    if forecast is None:
        forecast = get_forecast(boat, folder, now)
    conditions = boat_conditions(boat, forecast, readings, now, learned=learned_in(folder))
    return Facts(folder, boat, work, forecast, coats, dones, readings, conditions, now, words)
