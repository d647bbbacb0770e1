"""The windows ahead, job by job, to the end of the weather known or of some days."""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path

from curewindow.boat.folder import jobs_asked_for
from curewindow.daysheet.assemble import provenance
from curewindow.daysheet.models import JobAhead, WindowsAhead
from curewindow.findings import finding
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.jobday import find, job_day
from curewindow.situation import read_situation
from curewindow.weather.forecast import Forecast


def windows_ahead(
    folder: Path,
    now: datetime,
    *,
    job: str | None = None,
    days: float | None = None,
    forecast: Forecast | None = None,
) -> WindowsAhead:
    """Find the windows ahead.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    job : str, optional
        Only this one.
    days : float, optional
        How far to look; else to the end of the weather known. Where there is no window
        so soon the next one is given.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.

    Raises
    ------
    NotFoundError
        No job of that name.
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    ValueError
        ``now`` is not aware.
    """
    facts = read_situation(folder, now, forecast)
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    basis = provenance(facts)
    until = basis.weather_until
    if days is not None:
        until = min(until, facts.now + timedelta(days=days))
    jobs = []
    for each in jobs_asked_for(facts.work, job):
        found = find(facts, each, clocks, all_windows=True)
        day = job_day(facts, each, found)
        windows = [] if found is None or day.status == "refused" else found.judged.windows
        near = [window for window in windows if window.opens <= until]
        jobs.append(
            JobAhead(
                job=day.job,
                where=day.where,
                space=day.space,
                status=day.status,
                verdict=day.verdict,
                next=day.next,
                windows=near or windows[:1],
                if_wiped=day.if_wiped,
                obstacles=[] if found is None else found.judged.obstacles,
                waits=day.waits,
                cautions=day.cautions,
                notes=day.notes,
            )
        )
    return WindowsAhead(
        boat=facts.boat.name,
        time_zone=facts.boat.place.time_zone,
        temperature_unit="°F" if facts.words.fahrenheit else "°C",
        as_of=facts.now,
        until=until,
        jobs=jobs,
        provenance=basis,
        notes=[
            *(
                [finding("one pair of hands")]
                if sum(bool(each.windows) for each in jobs) > 1
                else []
            ),
            *([] if facts.work.job else [finding("no jobs")]),
        ],
    )
