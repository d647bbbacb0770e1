"""A week of the demo boat with a clock that runs fast, so that one sees what would be told."""

from __future__ import annotations

import tempfile
import textwrap
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

from curewindow.changes import StatedJob
from curewindow.wording import MONTHS, WEEKDAYS
from curewindow_service.app import Service
from curewindow_service.channels import Destination, Message, Outcome
from curewindow_service.look import look_here

STEP = timedelta(minutes=15)
# Everything is worked out anew so often: on the made-up weather more often tells no more.
_REFRESH = "12 h"
_WIDTH = 78
# Enough of the demo's jobs to show every kind of notice, few enough for a minute.
_JOBS = (
    "saloon doors",
    "chart table",
    "forepeak frames",
    "wet locker primer",
    "wet locker cork",
    "wet locker slats",
    "mooring bitts",
)
_SETTINGS = f"""
[service]
refresh = "{_REFRESH}"

[[channel]]
name = "this terminal"
address = "desktop:"

[[tin]]
sheet = "waterborne-acrylic-varnish"
space = "forepeak"
"""
# What a thermometer shows while the heater is out, by hours since; made up.
_COOLING = ((0.5, 15.1), (1.0, 12.6), (2.0, 8.2), (3.5, 15.8))


@dataclass(slots=True)
class _Played:
    """The week as it goes."""

    folder: Path
    zone: ZoneInfo
    now: datetime
    lines: list[str] = field(default_factory=list)
    doings: list[tuple[datetime, Callable[[], None]]] = field(default_factory=list)
    coats: int = 0
    plan: Callable[[], dict[str, Any] | None] = lambda: None

    def send(self, way: Destination, message: Message, handing_over: Callable[[], None]) -> Outcome:
        """'Send' to the terminal."""
        handing_over()
        mark = {"low": "·", "normal": "→", "urgent": "!"}[message.level]
        self.lines.append(f"{self.stamp()}  {mark} {message.title}")
        for line in message.body.splitlines():
            self.lines += textwrap.wrap(
                line, _WIDTH, initial_indent=" " * 20, subsequent_indent=" " * 22
            )
        return Outcome("sent", "shown")

    def stamp(self) -> str:
        here = self.now.astimezone(self.zone)
        day = f"{WEEKDAYS[here.weekday()]} {here.day} {MONTHS[here.month - 1]}"
        return f"{day:<10} {here:%H:%M}"

    def aboard(self, text: str) -> None:
        self.lines.append(f"{self.stamp()}    ({text})")


def play(*, days: int = 7, seconds: float = 60.0, alone: bool = False) -> Iterator[str]:
    """Let some days of the demo boat go by.

    Parameters
    ----------
    days : int
        How many.
    seconds : float
        How long it takes; 0: as quick as it can be worked out.
    alone : bool
        Nobody aboard puts on a coat or takes a reading.

    Yields
    ------
    str
        Line by line, in the order of the played clock.
    """
    from curewindow.demo import files as demofiles

    zone = ZoneInfo(demofiles.ZONE)
    first = datetime.now(zone).replace(hour=7, minute=0, second=0, microsecond=0).astimezone(UTC)
    with tempfile.TemporaryDirectory(prefix="curewindow-week-") as made:
        folder = Path(made) / "boat"
        demofiles.write(folder, first)
        _fewer_jobs(folder / "work.toml")
        _less_weather(folder / "weather.csv", first + timedelta(days=days + 2))
        with (folder / "boat.toml").open("a", encoding="utf-8") as file:
            file.write(_SETTINGS)
        played = _Played(folder, zone, first)
        service = Service(folder, clock=lambda: played.now, look=look_here, send=played.send)
        span = "a day" if days == 1 else f"{days} days"
        played.plan = service.plan
        yield f"{span} of the demo boat, all of it made up. · low  → normal  ! urgent"
        began, end = time.monotonic(), first + timedelta(days=days)
        while played.now < end:
            if not alone:
                _aboard(played)
            service.tick()
            while service.senders.busy():
                time.sleep(0.001)
            yield from played.lines
            played.lines.clear()
            played.now += STEP
            share = (played.now - first) / (end - first)
            time.sleep(max(0.0, began + share * seconds - time.monotonic()))
        service.close()


