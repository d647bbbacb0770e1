"""Windows that were told, with how sure they were, kept for judging them once they are past."""

from __future__ import annotations

import logging
import sqlite3
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from pydantic import BaseModel, ConfigDict, Field

from curewindow.answers import NextStep, Window
from curewindow.boat.schema import Boat
from curewindow.daysheet.models import DaySheet, WindowsAhead
from curewindow.judgement.models import JobDay
from curewindow.readback import of_form
from curewindow.record.trouble import damaged
from curewindow.series import BoolArray, FloatArray
from curewindow.weather import kept_file
from curewindow.weather.kept_forecasts import is_real

log = logging.getLogger(__name__)

SPELL = timedelta(hours=3)
"""The same start told again within this is not kept again."""


class ScoredWindow(BaseModel):
    """A window that was told: which coat, its best start, when told, how sure, what came of it.

    ``stated`` is the confidence before any correction; ``held`` is None while it is not
    known; ``basis`` is 'readings' or 'analysis', what it was judged by.
    """

    model_config = ConfigDict(frozen=True, defer_build=True)

    id: int
    source: str
    job: str
    step: int
    coat: int
    start: datetime
    told: datetime
    sheet: str
    hands_on_h: float = Field(ge=0.0)
    stated: float = Field(ge=0.0, le=1.0)
    held: bool | None
    basis: str

    @property
    def lead_h(self) -> float:
        """Hours ahead that it was told."""
        return max((self.start - self.told) / timedelta(hours=1), 0.0)


_NAMES = tuple(ScoredWindow.model_fields)


@dataclass(frozen=True, slots=True, eq=False)
class Cases:
    """Judged windows as columns: chance stated, outcome, hours ahead, day; shape (N,)."""

    stated: FloatArray
    held: BoolArray
    lead_h: FloatArray
    day: FloatArray

    def where(self, mask: BoolArray) -> Cases:
        """Some of them."""
        return Cases(self.stated[mask], self.held[mask], self.lead_h[mask], self.day[mask])


def keep_stated(folder: Path, boat: Boat, answer: DaySheet | WindowsAhead) -> int:
    """Keep the windows that are being told.

    Parameters
    ----------
    folder : Path
        The boat folder.
    boat : Boat
    answer : DaySheet or WindowsAhead
        What is about to be shown. Nothing is kept of a pretended moment, of steps without
        a product, or where boat.toml says not to keep forecasts.

    Returns
    -------
    int
        How many were new. What goes wrong is a warning in the log.
    """
    if not (boat.weather.keep_forecasts and is_real(answer.as_of)):
        return 0
    told = int(answer.as_of.timestamp())
    rows = [
        (
            answer.provenance.weather,
            job,
            ahead.step,
            ahead.coat or 1,
            int(window.best_start.timestamp()),
            told,
            told // int(SPELL.total_seconds()),
            ahead.sheet,
            ahead.hands_on_h,
            window.confidence if window.stated is None else window.stated,
            window.confidence,
        )
        for job, ahead, window in _windows(answer)
    ]
    if not rows:
        return 0
    try:
        with kept_file.to_write(folder) as connection:
            before = connection.total_changes
            connection.executemany(
                "INSERT OR IGNORE INTO told (source, job, step, coat, start, told, spell, sheet, "
                "hands_on_h, stated, shown) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
                rows,
            )
            return connection.total_changes - before
    except (sqlite3.Error, OSError) as bad:
        log.warning("what is told is not kept in %s: %s", folder / kept_file.FILE, bad)
        return 0


def _windows(answer: DaySheet | WindowsAhead) -> Iterator[tuple[str, NextStep, Window]]:
    for job in answer.jobs:
        if job.next is None or job.next.sheet is None or job.status == "refused":
            continue
        if isinstance(job, JobDay):
            later = [] if job.next_window is None else [job.next_window]
            windows = [*job.windows_today, *later]
        else:
            windows = job.windows
        for window in windows:
            yield job.job, job.next, window


def stated_between(
    connection: sqlite3.Connection, since: datetime, until: datetime
) -> list[ScoredWindow]:
    """Windows told whose start lies between two moments, in order of start."""
    found = connection.execute(
        f"SELECT {', '.join(_NAMES)} FROM told WHERE start BETWEEN ? AND ? ORDER BY start, told",
        (int(since.timestamp()), int(until.timestamp())),
    )
    try:
        return [of_form(dict(zip(_NAMES, row, strict=True)), ScoredWindow) for row in found]
    except ValueError:
        raise damaged("told") from None


def cases_of(told: list[ScoredWindow], zone: ZoneInfo) -> Cases:
    """Judged windows, each coat once for each day of start and each number of days ahead.

    A start that was told again every few hours is one promise, not many; of those told
    the same number of days ahead the first counts.
    """
    first: dict[tuple[str, int, int, int, int], ScoredWindow] = {}
    for each in sorted(told, key=lambda window: window.told):
        if each.held is None:
            continue
        day = each.start.astimezone(zone).toordinal()
        first.setdefault((each.job, each.step, each.coat, day, int(each.lead_h // 24.0)), each)
    return Cases(
        stated=np.array([each.stated for each in first.values()], np.float64),
        held=np.array([bool(each.held) for each in first.values()], np.bool_),
        lead_h=np.array([each.lead_h for each in first.values()], np.float64),
        day=np.array([key[3] for key in first], np.float64),
    )
