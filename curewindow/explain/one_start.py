"""Why a job may, or may not, be started at one moment."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

from curewindow.answers import Clock, Window
from curewindow.boat.effort import hands_on_h
from curewindow.boat.folder import job_by_name
from curewindow.boat.schema import Job
from curewindow.conditions.wetness import dew_and_frost
from curewindow.errors import QuantityError, WeatherError
from curewindow.explain.limits_at import limits_at
from curewindow.explain.models import LimitAt, Rule, SurfaceThen, Why
from curewindow.explain.rules_at import in_order, rules_at
from curewindow.findings import Finding, finding
from curewindow.judgement.clocks import clocks_of
from curewindow.judgement.jobday import Found, ahead_of, find, job_day
from curewindow.rules.work import WITH_PRODUCT
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.situation import Situation, read_situation
from curewindow.weather.forecast import Forecast
from curewindow.windows import Verdict, judge
from curewindow.windows.grid import at_index, first_at_or_after


def why(
    folder: Path,
    now: datetime,
    job: str,
    *,
    at: datetime | None = None,
    forecast: Forecast | None = None,
) -> Why:
    """Explain one start of a job's next step.

    Parameters
    ----------
    folder : Path
        The boat folder.
    now : datetime
        Aware.
    job : str
        Its name.
    at : datetime, optional
        The start asked about, aware; else now.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.

    Raises
    ------
    NotFoundError
        No job of that name.
    QuantityError
        A start before now.
    WeatherError
        A start after the end of the weather known.
    CurewindowError
        A hand-written file, the weather or the record cannot be used.
    """
    facts = read_situation(folder, now, forecast)
    return explained(facts, job_by_name(facts.work, job), facts.now if at is None else at)


def explained(facts: Situation, job: Job, at: datetime) -> Why:
    """The same from what was read already."""
    series, words = facts.series(job), facts.words
    start = first_at_or_after(series, at)
    if at < facts.now:
        raise QuantityError(
            f"{words.when(at)} is over", by_command="--at asks as if it were still to come"
        )
    if start >= len(series.times):
        last = words.when(at_index(series, len(series.times) - 1))
        raise WeatherError(
            f"the weather is known until {last}: nobody can tell about {words.when(at)}"
        )
    clocks = {clock.job: clock for clock in clocks_of(facts)}
    found = find(facts, job, clocks, all_windows=True)
    common = {
        "boat": facts.boat.name,
        "time_zone": facts.boat.place.time_zone,
        "temperature_unit": "°F" if words.fahrenheit else "°C",
        "as_of": facts.now,
        "job": job.name,
        "where": series.where,
        "start": at_index(series, start),
        "attribution": facts.forecast.attribution,
    }
    if found is None:
        surface = _surface(series, start, start)
        return Why.model_validate(
            {
                **common,
                "next": None,
                "allowed": False,
                "verdict": finding("done"),
                "surface": surface,
            }
        )
    clock = clocks.get(job.name)
    verdict = _verdict(facts, job, found, clock)
    steps = int(np.ceil(found.ahead.hands_on_h / series.step_h - 1e-9))
    limits = [] if verdict is None else limits_at(verdict, start)
    rules = rules_at(facts, job, found, clock, start, steps)
    refused = job_day(facts, job, found).status == "refused"
    windows = [] if refused else found.judged.windows
    # Between two points of the grid a moment inside a window is as good as both.
    here = at if any(found.ahead.may_start(w, at) for w in windows) else at_index(series, start)
    window = next((w for w in windows if found.ahead.may_start(w, here)), None)
    rules = in_order([*rules, *_unsaid(found, limits, rules, window is not None)])
    following = window or next((w for w in windows if w.opens > here), None)
    sooner = [w for w in found.judged.wiped if w.closes >= here] if not (refused or window) else []
    wiped = next((w for w in sooner if following is None or w.opens < following.opens), None)
    ends = start + steps if verdict is None else int(np.median(verdict.setting_end[:, start]))
    end = min(ends, len(series.times) - 1)
    return Why.model_validate(
        {
            **common,
            "start": here,
            "next": found.ahead,
            "applied": at_index(series, min(start + steps, len(series.times) - 1)),
            "set_until": "" if verdict is None else verdict.sheet.setting.until,
            "set_by": None if verdict is None else _set_by(verdict, start),
            "allowed": window is not None,
            "verdict": _answer(here, window, following, wiped, limits, rules, found),
            "surface": _surface(series, start, end),
            "limits": limits,
            "rules": rules,
            "next_allowed": None if following is None else max(following.opens, here),
            "next_window": following,
            "if_wiped": wiped,
            "cautions": found.cautions,
            "notes": _notes(series, found),
        }
    )


def _verdict(facts: Situation, job: Job, found: Found, clock: Clock | None) -> Verdict | None:
    """Every limit at every start, whatever else is in the way; None where no product goes on."""
    step = found.progress.step
    if step.do not in WITH_PRODUCT or step.sheet is None:
        return None
    series = facts.series(job)
    verdict = judge(
        series,
        facts.sheet(step.sheet).sheet,
        hands_on_h(step, job),
        hours_ok=facts.hours_ok(series),
        daylight_ok=facts.daylight_ok(series),
        bare_wood=job.bare_wood and clock is None,
    )
    judged = found.judged.verdict
    return verdict if judged is None else replace(verdict, given_off=judged.given_off)


def _unsaid(found: Found, limits: list[LimitAt], rules: list[Rule], allowed: bool) -> list[Rule]:
    """What still stands in the way where no limit and no rule does."""
    states = [limit.state for limit in limits] + [rule.state for rule in rules]
    if allowed or "broken" in states or "unknown" in states:
        return []
    if any(limit.state == "doubtful" for limit in limits):
        return [Rule(rule="weather", state="broken", why=finding("doubts together"))]
    if found.refusal is not None:
        return [Rule(rule="night", state="broken", why=found.refusal)]
    if limits:
        return [Rule(rule="night", state="broken", why=finding("vapour at night"))]
    return [Rule(rule="aboard", state="broken", why=finding("time left too short"))]


def _set_by(verdict: Verdict, start: int) -> datetime | None:
    end = int(verdict.set_by(start).max())
    return None if end >= verdict.points else at_index(verdict.series, end)


def _surface(series: SurfaceSeries, start: int, last: int) -> SurfaceThen:
    """The surface at the start, and the first dew or frost on it up to ``last``."""
    dew, frost = dew_and_frost(
        _middle(series.surface_c[:, start : last + 1]),
        _middle(series.dew_point_c[:, start : last + 1]),
    )
    values = {
        name: _value(course, start)
        for name, course in (
            ("air_c", series.air_c),
            ("rh_pct", series.rh_pct),
            ("dew_point_c", series.dew_point_c),
            ("surface_c", series.surface_c),
        )
    }
    unknown = values["surface_c"] is None or values["dew_point_c"] is None
    state = "unknown" if unknown else "frost" if frost[0] else "dew" if dew[0] else "dry"
    wet = np.flatnonzero(dew | frost)
    return SurfaceThen.model_validate(
        {
            **values,
            "state": state,
            "wet_at": at_index(series, start + int(wet[0])) if wet.size else None,
            "wet_as": None if not wet.size else "frost" if frost[wet[0]] else "dew",
        }
    )


def _middle(values: FloatArray) -> FloatArray:
    return np.asarray(np.median(values, axis=0), dtype=np.float64)


def _value(course: FloatArray, at: int) -> float | None:
    value = float(np.median(course[:, at]))
    return None if np.isnan(value) else round(value, 1)


def _answer(
    here: datetime,
    window: Window | None,
    following: Window | None,
    wiped: Window | None,
    limits: list[LimitAt],
    rules: list[Rule],
    found: Found,
) -> Finding:
    """The line to go by."""
    if window is not None and found.ahead.sheet is None:
        return finding("work then", at=here, until=window.closes)
    if window is not None:
        return finding("start then", at=here, last_start=window.closes, chance=window.confidence)
    reasons = [rule.why for rule in rules if rule.state in ("broken", "unknown")]
    reasons += [
        limit.why
        for limit in limits
        if limit.state in ("broken", "unknown") and limit.why is not None
    ]
    if wiped is not None:
        takes = timedelta(hours=found.ahead.tail_h)
        reasons.append(ahead_of("window once wiped", wiped, takes))
    return finding(
        "no start then",
        at=here,
        begins=None if following is None else following.opens,
        because=dict.fromkeys(reasons),
    )


def _notes(series: SurfaceSeries, found: Found) -> list[Finding]:
    return list(dict.fromkeys([*found.judged.notes, *found.progress.notes, *series.notes]))
