"""What the templates say: the day sheet's own sentences, sorted for a page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Any
from urllib.parse import quote

from curewindow.answers import Clock, SpaceNow
from curewindow.boat.checks import OUTDOORS
from curewindow.cautions import grade
from curewindow.daysheet.models import DayCaution, DaySheet
from curewindow.findings import Finding
from curewindow.judgement.models import JobDay
from curewindow.voice import full, short
from curewindow.voice.cabin import dew_margin_text
from curewindow.voice.cautions import caution, topic
from curewindow.voice.day import (
    after_text,
    daylight_text,
    dewfall_text,
    heater_text,
    margin_text,
    obstacle_text,
    recoat_text,
    short_reason,
    step_text,
    waits_text,
    what_broke,
    window_details,
    window_text,
)
from curewindow.voice.plan import plan_lines, plan_note, plan_title
from curewindow.wording import MONTHS, InPlace, Wording, span, wording_of

# What a job's place in the day is called, and the mark that says it without colour.
_GROUPS = (
    ("go", "Go today", "●"),
    ("refused", "Not like this", "✗"),
    ("wait", "Later", "◔"),
    ("blocked", "No window in the forecast (ends {until})", "○"),
    ("done", "Done", "✓"),
)


@dataclass(frozen=True, slots=True)
class StatusGroup:
    """Jobs that stand alike."""

    status: str
    title: str
    mark: str
    jobs: list[JobDay]


def date_text(day: date) -> str:
    """'20 Mar 2027'."""
    return f"{day.day} {MONTHS[day.month - 1]} {day.year}"


def template_words() -> dict[str, Any]:
    """Functions that templates call."""
    return {
        "after_text": after_text,
        "air_text": air_text,
        "brief_text": brief_text,
        "date_text": date_text,
        "daylight_text": daylight_text,
        "dewfall_text": dewfall_text,
        "groups_of": groups_of,
        "plan_lines": plan_lines,
        "plan_note": plan_note,
        "plan_title": plan_title,
        "heat_text": heat_text,
        "heater_text": heater_text,
        "job_url": lambda name: f"/job?name={quote(name, safe='')}",
        "alike_of": alike_of,
        "caution": caution,
        "together": together,
        "full": full,
        "grade": grade,
        "topic": topic,
        "short": short,
        "margin_text": margin_text,
        "mark_of": lambda status: next(mark for name, _, mark in _GROUPS if name == status),
        "obstacle_text": obstacle_text,
        "OUTDOORS": OUTDOORS,
        "present_of": present_of,
        "quote": lambda text: quote(text, safe=""),
        "recoat_text": recoat_text,
        "space_url": lambda name: f"/space?name={quote(name, safe='')}",
        "span": span,
        "provenance_text": provenance_text,
        "step_text": step_text,
        "surface_text": surface_text,
        "urgent_of": urgent_of,
        "waits_text": waits_text,
        "window_details": window_details,
        "window_text": window_text,
        "wording_of": page_wording,
    }


def page_wording(answer: InPlace) -> Wording:
    """The boat's zone and degrees; nothing can be typed on a page."""
    return replace(wording_of(answer), commands=False)


def groups_of(sheet: DaySheet) -> list[StatusGroup]:
    """Jobs by what can be done about them today, empty groups left out."""
    until = page_wording(sheet).day(sheet.provenance.weather_until)
    found = []
    for status, title, mark in _GROUPS:
        jobs = [day for day in sheet.jobs if day.status == status]
        if jobs:
            found.append(StatusGroup(status, title.format(until=until), mark, jobs))
    return found


def urgent_of(sheet: DaySheet, words: Wording) -> list[tuple[str, str]]:
    """What must not be missed: (job, sentence)."""
    told = [
        (clock.job, recoat_text(clock, words))
        for clock in sheet.clocks
        if clock.next_deadline is not None and clock.next_deadline > words.now
    ]
    for clock in sheet.clocks:
        if clock.to_check:
            told.append((clock.job, f"check the coat, {what_broke(clock)}"))
        elif clock.state == "unknown":
            told.append((clock.job, "nobody can tell where its coat stands"))
    return told


def present_of(sheet: DaySheet) -> list[SpaceNow]:
    """Every space, and the open air last."""
    return [*sheet.spaces, *([sheet.outdoors] if sheet.outdoors is not None else [])]


def air_text(space: SpaceNow, words: Wording) -> str:
    """'18.3 °C, 54 %'; worked-out values with '~'."""
    if space.air_c is None:
        return "not known: log a reading"
    about = "" if space.measured or space.where == OUTDOORS else "~"
    humid = "" if space.rh_pct is None else f", {space.rh_pct:.0f} %"
    return f"{about}{words.temp(space.air_c)}{humid}"


def surface_text(space: SpaceNow, words: Wording) -> str:
    """'roof 4.6 °C, 0.8 °C above dew point'; '' where no surface is known."""
    if space.coldest_above_dew_k is None:
        return "" if space.dew_point_c is None else f"dew point {words.temp(space.dew_point_c)}"
    name = space.coldest or "skin"
    at = "" if space.coldest_c is None else f" {words.temp(space.coldest_c)}"
    return dew_margin_text(f"{name}{at}", space.coldest_above_dew_k, words)


def provenance_text(space: SpaceNow) -> str:
    """Where the values come from."""
    if space.where == OUTDOORS:
        return "read" if space.measured else "forecast"
    if space.measured and space.reading_age_h is not None:
        return f"read {span(space.reading_age_h)} ago"
    return "worked out, not read"


def heat_text(day: JobDay, words: Wording) -> str:
    """What heat would open; '' where nothing was looked for."""
    return "" if day.heat is None else full(day.heat.verdict, words)


def alike_of(dangers: Sequence[Finding], words: Wording) -> list[list[Finding]]:
    """Dangers of one short line together: it is read once, what each adds stands behind it."""
    found: dict[str, list[Finding]] = {}
    for danger in dangers:
        found.setdefault(caution(danger, words), []).append(danger)
    return list(found.values())


def together(cautions: Sequence[DayCaution], words: Wording) -> list[list[DayCaution]]:
    """A day's cautions of one short line together, in their order."""
    found: dict[str, list[DayCaution]] = {}
    for each in cautions:
        found.setdefault(caution(each.danger, words), []).append(each)
    return list(found.values())


def upfirst(text: str) -> str:
    """A sentence with its first letter a capital; the rest as it is."""
    return text[:1].upper() + text[1:]


def brief_text(day: JobDay, words: Wording) -> str:
    """Of a job that cannot start today: when it can, or what is in the way, in few words."""
    reason = short_reason(day.waits, day.obstacles, words)
    wanted = full(day.verdict, words) if day.status == "wait" or not reason else reason
    return upfirst(wanted)


def clock_of(sheet: DaySheet, job: str) -> Clock | None:
    """The clock of a job's last coat."""
    return next((clock for clock in sheet.clocks if clock.job == job), None)
