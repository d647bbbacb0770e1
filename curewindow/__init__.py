"""When a coat may go on: product sheets, weather and the cabin it dries in.

The public names below are imported when they are first used (PEP 562), so that
``import curewindow`` costs nothing. The physics is in :mod:`curewindow.physics`.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from curewindow.answers import After, Clock, Margin, Obstacle, Window
    from curewindow.boat.folder import find_folder, job_by_name, load_boat, load_work
    from curewindow.boat.schema import Boat, Job, Space, Step, Work
    from curewindow.calibration.look_back import look_back
    from curewindow.calibration.stated import keep_stated
    from curewindow.cautions import cautions_for
    from curewindow.clocks import clock_for
    from curewindow.conditions import (
        boat_conditions,
        learned_in,
        space_conditions,
        surface_series,
    )
    from curewindow.daysheet import DaySheet, WindowsAhead, day_sheet, windows_ahead
    from curewindow.errors import CurewindowError
    from curewindow.explain import why
    from curewindow.explain.change import Intervention
    from curewindow.explain.whatif import what_if
    from curewindow.fitting import learn
    from curewindow.record.entries import Coat, Done, Reading
    from curewindow.record.store import Record
    from curewindow.series import SurfaceSeries
    from curewindow.sheets.schema import Sheet
    from curewindow.sheets.shelf import get_sheet, load_sheet
    from curewindow.weather.choose import get_forecast
    from curewindow.weather.forecast import Forecast
    from curewindow.windows import find_obstacles, find_windows, judge
    from curewindow.wording import Wording

__version__ = "0.1.0"

_HOME = {
    "After": "curewindow.answers",
    "Boat": "curewindow.boat.schema",
    "Clock": "curewindow.answers",
    "Coat": "curewindow.record.entries",
    "CurewindowError": "curewindow.errors",
    "DaySheet": "curewindow.daysheet",
    "Done": "curewindow.record.entries",
    "Forecast": "curewindow.weather.forecast",
    "Intervention": "curewindow.explain.change",
    "Job": "curewindow.boat.schema",
    "Margin": "curewindow.answers",
    "Obstacle": "curewindow.answers",
    "Reading": "curewindow.record.entries",
    "Record": "curewindow.record.store",
    "Sheet": "curewindow.sheets.schema",
    "Space": "curewindow.boat.schema",
    "Step": "curewindow.boat.schema",
    "SurfaceSeries": "curewindow.series",
    "Window": "curewindow.answers",
    "WindowsAhead": "curewindow.daysheet",
    "Wording": "curewindow.wording",
    "Work": "curewindow.boat.schema",
    "boat_conditions": "curewindow.conditions",
    "cautions_for": "curewindow.cautions",
    "clock_for": "curewindow.clocks",
    "day_sheet": "curewindow.daysheet",
    "find_folder": "curewindow.boat.folder",
    "find_obstacles": "curewindow.windows",
    "find_windows": "curewindow.windows",
    "get_forecast": "curewindow.weather.choose",
    "get_sheet": "curewindow.sheets.shelf",
    "job_by_name": "curewindow.boat.folder",
    "judge": "curewindow.windows",
    "keep_stated": "curewindow.calibration.stated",
    "learn": "curewindow.fitting",
    "learned_in": "curewindow.conditions",
    "load_boat": "curewindow.boat.folder",
    "load_sheet": "curewindow.sheets.shelf",
    "look_back": "curewindow.calibration.look_back",
    "load_work": "curewindow.boat.folder",
    "space_conditions": "curewindow.conditions",
    "surface_series": "curewindow.conditions",
    "what_if": "curewindow.explain.whatif",
    "why": "curewindow.explain",
    "windows_ahead": "curewindow.daysheet",
}

__all__ = [
    "After",
    "Boat",
    "Clock",
    "Coat",
    "CurewindowError",
    "DaySheet",
    "Done",
    "Forecast",
    "Intervention",
    "Job",
    "Margin",
    "Obstacle",
    "Reading",
    "Record",
    "Sheet",
    "Space",
    "Step",
    "SurfaceSeries",
    "Window",
    "WindowsAhead",
    "Wording",
    "Work",
    "__version__",
    "boat_conditions",
    "cautions_for",
    "clock_for",
    "day_sheet",
    "find_folder",
    "find_obstacles",
    "find_windows",
    "get_forecast",
    "get_sheet",
    "job_by_name",
    "judge",
    "keep_stated",
    "learn",
    "learned_in",
    "load_boat",
    "load_sheet",
    "load_work",
    "look_back",
    "space_conditions",
    "surface_series",
    "what_if",
    "why",
    "windows_ahead",
]


def __getattr__(name: str) -> Any:
    if name not in _HOME:
        raise AttributeError(f"module 'curewindow' has no attribute '{name}'")
    found = getattr(import_module(_HOME[name]), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})
