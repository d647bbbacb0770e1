"""What would save days: the whole work run again with one thing otherwise, each with its price.

Where the end lies beyond the forecast, the seasons that the plan's date is of are run again with
the one thing otherwise (:mod:`curewindow.season.paired`): what the plan has within the forecast
stays, and no order is searched for. Where all ends within it, the order is searched anew.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from functools import partial
from pathlib import Path
from typing import Final
from zoneinfo import ZoneInfo

import numpy as np

from curewindow.boat.hours import hours_mask
from curewindow.conditions import boat_conditions, learned_in
from curewindow.daysheet.ordering import facts_and_given, given_of
from curewindow.daysheet.planning import Made, pins_of, problem_as_stated
from curewindow.daysheet.seasonfacts import SeasonFacts, date_of, season_facts
from curewindow.daysheet.variations import Variation, accepted, at_home, variations
from curewindow.errors import CurewindowError
from curewindow.findings import Finding
from curewindow.heating.fuel import kwh_per_unit
from curewindow.judgement.keptwarm import warm_for_long
from curewindow.order.aims import Solved
from curewindow.order.given import Given, WhenAsked
from curewindow.order.plan import Plan, Suggestion
from curewindow.order.problem import Problem
from curewindow.order.solve import solve
from curewindow.season.figures import chance_by, day_for
from curewindow.season.paired import Paired, PairedRun
from curewindow.season.planned import not_before
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.voice.variations import variation_text
from curewindow.weather.forecast import Forecast
from curewindow.wording import Wording

EACH_S: Final = 5.0
MOST_TOLD: Final = 3
HOUR_WORTH: Final = 20.0
"""Money an hour of the owner's trouble is worth against that for fuel (an estimate)."""
OFTEN_PCT: Final = 10.0
LIKELIER: Final = 0.05
"""A chance that grows by less is not worth any trouble."""

OnVariation = Callable[[Finding, int], None]
"""Told before each way is tried: which one, and how many are left after it."""


@dataclass(frozen=True, slots=True)
class Helping:
    """What helps.

    Attributes
    ----------
    best : list of Suggestion
        At most :data:`MOST_TOLD`, the most gained for its price first.
    more : int
        How many others help too.
    stopped : bool
        Enough, somebody said, before all was tried.
    """

    best: list[Suggestion]
    more: int = 0
    stopped: bool = False

    def added_to(self, plan: Plan) -> Plan:
        """A plan with it."""
        return plan.model_copy(
            update={"suggestions": self.best, "more_suggestions": self.more},
        )


@dataclass(frozen=True, slots=True)
class _Helps:
    """A way that helps, and what it takes of money and trouble, in hours."""

    told: Suggestion
    price_h: float


def what_helps(
    folder: Path,
    made: Made,
    *,
    forecast: Forecast | None = None,
    on_variation: OnVariation | None = None,
) -> Helping:
    """Try what would save days.

    Parameters
    ----------
    folder : Path
        The boat folder.
    made : Made
        The plan as things are.
    forecast : Forecast, optional
        Weather at hand; else it is got as boat.toml says.
    on_variation : callable, optional
        Told of each way before it is tried.

    Returns
    -------
    Helping
        Only what saves a day, makes the date likelier or lets a job be done that could not be;
        what was found so far, where it is interrupted.
    """
    found: list[_Helps] = []
    tried = (
        _by_seasons(folder, made, forecast, on_variation)
        if made.plan.all_done is not None and made.plan.finish is None
        else _by_search(folder, made, forecast, on_variation)
    )
    stopped = False
    try:
        for each in tried:
            found.append(each)
    except KeyboardInterrupt:  # enough: what was found is not to be lost with it
        stopped = True
    ranked = [each.told for each in ranking(found)]
    return Helping(ranked[:MOST_TOLD], max(0, len(ranked) - MOST_TOLD), stopped)


def ranking(found: Sequence[_Helps]) -> list[_Helps]:
    """What makes jobs possible, then the most days for its price, then the most of a chance."""

    def gain(each: _Helps) -> tuple[int, float, float]:
        told = each.told
        chance = 0.0
        if told.chance_pct is not None and told.chance_before_pct is not None:
            chance = told.chance_pct - told.chance_before_pct
        price = max(each.price_h, 0.5)
        return len(told.makes_possible), told.saves_days / price, chance / price

    return sorted(found, key=gain, reverse=True)


def _price_h(way: Variation, weeks: float, cost: float | None) -> float:
    return way.trouble_h(weeks) + max(0.0, cost or 0.0) / HOUR_WORTH


def _urgent(plan: Plan, left_out: Collection[str]) -> set[str]:
    """Jobs that hold the rest up, or cannot be done at all as things are."""
    found = {step.job for step in plan.steps if step.critical}
    found |= {each.job for each in plan.sets_end if each.share_pct >= OFTEN_PCT}
    return found | set(left_out)


def _each(on_variation: OnVariation | None, all_ways: Sequence[Variation]) -> Iterator[Variation]:
    for number, way in enumerate(all_ways, 1):
        if on_variation is not None:
            on_variation(way.what, len(all_ways) - number)
        yield way


