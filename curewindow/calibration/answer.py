"""How far to trust forecasts and windows, as an answer: `curewindow trust --json` prints this."""

from __future__ import annotations

from datetime import datetime
from typing import Literal

import numpy as np
from pydantic import Field

from curewindow.answers import Answer
from curewindow.boat.schema import Boat
from curewindow.calibration.errors_seen import LeadError
from curewindow.calibration.fit import LEAST_DAYS
from curewindow.calibration.look_back import FeedLook, LookedBack
from curewindow.calibration.place import PlaceLesson
from curewindow.calibration.scores import Score, brier, reliability_groups
from curewindow.calibration.stated import Cases
from curewindow.findings import Finding, finding
from curewindow.weather.local import TIMES, as_finding

ENOUGH_DAYS = 10
"""Different days in a group of the diagram before it says much (estimate)."""


class ScoreOf(Answer):
    """A Brier score and its parts; less is better, but of resolution more is."""

    cases: int
    days: int = Field(description="different days on which these windows began")
    told: float = Field(description="mean confidence told, 0 to 1")
    held: float = Field(description="share that held")
    score: float = Field(description="Brier score: 0 is perfect, 0.25 is a coin's")
    reliability: float
    resolution: float
    uncertainty: float
    within: float = Field(description="what grouping leaves over")
    skill: float | None = Field(
        description="1 less the score over that of always saying the usual share; null where "
        "all windows ended alike"
    )


class DayScore(Answer):
    """The score of windows told so many days ahead."""

    days_ahead: int
    score: ScoreOf


class DiagramPoint(Answer):
    """A point of the reliability diagram."""

    low: float
    high: float
    cases: int
    days: int
    told: float
    held: float
    least: float = Field(description="share that could still have held by chance, from")
    most: float = Field(description="... to")
    enough: bool = Field(description="are there days enough for it to say much?")


class Correction(Answer):
    """What is done to a confidence before it is shown, as a line between log odds."""

    base: float
    slope: float = Field(description="up to 80 %")
    steep: float = Field(description="slope above 80 %")
    per_day: float
    cases: int
    days: int
    may_raise: bool
    ninety_a_day_ahead: float = Field(description="what 90 % a day ahead becomes")


class ForecastError(Answer):
    """How far forecasts were off so many days ahead: forecast less what was seen."""

    against: Literal["analysis", "readings"]
    days_ahead: int
    hours: int
    temp_bias_k: float | None
    temp_spread_k: float | None
    dew_point_bias_k: float | None
    dew_point_spread_k: float | None
    members_spread_k: float | None


class PlaceDifferenceOf(Answer):
    """What the place is off by at some times: the place less the grid."""

    times: Literal["by day", "on clear nights", "on dull nights"]
    readings: int
    temp_k: float
    temp_doubt_k: float = Field(description="standard error")
    temp_used_k: float = Field(description="what is added to the forecast; 0: not proven")
    dew_point_k: float
    dew_point_doubt_k: float
    dew_point_used_k: float


class FeedTrust(Answer):
    """One feed."""

    source: str
    forecasts: int = Field(description="forecasts looked at, some hours apart")
    windows_told: int
    windows_judged: int
    windows_waiting: int = Field(description="past, and not seen whole yet")
    by_readings: int = Field(description="of those judged, by readings taken there")
    score: ScoreOf | None
    by_lead_day: list[DayScore]
    diagram: list[DiagramPoint]
    correction: Correction | None
    forecast_errors: list[ForecastError]
    place: list[PlaceDifferenceOf]
    place_readings: int
    place_left_out: dict[str, int]
    said: list[Finding] = Field(description="what it means")


class TrustAnswer(Answer):
    """What came of forecasts and windows."""

    boat: str
    time_zone: str
    temperature_unit: Literal["°C", "°F"]
    as_of: datetime
    feeds: list[FeedTrust]
    kept_forecasts: int
    kept_since: datetime | None
    kept_megabytes: float
    written_down: bool = Field(description="is what was learned used from now on?")
    notes: list[Finding] = Field(default_factory=list)


def answer_of(found: LookedBack, boat: Boat) -> TrustAnswer:
    """What was found, as an answer."""
    notes = list(found.notes)
    if not boat.weather.keep_forecasts:
        notes.append(finding("forecasts not kept"))
    return TrustAnswer(
        boat=boat.name,
        time_zone=boat.place.time_zone,
        temperature_unit="°F" if boat.units.fahrenheit else "°C",
        as_of=found.now,
        feeds=[_feed(feed, found.now, boat) for feed in found.feeds],
        kept_forecasts=found.kept_forecasts,
        kept_since=found.kept_since,
        kept_megabytes=round(found.kept_bytes / 1e6, 2),
        written_down=found.written_down,
        notes=notes,
    )


