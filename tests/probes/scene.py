"""A small boat put together of pieces, and what every face says of its one job."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from curewindow.boat.folder import load_boat
from curewindow.cautions import refusal_of
from curewindow.cli.daytext import day_lines
from curewindow.daysheet.assemble import assemble
from curewindow.errors import CurewindowError
from curewindow.explain.one_start import explained
from curewindow.findings import Finding
from curewindow.logbook.doubting import KnownAround, look_over
from curewindow.record.store import Record
from curewindow.reminders.derive import reminders_of
from curewindow.situation import Situation, read_situation
from curewindow.voice.cautions import topic

NOW = datetime(2026, 5, 18, 8, 0, tzinfo=UTC)  # Monday 10:00 in Amsterdam
_LOOKED_AT = timedelta(hours=48)
HEAD = """
name = "test boat"
[place]
latitude = 52.4
longitude = 4.9
time_zone = "Europe/Amsterdam"
water_temp = "{water}"
[weather]
feed = "file"
file = "weather.csv"
[[hours]]
days = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"]
from = {opens}
until = {shuts}
"""
SPACE = """
[[space]]
name = "{name}"
volume = "{volume}"
air_change = "1 /h"
{more}
[[space.panel]]
name = "side"
area = "{area}"
layers = [{{ material = "plywood", thickness = "12 mm" }}]
{heating}
"""
JOB = """
[[job]]
name = "{name}"
{where}
area = "{area}"
{more}
"""
STEP = """
[[job.step]]
do = "{do}"
{more}
"""


def space(
    name: str, *, volume: str = "20 m³", area: str = "12 m²", heating: str = "", more: str = ""
) -> str:
    """A space of boat.toml."""
    return SPACE.format(name=name, volume=volume, area=area, heating=heating, more=more)


def heating(kind: str, *, vented: bool, flame: bool, power: str = "3 kW", more: str = "") -> str:
    """A heater of boat.toml."""
    return (
        f'[space.heating]\nkind = "{kind}"\npower = "{power}"\nvented = {str(vented).lower()}\n'
        f"open_flame = {str(flame).lower()}\n{more}\n"
    )


def job(
    *steps: str,
    name: str = "table",
    where: str = 'space = "cabin"',
    area: str = "2 m²",
    more: str = "",
) -> str:
    """A job of work.toml."""
    return JOB.format(name=name, where=where, area=area, more=more) + "".join(steps)


def step(do: str, sheet: str = "", *, more: str = "") -> str:
    """A step of a job."""
    product = f'sheet = "{sheet}"\nhands_on = "45 min"\n' if sheet else 'hands_on = "30 min"\n'
    return STEP.format(do=do, more=product + more)


@dataclass(frozen=True)
class Probe:
    """A boat, what is asked of it, and what a careful answer says.

    Attributes
    ----------
    name : str
        What is tried, in a few words.
    boat : str
        Spaces and what else stands in boat.toml behind its head.
    work : str
    told : tuple of str
        Topics of danger, all of which are to be told; empty for a harmless one.
    not_told : tuple of str
        Topics that would be a false alarm.
    refused : bool or None
        Is the start to be refused? None: it is not about that.
    says : tuple of str
        Words of the short day sheet.
    silent : tuple of str
        Words it is not to have.
    misread : str
        What is to be said of a file that is not accepted; '' where it is.
    """

    name: str
    boat: str
    work: str
    told: tuple[str, ...] = ()
    not_told: tuple[str, ...] = ()
    refused: bool | None = None
    says: tuple[str, ...] = ()
    silent: tuple[str, ...] = ()
    misread: str = ""
    head: dict[str, str] = field(default_factory=dict)
    temp_c: float = 17.0
    dew_point_c: float = 6.0
    swing_k: float = 0.0
    log: Callable[[Record], Any] | None = None
    sheets: dict[str, str] = field(default_factory=dict)

    @property
    def harmless(self) -> bool:
        """Is it a control, which a tool that refuses everything gets wrong?"""
        return self.refused is False and not self.misread


@dataclass(frozen=True)
class Answered:
    """What the faces say: whether it may be started, and the dangers each names."""

    go: dict[str, bool]
    told: dict[str, frozenset[str]]
    misread: str = ""
    text: str = ""

    def row(self) -> str:
        """One line for a table."""
        if self.misread:
            return f"not accepted: {self.misread}"
        marks = " ".join(f"{face}:{'go' if on else 'no'}" for face, on in self.go.items())
        return f"{marks} | {', '.join(sorted(self.told['day sheet'])) or '-'}"


def written(probe: Probe, folder: Path) -> Path:
    """The boat folder of a probe."""
    head = {"water": "14 °C", "opens": "08:00:00", "shuts": "20:00:00", **probe.head}
    (folder / "boat.toml").write_text(HEAD.format(**head) + probe.boat, "utf-8")
    (folder / "work.toml").write_text(probe.work, "utf-8")
    (folder / "sheets").mkdir(exist_ok=True)
    for name, text in probe.sheets.items():
        (folder / "sheets" / f"{name}.toml").write_text(text, "utf-8")
    first = NOW.replace(hour=0) - timedelta(days=4)
    rows = ["time,temp_c,dew_point_c,wind_ms,rain_mm_h,cloud_pct,sun_w_m2"]
    rows += [
        f"{first + timedelta(hours=h):%Y-%m-%dT%H:%M}Z,"
        f"{probe.temp_c + probe.swing_k * math.cos((h - 14) * math.pi / 12.0):.2f},"
        f"{probe.dew_point_c},2,0,100,0"
        for h in range(9 * 24)
    ]
    (folder / "weather.csv").write_text("\n".join(rows) + "\n", "utf-8")
    if probe.log is not None:
        with Record(folder / "record.db", now=lambda: NOW) as record:
            probe.log(record)
            boat = load_boat(folder)
            around = KnownAround(folder, boat, record, NOW)
            look_over(record, around, [each.name for each in boat.space], NOW - _LOOKED_AT, NOW)
    return folder


def asked(probe: Probe, folder: Path, name: str = "table") -> Answered:
    """What each face says of a probe's job."""
    try:
        facts = read_situation(written(probe, folder), NOW)
        return _answered(facts, name)
    except CurewindowError as bad:
        return Answered({}, {}, str(bad))