# ------------------------------------------------------------------- beyond the forecast


def _by_seasons(
    folder: Path, made: Made, forecast: Forecast | None, on_variation: OnVariation | None
) -> Iterator[_Helps]:
    plan = made.plan
    known = season_facts(folder, plan.as_of, forecast=forecast)
    soonest = not_before(plan)
    paired = Paired(known.given, len(known.years), known.pace, soonest)
    base = paired.base()
    if not base.jobs:
        return
    told = _Against(known, base, _heat(made), _prices(made.given))
    urgent = _urgent(plan, base.never)
    for way in _each(on_variation, list(variations(folder, known.given, urgent))):
        try:
            then = season_given(folder, known, way)
        except CurewindowError:
            continue
        if not accepted(way, known.given, then):
            continue
        alone = way.boat is None or way.kind == "home"
        tried = paired.changed(then, way.job if alone else None)
        helps = told.of(way, tried)
        if helps is not None:
            yield helps


def season_given(folder: Path, known: SeasonFacts, way: Variation) -> Given:
    """What the season is run on, one thing otherwise.

    Parameters
    ----------
    folder : Path
        The boat folder.
    known : SeasonFacts
        As things are.
    way : Variation

    Raises
    ------
    CurewindowError
        The way cannot be gone.
    """
    facts, given = known.facts, known.given
    if way.kind == "home":
        kept = {key: given.steady for key in given.steady if key[0] != way.job}
        return replace(at_home(given, way), steady=_as_was(kept))
    if way.kind in ("day", "evening"):
        assert way.boat is not None
        mask = hours_mask(way.boat, next(iter(given.series.values())).times)
        return replace(given, boat=way.boat, hours_ok=mask)
    if way.boat is None:
        assert way.work is not None
        facts = replace(facts, work=way.work, _films={}, _plan=[], _rooms={})
        then = given_of(facts, given.until, given.known_until, warm_for_long)
        # A space is as warm whatever is put on in it.
        kept = {key: given.steady for key in then.steady if key in given.steady}
        fresh = {key: then.steady for key in then.steady if key not in given.steady}
        return replace(then, notes=(), steady=_as_was({**kept, **fresh}))
    conditions = boat_conditions(
        way.boat,
        facts.forecast,
        facts.readings,
        facts.now,
        learned=learned_in(folder),
        drying=facts.drying,
    )
    facts = replace(
        facts,
        boat=way.boat,
        conditions=conditions,
        _series={},
        _masks={},
        _films={},
        _plan=[],
        _rooms={},
    )
    return replace(given_of(facts, given.until, given.known_until, warm_for_long), notes=())


def _as_was(of: Mapping[tuple[str, float], Mapping[tuple[str, float], SurfaceSeries]]) -> WhenAsked:
    """Conditions of kept-warm spaces, each from where it is known, when asked for."""
    return WhenAsked({key: partial(known.__getitem__, key) for key, known in of.items()})


def _heat(made: Made) -> dict[tuple[str, float], FloatArray]:
    """Heat beyond the routine's by space and setpoint, of a typical winter [kWh a slot]."""
    found: dict[tuple[str, float], FloatArray] = {}
    for heater in made.problem.heaters:
        found |= {key: np.asarray(kwh) for key, kwh in heater.kwh.items()}
    return found


def _prices(given: Given) -> dict[str, float]:
    """Of a kWh of heat, by space: where the owner has said what fuel costs."""
    return {
        space.name: space.heating.fuel_price / kwh_per_unit(space.heating)
        for space in given.boat.space
        if space.heating is not None and space.heating.fuel_price is not None
    }


