"""Conditions that leave a coat's limits while it sets: by readings, or as forecast."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from curewindow.answers import Clock
from curewindow.boat.checks import OUTDOORS
from curewindow.boat.folder import job_by_name
from curewindow.boat.schema import Job
from curewindow.boat.service import Level
from curewindow.cautions import gravest_first, refusal_of
from curewindow.cautions.airflow import films_airflow_m3_h
from curewindow.cautions.alone import order_alone
from curewindow.cautions.fire import fire_cautions
from curewindow.cautions.spaces import heater_cautions
from curewindow.cautions.unflued import unflued_refused
from curewindow.findings import Finding, finding
from curewindow.judgement.clocks import milestone_at
from curewindow.judgement.films import burning_near
from curewindow.record.entries import Coat, Heat, Reading
from curewindow.reminders.known import Known
from curewindow.reminders.models import Reminder
from curewindow.rules.limits import AIR, HUMIDITY, SURFACE, LimitKind
from curewindow.rules.unflued import against, unflued_for
from curewindow.sheets.schema import SettingLimits
from curewindow.windows.grid import at_index, first_at_or_after, last_at_or_before
from curewindow.windows.limits import LimitTrack, limit_tracks
from curewindow.windows.reasons import broken

# A heater that may be turned down is told for so long.
_TOLD_FOR = timedelta(hours=8)
# A reading speaks for itself for so long.
_FRESH = timedelta(hours=3)
# A fall that goes on reaches a limit: looked at so far ahead, if it is this steep.
_REACHES_H = 2.0
_STEEP_C_H = 0.3
_TOLD_BEFORE = timedelta(hours=4)
_WORST_WITHIN_H = 12.0
_LOOKED_AHEAD = timedelta(hours=36)


@dataclass(frozen=True, slots=True)
class Setting:
    """A coat that is not set yet, with its limits until then."""

    job: Job
    clock: Clock
    limits: SettingLimits
    until: datetime


def wet_reminders(known: Known) -> Iterator[Reminder]:
    """One a space, a limit and a day; measured ones before forecast ones."""
    by_space: dict[str, list[Setting]] = {}
    for setting in still_setting(known):
        if lit_by_log(known, setting.job.space):
            yield _turn_down(known, setting)
        by_space.setdefault(setting.job.space or OUTDOORS, []).append(setting)
    for space, settings in by_space.items():
        measured = list(_measured(known, space, settings))
        yield from measured
        if not measured:
            yield from _forecast(known, space, settings)


def still_setting(known: Known) -> Iterator[Setting]:
    facts = known.facts
    for clock in known.clocks:
        job = job_by_name(facts.work, clock.job)
        limits = facts.sheet(clock.sheet).sheet.setting
        coat = _coat_of(known, clock)
        if clock.state == "cured" or coat is None:
            continue
        until = milestone_at(facts, job, coat, [limits.until])
        if until is None and facts.sheet(clock.sheet).sheet.cure.hours(limits.until) is None:
            until = clock.touch_dry
        if until is None:  # not within the weather known
            until = at_index(facts.series(job), -1)
        if until > known.now:
            yield Setting(job, clock, limits, until)


def _turn_down(known: Known, setting: Setting) -> Reminder:
    """The coat a heater was lit for is on: held until that coat has set, whatever was planned."""
    clock, until = setting.clock, setting.until
    coat = f"{clock.job}|{clock.step}.{clock.coat}"
    return turn_down(
        known,
        coat,
        about=clock.job,
        where=setting.job.space or "outdoors",
        due=until,
        body=[finding("coat has set", job=clock.job, at=until)],
    )


def turn_down(
    known: Known,
    which: str,
    *,
    about: str,
    where: str,
    due: datetime,
    body: Sequence[Finding],
) -> Reminder:
    """A heater that may be turned down, of one that the log has as lit."""
    return known.reminder(
        "turn down heater",
        which,
        about=about,
        level="normal",
        due=due,
        expires=due + _TOLD_FOR,
        head=finding("heater down", space=where),
        body=body,
    )


def lit_by_log(known: Known, space: str | None) -> Heat | None:
    """What the log last has a space's heater lit for, until some hours after it was to end."""
    own = [heat for heat in known.facts.heats if heat.space == space and heat.at <= known.now]
    last = max(own, key=lambda heat: heat.at, default=None)
    if last is None or last.setpoint_c is None or known.now >= last.until + _TOLD_FOR:
        return None
    return last


def _coat_of(known: Known, clock: Clock) -> Coat | None:
    return next(
        (
            coat
            for coat in reversed(known.facts.coats)
            if (coat.job, coat.step, coat.coat) == (clock.job, clock.step, clock.coat)
        ),
        None,
    )


def _readings(known: Known, space: str) -> list[Reading]:
    """The last hours' readings of a space's air, oldest first."""
    return [
        reading
        for reading in known.facts.readings
        if reading.space == space and reading.at > known.now - _FRESH
    ]


