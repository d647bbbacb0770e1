"""What other than a sheet's limits decides at a start: hours, daylight, recoat, what is first."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from curewindow.answers import Clock
from curewindow.boat.schema import Job
from curewindow.explain.models import STATES, Rule
from curewindow.findings import finding
from curewindow.judgement.jobday import Found
from curewindow.judgement.judging import bounds_of
from curewindow.rules.chance import enough, share_needed
from curewindow.rules.work import WITH_PRODUCT, dry_overhead
from curewindow.series import BoolArray, SurfaceSeries
from curewindow.situation import Situation
from curewindow.windows.grid import at_index, next_bad
from curewindow.windows.reasons import given_off


def rules_at(
    facts: Situation, job: Job, found: Found, clock: Clock | None, start: int, steps: int
) -> list[Rule]:
    """Hold every rule against one start.

    Parameters
    ----------
    facts : Situation
    job : Job
    found : Found
        Its next step.
    clock : Clock or None
        Of its last coat.
    start : int
        Grid point of the job's series.
    steps : int
        Grid steps the work takes.

    Returns
    -------
    list of Rule
        Broken ones first.
    """
    series = facts.series(job)
    at = at_index(series, start)
    with_product = found.progress.step.do in WITH_PRODUCT
    # work without a product may be left and gone on with
    takes = steps if with_product else 0
    masks = [("aboard", facts.hours_ok(series))]
    if series.outdoors:
        masks.append(("daylight", facts.daylight_ok(series)))
    rules = [_masked(rule, series, good, start, takes) for rule, good in masks]
    if series.rain_mm_h is not None and not with_product:
        rules.append(_masked("rain", series, dry_overhead(series), start, 0))
    if with_product and clock is not None:
        rules.append(_recoat(facts, job, found, clock, at))
    for wait in found.waits:
        if wait.kind == "recoat":
            continue
        holds = wait.until is None or wait.until > at
        rules.append(
            Rule(
                rule="first",
                state="broken" if holds else "kept",
                why=wait.why if holds else finding("over by then", because=[wait.why]),
                ends=wait.until if holds else None,
            )
        )
    rules += _given_off(found, start)
    rules += [
        Rule(rule="caution", state="broken", why=caution)
        for caution in found.cautions
        if caution.flag("refuses")
    ]
    return in_order(rules)


def in_order(rules: list[Rule]) -> list[Rule]:
    """Broken ones first."""
    return sorted(rules, key=lambda rule: STATES.index(rule.state))


_KEPT = {"aboard": "aboard until", "daylight": "daylight until", "rain": "dry"}
_BROKEN = {"aboard": "nobody aboard", "daylight": "dark", "rain": "rain"}
_SHORT = {"aboard": "hours too short", "daylight": "daylight too short"}


def _masked(rule: str, series: SurfaceSeries, good: BoolArray, start: int, takes: int) -> Rule:
    """A rule that holds where a mask does, for as long as the work takes."""
    points = good.size
    first_bad = next_bad(~good)
    fits = first_bad > np.arange(points) + takes
    fits[points - takes :] = False
    end = int(first_bad[start])
    until = at_index(series, end - 1) if good[start] and end < points else None
    if fits[start]:
        kept = finding(_KEPT[rule], until=None if rule == "rain" else until)
        return Rule.model_validate({"rule": rule, "state": "kept", "why": kept})
    later = np.flatnonzero(fits[start:])
    if not good[start]:
        why = finding(_BROKEN[rule])
    elif until is None:
        why = finding("forecast ends")
    else:
        why = finding(_SHORT[rule], until=until)
    return Rule.model_validate(
        {
            "rule": rule,
            "state": "broken",
            "why": why,
            "ends": at_index(series, start + int(later[0])) if later.size else None,
        }
    )


def _given_off(found: Found, start: int) -> list[Rule]:
    """The start with the air its vapour asks for and the water it gives off, if it was tried."""
    verdict = found.judged.verdict
    given = None if verdict is None else verdict.given_off
    column = None if given is None else given.column(start)
    if verdict is None or given is None or column is None:
        return []
    holds = enough(given.ok.mean(axis=0), share_needed(verdict.series.lead_h[given.starts]))
    if holds[column]:
        why = finding("limits hold aired" if given.aired else "own water counted")
        return [Rule(rule="air", state="kept", why=why)]
    later = given.starts[(given.starts > start) & holds]
    ends = at_index(verdict.series, int(later[0])) if later.size else None
    why = given_off(verdict, start) or finding("drying unknown")
    return [Rule(rule="air", state="broken", why=why, ends=ends)]


def _recoat(facts: Situation, job: Job, found: Found, clock: Clock, at: datetime) -> Rule:
    bounds = bounds_of(facts, job, found.progress, clock)
    if not bounds.allowed:
        never = clock.state == "never again"
        return Rule(rule="recoat", state="broken" if never else "unknown", why=bounds.notes[0])
    if bounds.earliest is not None and at < bounds.earliest:
        why = finding("recoat not yet", until=bounds.earliest)
        return Rule(rule="recoat", state="broken", why=why, ends=bounds.earliest)
    if bounds.latest is not None and at > bounds.latest:
        why = finding("recoat interval", until=bounds.latest, state="over")
        return Rule(rule="recoat", state="broken", why=why)
    until = bounds.sand_after or bounds.latest
    state = "over" if until is not None and at > until else "open"
    after = None if bounds.sand_after is None else "sand"
    why = finding("recoat interval", until=until, state=state, after=after)
    return Rule(rule="recoat", state="kept", why=why)