def _answered(facts: Situation, name: str) -> Answered:
    sheet = assemble(facts)
    day = next(each for each in sheet.jobs if each.job == name)
    planned = next(each for each in facts.work.job if each.name == name)
    why = explained(facts, planned, facts.now)
    go = {"day sheet": day.status == "go", "why": why.allowed}
    told = {
        "day sheet": _topics([*(c.danger for c in sheet.cautions), *day.cautions]),
        "why": _topics([*why.cautions, why.verdict, *why.verdict.because]),
    }
    if day.heat is not None:
        told["heat"] = _topics([*day.heat.cautions, day.heat.verdict, *day.heat.verdict.because])
        if refusal_of(day.heat.cautions) is not None:
            go["heat"] = day.heat.status == "possible"
    notices = list(reminders_of(facts, sheet))
    body = "\n".join(f"{n.title}\n{n.body}" for n in notices).casefold()
    told["notices"] = frozenset(t for t in told["day sheet"] if t.casefold() in body)
    text = " ".join(" ".join(day_lines(sheet, width=60, full=False)).split())
    return Answered(go, told, text=text)


def _topics(found: list[Finding]) -> frozenset[str]:
    return frozenset(topic(each) for each in _all(found) if each.weight == "danger")


def _all(found: list[Finding]) -> Iterator[Finding]:
    for each in found:
        yield each
        yield from _all(list(each.because))


def wrong(probe: Probe, answered: Answered) -> list[str]:
    """What is wrong about an answer; empty: nothing."""
    found = []
    if probe.misread or answered.misread:
        if not probe.misread or probe.misread.casefold() not in answered.misread.casefold():
            found.append(f"read as: {answered.misread or 'accepted'}")
        return found
    for face, on in answered.go.items():
        if probe.refused is not None and on is probe.refused:
            found.append(f"{face} says {'go' if on else 'no'}")
    for danger in probe.told:
        found += [
            f"{face} does not name '{danger}'"
            for face in ("day sheet", "why")
            if danger not in answered.told[face]
        ]
        if danger not in answered.told["notices"]:
            found.append(f"no notice names '{danger}'")
    found += [f"the day sheet lacks '{each}'" for each in probe.says if each not in answered.text]
    found += [f"the day sheet has '{each}'" for each in probe.silent if each in answered.text]
    found += [
        f"{face} names '{danger}'"
        for danger in probe.not_told
        for face, told in answered.told.items()
        if danger in told
    ]
    return found
