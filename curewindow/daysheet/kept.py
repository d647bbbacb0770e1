"""Heating plans kept on disk, so that a day sheet asked for again does not search again.

A plan is used again only within the same hour of the clock, before its own time to
light the heater, and where every file, entry and value it was made from is the same.
A kept file that cannot be read is a warning in the log and a new search.
"""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Callable
from pathlib import Path

from pydantic import ValidationError

from curewindow import __version__
from curewindow.boat.folder import BOAT_FILE, SHEETS_FOLDER, WORK_FILE
from curewindow.conditions.learned_file import LEARNED_FILE
from curewindow.daysheet.facts import Facts
from curewindow.heating import HeatPlan
from curewindow.weather.cache import cache_folder, read_json, write_json

log = logging.getLogger(__name__)

KEPT = 60
"""Plans kept; the oldest go first."""


def kept_or_made(facts: Facts, job: str, make: Callable[[], HeatPlan]) -> HeatPlan:
    """The kept plan of a job, or a new one that is then kept.

    Parameters
    ----------
    facts : Facts
        What the plan is made from.
    job : str
        Name of the job.
    make : callable
        Makes the plan.

    Returns
    -------
    HeatPlan
    """
    folder = cache_folder() / "heat"
    path = folder / f"{_key(facts, job)}.json"
    data = read_json(path)
    if data is not None:
        try:
            plan = HeatPlan.model_validate(data)
        except ValidationError as bad:
            log.warning("the kept plan %s is of another form (%s)", path, bad.errors()[0]["msg"])
        else:
            if plan.light_at is None or plan.light_at > facts.now:
                return plan
    plan = make()
    write_json(path, plan.model_dump(mode="json"))
    _tidy(folder)
    return plan


def _key(facts: Facts, job: str) -> str:
    """A name that is another one as soon as anything a plan depends on is."""
    told = hashlib.sha256(f"{__version__}\n{job}\n{facts.now:%Y-%m-%d %H}".encode())
    own = facts.folder / SHEETS_FOLDER
    files = [facts.folder / name for name in (BOAT_FILE, WORK_FILE, LEARNED_FILE)]
    for file in [*files, *sorted(own.glob("*.toml"))]:
        told.update(str(file).encode())
        if file.exists():
            told.update(file.read_bytes())
    # Rows of the record never change: their numbers stand for them.
    for rows in (facts.coats, facts.dones, facts.readings):
        told.update(repr([row.id for row in rows]).encode())
    weather = facts.forecast
    told.update(repr((weather.source, weather.notes, str(weather.times[0]))).encode())
    for values in (
        weather.temp_c,
        weather.vapour_pa,
        weather.wind_ms,
        weather.cloud_frac,
        weather.sun_w_m2,
        weather.gap_h,
    ):
        told.update(values.tobytes())
    return told.hexdigest()[:32]


def _tidy(folder: Path) -> None:
    try:
        kept = sorted(folder.glob("*.json"), key=lambda file: file.stat().st_mtime)
        for file in kept[:-KEPT]:
            file.unlink(missing_ok=True)
    except OSError as bad:
        log.warning("old plans in %s cannot be removed: %s", folder, bad.strerror)