def _measured(known: Known, space: str, settings: list[Setting]) -> Iterator[Reminder]:
    readings = _readings(known, space)
    for kind in (AIR, HUMIDITY):
        unit = kind.unit
        values = [
            (r.at, r.air_c if kind is AIR else r.rh_pct)
            for r in readings
            if (r.air_c if kind is AIR else r.rh_pct) is not None
        ]
        if not values:
            continue
        at, value = values[-1]
        assert value is not None
        lows, highs = bounds_of(settings, kind)
        slope = _slope([(then, v) for then, v in values if v is not None])
        for limit, sign, concerned in ((lows, 1.0, "min"), (highs, -1.0, "max")):
            if not limit:
                continue
            bound = max(limit) if sign > 0 else min(limit)
            margin = sign * (value - bound)
            towards = -sign * slope
            reaches = margin > 0 and towards > _STEEP_C_H and margin / towards < _REACHES_H
            if margin >= 0 and not reaches:
                continue
            jobs = [s for s in settings if bound in bounds_of([s], kind)[0 if sign > 0 else 1]]
            moving = None if abs(slope) < _STEEP_C_H else "falling" if slope < 0 else "rising"
            heater = kind is AIR and sign > 0
            yield _leaving(
                known,
                space,
                jobs,
                f"{kind.name}|{concerned}|{'nearing' if margin >= 0 else 'left'}",
                known.now,
                "urgent",
                finding(
                    "limit left",
                    space=space,
                    value=value,
                    limit_value=bound,
                    unit=unit,
                    state=moving,
                    known=_heated(known, space) if heater else None,
                ),
                finding("read at", at=at),
                heater=heater,
            )


def bounds_of(settings: list[Setting], kind: LimitKind) -> tuple[list[float], list[float]]:
    """Lowest and highest allowed of the air, of coats that are setting."""
    ranges = [
        each
        for s in settings
        for each in ((s.limits.air, s.limits.surface) if kind is AIR else (s.limits.humidity,))
    ]
    lows = [each.min for each in ranges if each.min is not None]
    highs = [each.max for each in ranges if each.max is not None]
    return lows, highs


def _slope(values: list[tuple[datetime, float]]) -> float:
    """Change in an hour over the last readings; 0 for one alone."""
    (first, start), (last, end) = values[0], values[-1]
    hours = (last - first).total_seconds() / 3600.0
    return (end - start) / hours if hours > 0.1 else 0.0


def _forecast(known: Known, space: str, settings: list[Setting]) -> Iterator[Reminder]:
    found: dict[tuple[str, str], tuple[datetime, LimitTrack, int, list[Setting]]] = {}
    for setting in settings:
        series = known.facts.series(setting.job)
        first = max(last_at_or_before(series, known.now), 0)
        end = min(setting.until, known.now + _LOOKED_AHEAD)
        last = min(first_at_or_after(series, end), len(series.times) - 1)
        for track in limit_tracks(series, setting.limits, "setting"):
            index = track.first_break(first, last)
            if index is None:
                continue
            at = max(at_index(series, index), known.now)
            key = (track.name, track.bound)
            held = found.get(key)
            if held is None or at < held[0]:
                also = [] if held is None else held[3]
                found[key] = (at, track, index, [setting, *also])
            else:
                held[3].append(setting)
    for (name, bound), (at, track, index, jobs) in found.items():
        series = known.facts.series(jobs[0].job)
        ahead = index + max(int(_WORST_WITHIN_H / series.step_h), 1)
        values = track.value[:, index:ahead]
        worst = float(np.nanmin(values) if bound == "min" else np.nanmax(values))
        soon = at <= known.now + _TOLD_BEFORE
        heater = track.kind in (AIR, SURFACE) and bound == "min"
        yield _leaving(
            known,
            space,
            jobs,
            f"{name}|{bound}|forecast",
            known.now if soon else at - _TOLD_BEFORE,
            "urgent" if soon else "normal",
            finding(
                "limit to be left",
                space=space,
                begins=at if at > known.now else None,
                known=_heated(known, space) if heater else None,
                because=[broken(track, series, worst)],
            ),
            finding("worked out"),
            heater=heater,
            latest=at,
        )


def _leaving(
    known: Known,
    space: str,
    jobs: list[Setting],
    which: str,
    due: datetime,
    level: Level,
    said: Finding,
    basis: Finding,
    *,
    heater: bool,
    latest: datetime | None = None,
) -> Reminder:
    until = max(setting.until for setting in jobs)
    care = heating_dangers(known, space, jobs, due, until)
    kind_of = "heat" if heater else "air"
    if space == OUTDOORS or refusal_of(care) is not None:
        kind_of = "cover" if heater else "air alone"
    names = tuple(dict.fromkeys(setting.job.name for setting in jobs))
    return known.reminder(
        "limits",
        f"{space}|{which}|{known.words.local(due).date()}",
        about=space,
        level=level,
        due=due,
        latest=latest,
        expires=min(until, due + timedelta(hours=12)),
        head=said,
        body=[
            finding("not set until", names=names, until=until),
            finding("help wet coat", kind_of=kind_of),
            basis,
        ],
        care=care,
    )


def heating_dangers(
    known: Known, space: str, settings: Sequence[Setting], begin: datetime, end: datetime
) -> list[Finding]:
    """What can hurt whoever heats a space over these films from a moment on, till they have set.

    One of them refuses where its heater must not be lit: over vapour, or without a flue.
    """
    boat = known.facts.boat
    place = boat.find_space(space)
    if place is None:
        return []
    near = burning_near(known.facts, place)
    sheets = [known.facts.sheet(setting.clock.sheet).sheet for setting in settings]
    sheets += [film.sheet for film in near]
    known_air = films_airflow_m3_h(near) is not None
    found = [
        *fire_cautions(sheets, place, boat, place.heating, airflow_known=known_air),
        *heater_cautions(place, boat, None),
    ]
    found += order_alone(boat, place, begin, end)
    unflued = unflued_for(boat, place)
    reasons = [] if unflued is None else against(boat, unflued, begin, end, "normal")
    if unflued is not None and reasons:
        found.append(unflued_refused(unflued, reasons))
    return gravest_first(found)


def _heated(known: Known, space: str) -> bool:
    place = known.facts.boat.find_space(space)
    return place is not None and place.heating is not None
