"""What was told, kept in the boat folder from one forecast to the next.

One small file, ``told.json``. Of each job it holds what is told now and what was told
before the forecast it is told by; asked again within one forecast the answer is the
same. What moves little by little, less than is news each time, is held against what was
last told until it is news. And of each planned step that was missed it holds when that was
first told: it is told on that day, and not again.
"""

from __future__ import annotations

import logging
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from pydantic import Field

from curewindow.answers import Answer
from curewindow.changes.models import StatedJob
from curewindow.readback import read_back
from curewindow.weather.cache import write_json

log = logging.getLogger(__name__)

TOLD_FILE = "told.json"
_FORMAT = 1
_MISSED_KEPT = timedelta(days=60)


class JobHistory(Answer):
    """A job as it is told, and as it was told before; each with when."""

    now: StatedJob
    now_at: datetime
    before: StatedJob | None
    before_at: datetime | None
    changed: bool


@dataclass(frozen=True, slots=True)
class LastStated:
    """What was told last: by which forecast, and of each job."""

    weather: str = ""
    jobs: Mapping[str, JobHistory] = field(default_factory=dict)
    missed: Mapping[str, datetime] = field(default_factory=dict)

    def before(self, weather: str) -> dict[str, tuple[StatedJob, datetime]]:
        """What a plan told by a forecast is held against, by job; with when it was told."""
        found: dict[str, tuple[StatedJob, datetime]] = {}
        for name, job in self.jobs.items():
            if weather == self.weather or (job.before is not None and not job.changed):
                if job.before is not None and job.before_at is not None:
                    found[name] = job.before, job.before_at
            else:
                found[name] = job.now, job.now_at
        return found


class _StatedFile(Answer):
    format: int
    weather: str
    jobs: dict[str, JobHistory]
    missed: dict[str, datetime] = Field(default_factory=dict)


def load(folder: Path) -> LastStated:
    """What was told last; nothing where that is not known, with a warning if it ought to be."""
    path = folder / TOLD_FILE
    try:
        kept = read_back(path.read_bytes(), _StatedFile)
        if kept.format != _FORMAT:
            raise ValueError("another format")
        return LastStated(kept.weather, kept.jobs, kept.missed)
    except FileNotFoundError:
        return LastStated()
    except (OSError, ValueError) as bad:
        log.warning("what was told before, %s, is not usable (%s); beginning anew", path, bad)
        return LastStated()


def keep(
    folder: Path, weather: str, told: Iterable[StatedJob], changed: Iterable[str], at: datetime
) -> None:
    """Keep what is being told.

    Parameters
    ----------
    folder : Path
        The boat folder; where it cannot be written that is a warning.
    weather : str
        Names the forecast.
    told : iterable of StatedJob
    changed : iterable of str
        Jobs of which a change is being told.
    at : datetime
        Aware.
    """
    last = load(folder)
    before = last.before(weather)
    news = set(changed)
    jobs = {}
    for one in told:
        was, was_at = before.get(one.job, (None, None))
        # What is over, or was told of an earlier step, is held against nothing any more.
        gone_on = was is not None and (was.step, was.coat) != (one.step, one.coat)
        over = was is not None and was.windows and all(w.closes <= at for w in was.windows)
        if gone_on or over:
            was, was_at = None, None
        jobs[one.job] = {
            "now": one.model_dump(mode="json"),
            "now_at": at.isoformat(),
            "before": None if was is None else was.model_dump(mode="json"),
            "before_at": None if was_at is None else was_at.isoformat(),
            "changed": one.job in news,
        }
    _write(folder, weather, jobs, last.missed)


def keep_missed(folder: Path, missed: Iterable[str], at: datetime) -> None:
    """Keep that planned steps are told as missed, each by its key; of those known the first time.

    Parameters
    ----------
    folder : Path
        The boat folder; where it cannot be written that is a warning.
    missed : iterable of str
    at : datetime
        Aware.
    """
    last = load(folder)
    if new := {key: at for key in missed if key not in last.missed}:
        recent = {key: when for key, when in last.missed.items() if at - when < _MISSED_KEPT}
        jobs = {name: job.model_dump(mode="json") for name, job in last.jobs.items()}
        _write(folder, last.weather, jobs, {**recent, **new})


def _write(
    folder: Path, weather: str, jobs: dict[str, Any], missed: Mapping[str, datetime]
) -> None:
    write_json(
        folder / TOLD_FILE,
        {
            "format": _FORMAT,
            "weather": weather,
            "jobs": jobs,
            "missed": {key: when.isoformat() for key, when in missed.items()},
        },
    )
