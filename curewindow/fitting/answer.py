"""What was learned, as it is answered: the JSON of `curewindow learn` is exactly these models."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

from pydantic import Field

from curewindow.answers import Answer
from curewindow.findings import Finding, finding
from curewindow.fitting.lesson import Lesson, Misses
from curewindow.fitting.suspects import Suspect
from curewindow.voice.learned import NAMES, SHOWN

TOLD, PARTLY = 0.5, 0.2
"""From this share of the uncertainty taken off a value counts as told, as told in part."""


class LearnedValue(Answer):
    """One value nobody can measure, before and after the readings."""

    key: str
    name: str
    unit: str = Field(description="of value and before; '' for a bare factor")
    value: float
    factor: float = Field(ge=1, description="two of three times within this factor either way")
    before: float = Field(description="as described or assumed")
    before_factor: float
    told: Literal["told", "in part", "not told"] = Field(
        description="do the readings say it, or is it still the guess from before?"
    )


class LearnedErrors(Answer):
    """Root mean square errors, K; None where nothing was read to compare with."""

    readings: int
    air_k: float | None
    dew_point_k: float | None
    surface_k: float | None


class LearnedSuspect(Answer):
    """One value that was left out of the fit."""

    at: datetime
    what: Literal["air", "humidity", "surface"]
    read: float
    unit: str
    expected: float | None = Field(description="what the fitted cabin has there")
    why: Literal["out of range", "stuck", "sun", "°F as °C", "°C as °F", "odd"]


class LearnedNext(Answer):
    """A reading worth taking."""

    at: datetime
    panel: str = Field(description="whose surface to read as well; '' for air and humidity alone")
    moment: str = Field(
        description="'before heat', 'cooling', 'long without heat', 'warming' or 'heated'"
    )
    tells: str
    narrows: float = Field(ge=0, le=1, description="share it takes off that value's uncertainty")


class LearnAnswer(Answer):
    """What the readings of a space tell."""

    boat: str
    space: str
    time_zone: str
    as_of: datetime
    first: datetime
    last: datetime
    readings: int = Field(description="used, in part at least")
    left_out: int = Field(description="at times of which the weather is not known")
    values: list[LearnedValue]
    fitted: LearnedErrors
    as_described: LearnedErrors = Field(description="the same readings, nothing fitted")
    held_out: LearnedErrors | None = Field(description="the last quarter, fitted without it")
    held_out_as_described: LearnedErrors | None
    suspects: list[LearnedSuspect]
    clock_off_h: float = Field(description="the readings seem so much later than they say; 0: no")
    next_readings: list[LearnedNext]
    kept: bool = Field(description="written to learned.toml?")
    notes: list[Finding] = Field(default_factory=list)


def answer_of(lesson: Lesson, boat: str, time_zone: str, *, kept: bool) -> LearnAnswer:
    """Write a lesson as its answer."""
    learned = lesson.learned
    return LearnAnswer(
        boat=boat,
        space=learned.space,
        time_zone=time_zone,
        as_of=learned.fitted_at,
        first=lesson.first,
        last=lesson.last,
        readings=lesson.used,
        left_out=lesson.left_out,
        values=[
            LearnedValue(
                key=found.key,
                name=NAMES[found.key],
                unit=SHOWN[found.key].unit,
                value=found.value,
                factor=found.factor,
                before=found.before,
                before_factor=found.factor_before,
                told="told"
                if found.told >= TOLD
                else "in part"
                if found.told >= PARTLY
                else "not told",
            )
            for found in lesson.found
        ],
        fitted=_errors(lesson.fitted),
        as_described=_errors(lesson.described),
        held_out=None if lesson.held_out is None else _errors(lesson.held_out),
        held_out_as_described=None
        if lesson.held_out_described is None
        else _errors(lesson.held_out_described),
        suspects=[_suspect(suspect) for suspect in lesson.suspects],
        clock_off_h=lesson.clock_off_h,
        next_readings=[
            LearnedNext(
                at=item.at,
                panel=item.panel,
                moment=item.moment,
                tells=NAMES[item.tells],
                narrows=item.narrows,
            )
            for item in lesson.next_readings
        ],
        kept=kept,
        notes=_notes(lesson),
    )


def _errors(misses: Misses) -> LearnedErrors:
    return LearnedErrors(
        readings=misses.count,
        air_k=misses.air_k,
        dew_point_k=misses.dew_point_k,
        surface_k=misses.surface_k,
    )


def _suspect(suspect: Suspect) -> LearnedSuspect:
    reading = suspect.reading
    read = {"air": reading.air_c, "humidity": reading.rh_pct, "surface": reading.surface_c}
    return LearnedSuspect(
        at=reading.at,
        what=suspect.value,
        read=read[suspect.value] or 0.0,
        unit="%" if suspect.value == "humidity" else "°C",
        expected=None if suspect.why == "out of range" else suspect.expected,
        why=suspect.why,
    )


def _notes(lesson: Lesson) -> list[Finding]:
    notes = [finding("fit by description")]
    if lesson.cabin.space.heating is not None:
        notes.append(finding("fit by routine"))
    if lesson.left_out:
        notes.append(finding("readings without weather", count=lesson.left_out))
    if lesson.clock_off_h:
        notes.append(finding("readings off in time", hours=lesson.clock_off_h))
    held, before = lesson.held_out, lesson.held_out_described
    if (
        held
        and before
        and (_worse(held.air_k, before.air_k) or _worse(held.dew_point_k, before.dew_point_k))
    ):
        notes.append(finding("fit does worse"))
    if held is None:
        notes.append(finding("fit not tested"))
    return notes


def _worse(fitted_k: float | None, described_k: float | None) -> bool:
    return fitted_k is not None and described_k is not None and fitted_k > described_k + 0.2