@dataclass(slots=True, eq=False)
class _Against:
    """What a way brings against the work as it is, by the same seasons."""

    known: SeasonFacts
    base: PairedRun
    kwh: dict[tuple[str, float], FloatArray]
    prices: dict[str, float]
    _cost: float | None = None

    def of(self, way: Variation, then: PairedRun) -> _Helps | None:
        """None: it is no help."""
        base = self.base
        if any(job not in base.never for job in then.never):
            return None  # done sooner with less done is no help
        # Of the very same jobs: one more that becomes possible makes the rest no later.
        before_d, then_d = base.done_d(base.jobs), then.done_d(base.jobs)
        slots = base.slots
        horizon_d = slots.count * slots.hours / 24.0
        was, now = day_for(before_d, 0.5), day_for(then_d, 0.5)
        days = (self._on(min(was, horizon_d)) - self._on(min(now, horizon_d))).days
        before, after = self._chance(before_d, horizon_d), self._chance(then_d, horizon_d)
        freed = [job for job in base.never if job not in then.never]
        likelier = before is not None and after is not None and after - before >= LIKELIER
        if not freed and (days < 0 or (days == 0 and not likelier)):
            return None
        # What is brought takes power nobody has priced: of such heat no cost is told.
        cost = None if way.kind == "heater" else self._more_cost(then)
        at_least = days > 0 and not np.isfinite(was)
        text = variation_text(
            way.what,
            self.known.facts.words,
            days=days,
            at_least=at_least,
            possible=freed,
            before=before,
            after=after,
            cost=cost,
        )
        told = Suggestion(
            text=text,
            variation=way.what,
            saves_days=days,
            at_least=at_least,
            chance_before_pct=_pct(before),
            chance_pct=_pct(after),
            fuel_cost=None if cost is None else round(cost, 2),
            makes_possible=freed,
            cautions=list(way.cautions),
        )
        return _Helps(told, _price_h(way, min(was, horizon_d) / 7.0, cost))

    def _on(self, days: float) -> date:
        zone = self.known.facts.words.zone
        first: datetime = self.base.slots.first
        # What ends at midnight is done on the day before.
        return (first + timedelta(days=days, seconds=-1)).astimezone(zone).date()

    def _chance(self, done_d: FloatArray, horizon_d: float) -> float | None:
        facts = self.known.facts
        end = date_of(facts.work, facts.boat, facts.now)
        if end is None:
            return None
        by_d = (end - self.base.slots.first) / timedelta(days=1)
        return None if by_d > horizon_d else chance_by(done_d, by_d)

    def _more_cost(self, then: PairedRun) -> float | None:
        if not self.prices:
            return None
        if self._cost is None:
            self._cost = self.base.heat_cost(self.kwh, self.prices)
        return then.heat_cost(self.kwh, self.prices) - self._cost


def _pct(share: float | None) -> float | None:
    return None if share is None else round(100.0 * share, 1)


# -------------------------------------------------------------------- within the forecast


def _by_search(
    folder: Path, made: Made, forecast: Forecast | None, on_variation: OnVariation | None
) -> Iterator[_Helps]:
    assert made.told is not None
    as_it_is: dict[str, tuple[int, set[str]]] = {}
    left_out = {job for job, _ in made.problem.left_out}
    weeks = made.problem.slots.count * made.problem.slots.hours / 24.0 / 7.0
    zone = ZoneInfo(made.plan.time_zone)
    words = Wording(zone, made.plan.as_of, made.plan.temperature_unit == "°F")
    all_ways = list(variations(folder, made.given, _urgent(made.plan, left_out)))
    for way in _each(on_variation, all_ways):
        # Compared with the very same problem but for the one thing: what the day sheet tells
        # of a job goes for neither where that job is otherwise.
        if way.job not in as_it_is:
            problem, solved = _planned(made, made.given, way.job)
            if solved.stopped:
                raise KeyboardInterrupt
            bound = solved.steps[0].bound if solved.steps else 0
            as_it_is[way.job] = bound, {job for job, _ in problem.left_out}
        base, out = as_it_is[way.job]
        try:
            given = _near_given(folder, made, way, forecast)
        except CurewindowError:
            continue
        if not accepted(way, made.given, given):
            continue
        problem, solved = _planned(made, given, way.job)
        if solved.stopped:
            raise KeyboardInterrupt
        then_out = {job for job, _ in problem.left_out}
        if solved.order is None or then_out - out:
            continue  # done sooner with less done is no help
        freed = sorted(out - then_out)
        saves = base - problem.slots.day_of(solved.order.finish)
        if saves <= 0 and not freed:
            continue
        told = Suggestion(
            text=variation_text(way.what, words, days=saves, possible=freed),
            variation=way.what,
            saves_days=saves,
            makes_possible=freed,
            finish=problem.slots.at(solved.order.finish)
            if solved.order.finish <= problem.known_until
            else None,
            cautions=list(way.cautions),
        )
        yield _Helps(told, _price_h(way, weeks, None))


def _planned(made: Made, given: Given, other: str) -> tuple[Problem, Solved]:
    """How soon all of it can be done, by the same rules for all that is compared.

    The last argument names the job of which what the day sheet tells is left out of account.
    """
    assert made.told is not None
    windows = {job: spans for job, spans in made.told.windows.items() if job != other}
    problem = problem_as_stated(given, replace(made.told, windows=windows))
    pins, _ = pins_of(problem, made.pins)
    return problem, solve(problem, seconds=EACH_S, pins=pins, aims=("date",))


def _near_given(folder: Path, made: Made, way: Variation, forecast: Forecast | None) -> Given:
    """What an order is searched from, one thing otherwise."""
    given = made.given
    if way.kind == "home":
        return at_home(given, way)
    if way.kind in ("day", "evening"):
        assert way.boat is not None
        mask = hours_mask(way.boat, next(iter(given.series.values())).times)
        return replace(given, boat=way.boat, hours_ok=mask)
    if way.kind == "delivery":
        assert way.work is not None
        return replace(given, work=way.work)
    if way.kind == "heater at once":
        assert way.boat is not None
        return replace(given, boat=way.boat)
    days = (given.until - given.now) / timedelta(days=1)
    _, again = facts_and_given(
        folder,
        given.now,
        days=days,
        forecast=forecast,
        work=way.work,
        boat=way.boat,
        lit=made.taken_as_lit,
    )
    return again