def _feed(feed: FeedLook, now: datetime, boat: Boat) -> FeedTrust:
    cases = feed.cases
    lead_day = np.floor(cases.lead_h / 24.0)
    diagram = [
        DiagramPoint(
            low=round(g.low, 2),
            high=round(g.high, 2),
            cases=g.cases,
            days=g.days,
            told=round(g.stated, 3),
            held=round(g.held, 3),
            least=round(g.least, 3),
            most=round(g.most, 3),
            enough=g.days >= ENOUGH_DAYS,
        )
        for g in (reliability_groups(cases.stated, cases.held, cases.day) if _any(cases) else [])
    ]
    score = _score(cases) if _any(cases) else None
    trust = feed.trust
    correction = None
    if trust is not None:
        correction = Correction(
            base=trust.base,
            slope=trust.slope,
            steep=trust.steep,
            per_day=trust.per_day,
            cases=trust.cases,
            days=trust.days,
            may_raise=trust.may_raise,
            ninety_a_day_ahead=round(trust.corrected(0.9, 24.0), 3),
        )
    past = [told for told in feed.told if told.start <= now]
    return FeedTrust(
        source=feed.source,
        forecasts=feed.forecasts,
        windows_told=len(feed.told),
        windows_judged=int(cases.stated.size),
        windows_waiting=sum(told.held is None for told in past),
        by_readings=sum(told.basis == "readings" for told in past),
        score=score,
        by_lead_day=[
            DayScore(days_ahead=int(day), score=_score(cases.where(lead_day == day)))
            for day in np.unique(lead_day)
        ],
        diagram=diagram,
        correction=correction,
        forecast_errors=[_error(error) for error in feed.errors],
        place=_place(feed.place),
        place_readings=0 if feed.place is None else feed.place.readings,
        place_left_out={} if feed.place is None else feed.place.left_out,
        said=[
            *_said_of_windows(score, diagram, correction),
            *_said_of_place(feed.place, boat),
        ],
    )


def _any(cases: Cases) -> bool:
    return bool(cases.stated.size)


def _score(cases: Cases) -> ScoreOf:
    found: Score = brier(cases.stated, cases.held)
    return ScoreOf(
        cases=found.cases,
        days=int(np.unique(cases.day).size),
        told=round(float(cases.stated.mean()), 3),
        held=round(float(cases.held.mean()), 3),
        score=round(found.score, 4),
        reliability=round(found.reliability, 4),
        resolution=round(found.resolution, 4),
        uncertainty=round(found.uncertainty, 4),
        within=round(found.within, 4),
        skill=None if found.uncertainty == 0.0 else round(found.skill, 3),
    )


def _error(error: LeadError) -> ForecastError:
    def rounded(value: float) -> float | None:
        return round(value, 2) if np.isfinite(value) else None

    return ForecastError(
        against=error.against,
        days_ahead=error.day,
        hours=error.hours,
        temp_bias_k=rounded(error.temp_bias_k),
        temp_spread_k=rounded(error.temp_spread_k),
        dew_point_bias_k=rounded(error.dew_bias_k),
        dew_point_spread_k=rounded(error.dew_spread_k),
        members_spread_k=rounded(error.members_spread_k),
    )


def _place(lesson: PlaceLesson | None) -> list[PlaceDifferenceOf]:
    if lesson is None:
        return []
    return [
        PlaceDifferenceOf(
            times=times,
            readings=part.readings,
            temp_k=part.temp_k,
            temp_doubt_k=part.temp_doubt_k,
            temp_used_k=part.used_temp_k,
            dew_point_k=part.dew_k,
            dew_point_doubt_k=part.dew_doubt_k,
            dew_point_used_k=part.used_dew_k,
        )
        for times in TIMES
        if (part := lesson.found.parts.get(times)) is not None
    ]


def _said_of_windows(
    score: ScoreOf | None, diagram: list[DiagramPoint], correction: Correction | None
) -> list[Finding]:
    if score is None:
        return [finding("no window judged")]
    said = [
        finding(
            "windows held",
            count=score.cases,
            days=score.days,
            chance=score.told,
            other_chance=score.held,
        )
    ]
    if score.days < LEAST_DAYS:
        said.append(finding("too few days", days=score.days, count=LEAST_DAYS))
    else:
        said += _said_of_groups(diagram)
    if correction is not None:
        ninety = correction.ninety_a_day_ahead
        known = correction.may_raise
        said.append(finding("correction used", chance=0.9, other_chance=ninety, known=known))
    elif score.days >= LEAST_DAYS:
        said.append(finding("no correction needed"))
    if score.skill is not None and score.days >= LEAST_DAYS:
        said.append(finding("skill", state="some" if score.skill > 0.0 else "none"))
    return said


def _said_of_groups(diagram: list[DiagramPoint]) -> list[Finding]:
    said = [
        finding("held otherwise", chance=point.told, other_chance=point.held)
        for point in diagram
        if point.enough and not point.least <= point.held <= point.most
    ]
    return said or [finding("held as stated")]


def _said_of_place(lesson: PlaceLesson | None, boat: Boat) -> list[Finding]:
    if lesson is None:
        return [finding("place never read")]
    if lesson.remark is not None:
        return [lesson.remark]
    if not lesson.found.is_used:
        return [finding("place unproven", count=lesson.readings)]
    if not boat.weather.local_correction:
        return [finding("place correction off")]
    return [as_finding(lesson.found)]
