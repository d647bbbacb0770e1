"""What takes long, done away from the answers: day sheet, windows and pictures in one go.

Runs in a process of its own, or in a thread. What comes back is ready to be sent.
"""

from __future__ import annotations

import threading
import time
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from curewindow.daysheet.models import DaySheet, WindowsAhead

if TYPE_CHECKING:
    from curewindow.explain.content import WhyContent

DAYS = 3.0
"""So far ahead a picture on the page goes [d]."""


@dataclass(frozen=True, slots=True)
class Drawn:
    """One picture: twice as SVG, in words, as a table and as JSON.

    Attributes
    ----------
    title, surface : str
    phone, desk : str
        SVG for a narrow and a wide screen.
    told : tuple of str
        What it shows, in sentences.
    rows : tuple of tuple of str
        When, air, surface, dew point and humidity, every six hours.
    json : bytes
        The picture as numbers, as ``curewindow picture --json`` prints it.
    """

    title: str
    surface: str
    phone: str
    desk: str
    told: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    json: bytes


@dataclass(frozen=True, slots=True)
class Worked:
    """Everything the pages and the interface show of one moment.

    Attributes
    ----------
    sheet : DaySheet
    windows : WindowsAhead or None
        To the end of the weather known; None, as there are no pictures, after a first look.
    spaces : dict of str to Drawn
        By name; 'outdoors' with them.
    jobs : dict of str to Drawn
        By name, jobs that are not done.
    usual : str
        The space with most to do.
    last_entry : int
        The newest entry of the record it rests on; 0: none.
    took_s : float
        How long it took [s].
    """

    sheet: DaySheet
    windows: WindowsAhead | None
    spaces: dict[str, Drawn]
    jobs: dict[str, Drawn]
    usual: str
    last_entry: int
    took_s: float


def first_look(folder: Path, now: datetime) -> Worked:
    """The day sheet alone, so that there is something to show.

    Raises
    ------
    CurewindowError
        As :func:`work_out`.
    """
    from curewindow.daysheet import day_sheet

    began = time.perf_counter()
    entry = last_entry(folder)
    sheet = day_sheet(folder, now)
    return Worked(sheet, None, {}, {}, "", entry, time.perf_counter() - began)


def work_out(folder: Path, now: datetime) -> Worked:
    """Work everything out.

    Raises
    ------
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    """
    from curewindow.boat.checks import OUTDOORS
    from curewindow.charts import scene_of, usual_target
    from curewindow.daysheet import windows_ahead
    from curewindow.daysheet.assemble import assemble
    from curewindow.situation import read_situation
    from curewindow_service.page.drawing import drawn

    began = time.perf_counter()
    entry = last_entry(folder)
    facts = read_situation(folder, now)
    sheet = assemble(facts)
    windows = windows_ahead(folder, now, forecast=facts.forecast)
    done = {day.job for day in sheet.jobs if day.status == "done"}
    scenes = {
        job.name: scene_of(facts, job, DAYS) for job in facts.work.job if job.name not in done
    }
    spaces = {}
    for space in [*facts.boat.space, None]:
        name = OUTDOORS if space is None else space.name
        here = [job.name for job in facts.work.job if job.space == (space and space.name)]
        spaces[name] = drawn(
            scene_of(facts, space, DAYS), [scenes[job] for job in here if job in scenes]
        )
    usual = usual_target(facts.boat, facts.work, done)
    return Worked(
        sheet=sheet,
        windows=windows,
        spaces=spaces,
        jobs={name: drawn(scene, [scene]) for name, scene in scenes.items()},
        usual=OUTDOORS if usual is None else usual.name,
        last_entry=entry,
        took_s=time.perf_counter() - began,
    )


def explained(
    folder: Path, now: datetime, job: str, at: datetime | None
) -> tuple[bytes, WhyContent]:
    """Why a job may or may not be started at a moment: as JSON and in words.

    Raises
    ------
    CurewindowError
        No such job; or as :func:`work_out`.
    """
    from curewindow.explain import why
    from curewindow.explain.content import content_of

    answer = why(folder, now, job, at=at)
    return answer.model_dump_json().encode(), content_of(answer, commands=False)


def picture_json(folder: Path, now: datetime, of: str | None, days: float) -> bytes:
    """A picture as numbers, of a job or space, for so many days.

    Raises
    ------
    CurewindowError
        No such job or space; or as :func:`work_out`.
    """
    from curewindow.boat.named import job_or_space
    from curewindow.charts import picture_of, scene_of, usual_target
    from curewindow.judgement.progress import next_of
    from curewindow.situation import read_situation

    facts = read_situation(folder, now)
    if of is None:
        jobs = facts.work.job
        done = {job.name for job in jobs if next_of(job, facts.coats, facts.dones) is None}
        target = usual_target(facts.boat, facts.work, done)
        return picture_of(scene_of(facts, target, days)).model_dump_json().encode()
    named = job_or_space(facts.boat, facts.work, of)
    return picture_of(scene_of(facts, named, days)).model_dump_json().encode()


def last_entry(folder: Path) -> int:
    """The number of the newest entry in the record; 0: none."""
    from curewindow.boat.folder import RECORD_FILE
    from curewindow.record.store import Record

    with Record(folder / RECORD_FILE, read_only=True) as record:
        newest = record.history(last=1)
    return newest[0].id if newest else 0


def settle_in() -> None:
    """First thing in the own process: leave Ctrl-C to the parent, and go when it has gone."""
    import multiprocessing
    import os
    import signal

    signal.signal(signal.SIGINT, signal.SIG_IGN)
    parent = multiprocessing.parent_process()
    if parent is None:
        return

    def wait_for_parent() -> None:
        parent.join()
        os._exit(0)

    threading.Thread(target=wait_for_parent, daemon=True).start()
