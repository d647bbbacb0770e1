"""What other than a sheet's limits decides at a start: hours, daylight, recoat, what is first."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from curewindow.answers import Clock
from curewindow.boat.schema import Job
from curewindow.daysheet.facts import Facts
from curewindow.daysheet.jobday import Found
from curewindow.daysheet.judging import bounds_of
from curewindow.daysheet.progress import WITH_PRODUCT
from curewindow.explain.models import STATES, Rule
from curewindow.series import BoolArray, SurfaceSeries
from curewindow.windows import SHARE_OF_MEMBERS, share_needed
from curewindow.windows.grid import at_index, next_bad
from curewindow.windows.words import given_off_text


def rules_at(
    facts: Facts, job: Job, found: Found, clock: Clock | None, start: int, steps: int
) -> list[Rule]:
    """Hold every rule against one start.

    Parameters
    ----------
    facts : Facts
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
    masks = [("aboard", facts.hours_ok(series), "someone is aboard", "nobody aboard")]
    if series.outdoors:
        masks.append(("daylight", facts.daylight_ok(series), "there is daylight", "dark"))
    rules = [
        _masked(rule, series, good, start, takes, kept, broken, facts=facts)
        for rule, good, kept, broken in masks
    ]
    if series.rain_mm_h is not None and not with_product:
        dry = (series.rain_mm_h <= 0.0).mean(axis=0) >= SHARE_OF_MEMBERS
        rules.append(_masked("rain", series, dry, start, 0, "dry", "rain"))
    if with_product and clock is not None:
        rules.append(_recoat(facts, job, found, clock, at))
    for wait in found.waits:
        if wait.kind == "recoat":
            continue
        until = "" if wait.until is None else f", {facts.words.when(wait.until)}"
        holds = wait.until is None or wait.until > at
        rules.append(
            Rule(
                rule="first",
                state="broken" if holds else "kept",
                text=f"waits for {wait.what}{until}" if holds else f"{wait.what}: by then",
                ends=wait.until if holds else None,
            )
        )
    rules += _given_off(found, start)
    rules += [
        Rule(rule="caution", state="broken", text=facts.words.sentence(caution.text))
        for caution in found.cautions
        if caution.urgency == "refused"
    ]
    return in_order(rules)


def in_order(rules: list[Rule]) -> list[Rule]:
    """Broken ones first."""
    return sorted(rules, key=lambda rule: STATES.index(rule.state))


def _masked(
    rule: str,
    series: SurfaceSeries,
    good: BoolArray,
    start: int,
    takes: int,
    kept: str,
    broken: str,
    *,
    facts: Facts | None = None,
) -> Rule:
    """A rule that holds where a mask does, for as long as the work takes."""
    points = good.size
    first_bad = next_bad(~good)
    fits = first_bad > np.arange(points) + takes
    fits[points - takes :] = False
    end = int(first_bad[start])
    until = ""
    if facts is not None and good[start] and end < points:
        until = f" until {facts.words.clock(at_index(series, end - 1))}"
    if fits[start]:
        return Rule.model_validate({"rule": rule, "state": "kept", "text": f"{kept}{until}"})
    later = np.flatnonzero(fits[start:])
    text = broken if not good[start] else f"the work takes longer than {kept}{until}"
    return Rule.model_validate(
        {
            "rule": rule,
            "state": "broken",
            "text": text,
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
    enough = given.ok.mean(axis=0) >= share_needed(verdict.series.lead_h[given.starts]) - 1e-9
    if enough[column]:
        text = "every limit, aired for its vapour" if given.aired else "its own water reckoned in"
        return [Rule(rule="air", state="kept", text=text)]
    later = given.starts[(given.starts > start) & enough]
    ends = at_index(verdict.series, int(later[0])) if later.size else None
    return [Rule(rule="air", state="broken", text=given_off_text(verdict, start), ends=ends)]


def _recoat(facts: Facts, job: Job, found: Found, clock: Clock, at: datetime) -> Rule:
    bounds = bounds_of(facts, job, found.progress, clock)
    words = facts.words
    if not bounds.allowed:
        never = clock.state == "never again"
        text = "; ".join(bounds.notes)
        return Rule(rule="recoat", state="broken" if never else "unknown", text=text)
    if bounds.earliest is not None and at < bounds.earliest:
        text = f"the coat below may be recoated from {words.when(bounds.earliest)}"
        return Rule(rule="recoat", state="broken", text=text, ends=bounds.earliest)
    if bounds.latest is not None and at > bounds.latest:
        text = f"the recoat interval of the coat below ended {words.when(bounds.latest)}"
        return Rule(rule="recoat", state="broken", text=text)
    if bounds.sand_after is not None:
        ends = words.when(bounds.sand_after)
        over = at > bounds.sand_after
        text = f"recoat open, sand first: the interval ended {ends}" if over else (
            f"recoat open until {ends}, then sand first"
        )  # fmt: skip
        return Rule(rule="recoat", state="kept", text=text)
    last = "" if bounds.latest is None else f" until {words.when(bounds.latest)}"
    return Rule(rule="recoat", state="kept", text=f"the coat below may be recoated{last}")