def _fewer_jobs(file: Path) -> None:
    import tomlkit

    work = tomlkit.parse(file.read_text("utf-8")).unwrap()
    work["job"] = [job for job in work["job"] if job["name"] in _JOBS]
    file.write_text(tomlkit.dumps(work), "utf-8")


def _less_weather(file: Path, until: datetime) -> None:
    rows = file.read_text("utf-8").splitlines(keepends=True)
    last = f"{until:%Y-%m-%dT%H}"
    file.write_text("".join(row for row in rows if not row[0].isdigit() or row < last), "utf-8")


def _aboard(played: _Played) -> None:
    """What the owner does at this moment: a reading each morning, then the first coat that goes."""
    here = played.now.astimezone(played.zone)
    if (here.hour, here.minute) == (8, 0):
        _morning(played)
    for at, do in [each for each in played.doings if each[0] <= played.now]:
        do()
        played.doings.remove((at, do))


def _morning(played: _Played) -> None:
    from curewindow.boat.effort import hands_on_h
    from curewindow.boat.folder import job_by_name, load_work
    from curewindow.conditions.course import utc64
    from curewindow.record.entries import Reading
    from curewindow.record.store import Record
    from curewindow.situation import read_situation

    facts = read_situation(played.folder, played.now)
    told = []
    with Record(played.folder / "record.db", now=lambda: played.now) as record:
        for name, course in facts.conditions.items():
            at = int((course.times <= utc64(played.now)).sum()) - 1
            air, humidity = float(course.air_c[0, at]), float(course.rh_pct[0, at])
            record.add_reading(
                Reading(name, played.now, air_c=round(air, 1), rh_pct=float(round(humidity)))
            )
            told.append(f"{name} {air:.1f} °C {humidity:.0f} %")
    played.aboard(f"read: {', '.join(told)}")
    work = load_work(played.folder)
    for name, plan in (played.plan() or {}).items():
        due = StatedJob.model_validate(plan["told"])
        job = job_by_name(work, name)
        step = job.step[due.step - 1]
        opens = None if plan["opens"] is None else datetime.fromisoformat(plan["opens"])
        if step.sheet is None or due.coat is None or opens is None:
            continue
        opens = max(opens, played.now)
        if opens.astimezone(played.zone).date() == played.now.astimezone(played.zone).date():
            ends = opens + timedelta(hours=hands_on_h(step, job))
            on = _coat(played, name, due.step, due.coat, opens, step.sheet)
            played.doings.append((ends, on))
            return


def _coat(
    played: _Played, job: str, step: int, coat: int, start: datetime, sheet: str
) -> Callable[[], None]:
    """Log a coat that has just been put on; after the second one the heater goes out."""

    def do() -> None:
        from curewindow.record.entries import Coat
        from curewindow.record.store import Record

        with Record(played.folder / "record.db", now=lambda: played.now) as record:
            record.add_coat(Coat(job, step, coat, start, played.now, sheet))
        played.aboard(f"put on: {job}, coat {coat}")
        played.coats += 1
        if played.coats == 2:
            played.doings += [
                (played.now + timedelta(hours=hours), _reading(played, air))
                for hours, air in _COOLING
            ]

    return do


def _reading(played: _Played, air_c: float) -> Callable[[], None]:
    """A sensor in the saloon while the heater is out."""

    def do() -> None:
        from curewindow.record.entries import Reading
        from curewindow.record.store import Record

        with Record(played.folder / "record.db", now=lambda: played.now) as record:
            record.add_reading(
                Reading("saloon", played.now, air_c=air_c, rh_pct=60.0, source="the demo's sensor"),
                by_person=True,  # a sensor's own would wait for the regular look
            )
        played.aboard(f"saloon's sensor: {air_c} °C")

    return do
