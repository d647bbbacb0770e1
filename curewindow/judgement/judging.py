"""One job's windows and obstacles, from now to the end of the weather known."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, time, timedelta

import numpy as np

from curewindow.answers import After, Clock, Obstacle, Wait, Window
from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job
from curewindow.clocks import CoatBounds, next_coat_bounds
from curewindow.curing import RecoatRule, recoat_bounds
from curewindow.findings import Finding, finding
from curewindow.judgement.airing import with_given_off
from curewindow.judgement.below import refused_over
from curewindow.judgement.clocks import sanded_anyway, sands_in_any_case
from curewindow.judgement.progress import Progress
from curewindow.rules.limits import WET
from curewindow.rules.sleep import bedtime, bunks_near, not_to_sleep_over
from curewindow.rules.tins import with_tin
from curewindow.rules.work import WITH_PRODUCT, dry_overhead
from curewindow.series import SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.situation import Situation
from curewindow.windows import Verdict, find_obstacles, find_windows, judge
from curewindow.windows.find import enough_time
from curewindow.windows.grid import at_index, first_at_or_after, last_at_or_before
from curewindow.windows.working import waits_after_mixing


@dataclass(frozen=True, slots=True)
class Judged:
    """What was found for a job.

    Attributes
    ----------
    windows : list of Window
        In order of time, none before now.
    obstacles : list of Obstacle
        What stands in the way at the moment looked at, what ends last first.
    refusal : Finding or None
        Why the step may not be done at all as things are; None where it may.
    notes : tuple of Finding
    sand_after : datetime or None
        From here on the coat below has to be sanded first.
    verdict : Verdict or None
        Every start, before bedtime cuts any off; None where no product goes on or it may not.
    wiped : list of Window
        The windows there would be before all others if the surface is wiped dry.
    """

    windows: list[Window]
    obstacles: list[Obstacle]
    refusal: Finding | None = None
    notes: tuple[Finding, ...] = ()
    sand_after: datetime | None = None
    verdict: Verdict | None = None
    wiped: list[Window] = field(default_factory=list)

    @property
    def if_wiped(self) -> Window | None:
        """The first of them."""
        return self.wiped[0] if self.wiped else None


def judge_job(
    facts: Situation,
    job: Job,
    progress: Progress,
    waits: list[Wait],
    clock: Clock | None,
    *,
    all_windows: bool = False,
    through: datetime | None = None,
    wiped: bool = False,
) -> Judged:
    """Find a job's windows.

    Parameters
    ----------
    facts : Situation
    job : Job
    progress : Progress
        Its next step.
    waits : list of Wait
        What has to come first; a start before it has happened is none.
    clock : Clock or None
        Of the job's last coat.
    all_windows : bool
        Find all there are; else those of today and the next one after it.
    wiped : bool
        As if no water lay on the surface whenever someone begins.
    """
    ends = [wait.until for wait in waits]
    earliest = max([facts.now, *(end for end in ends if end is not None)])
    open_ended = any(end is None for end in ends)
    series = facts.series(job)
    if wiped:
        series = replace(series, lying_kg_m2=None)
    if progress.step.do not in WITH_PRODUCT:
        windows = [] if open_ended else _hands_windows(facts, job, progress, series, earliest)
        in_the_way = [] if windows or open_ended else _hands_obstacles(facts, series, earliest)
        return Judged(windows, in_the_way)
    assert progress.step.sheet is not None  # checked when the work list was read
    sheet = facts.sheet(progress.step.sheet).sheet
    if poisoned := over_sleepers(facts, job, sheet) or refused_over(facts, job, progress):
        return Judged([], [], refusal=poisoned)
    bounds = bounds_of(facts, job, progress, clock)
    if not bounds.allowed:
        why = bounds.notes[0]
        if clock is not None and clock.sheet in facts.lost:
            why = finding("sheet lost", sheet=clock.sheet)
        if clock is not None and clock.recoat_from is None and clock.state != "never again":
            return Judged([], [Obstacle(why=why)])  # not known is a wait, not a refusal
        return Judged([], [], refusal=why)
    because = finding("waits over" if earliest > facts.now else "open already")
    if bounds.earliest is not None and bounds.earliest > earliest:
        earliest, because = bounds.earliest, finding("recoat opens")
    rule = rule_for_next(facts, job, progress, sheet)
    since = _since(facts, series, earliest)
    series = with_tin(series, sheet, hands_on_h(progress.step, job))

    def judged(first: datetime, latest: datetime | None, latest_because: Finding) -> Verdict:
        return judge(
            series,
            sheet,
            hands_on_h(progress.step, job),
            hours_ok=facts.hours_ok(series),
            daylight_ok=facts.daylight_ok(series),
            bare_wood=job.bare_wood and (clock is None),
            earliest=first,
            latest=latest,
            earliest_because=because,
            latest_because=latest_because,
            mixing=waits_after_mixing(sheet, series),
            mixed_from=facts.now if sheet.working and sheet.working.induction else None,
        )

    verdict = judged(since, bounds.latest, finding("recoat ends"))
    if not open_ended:
        verdict = with_given_off(
            facts, job, progress, verdict, all_windows=all_windows, through=through
        )
    obstacles = _unread(facts, job) or _obstacles(facts, verdict, earliest)
    if open_ended:
        return Judged([], obstacles)
    verdicts = [verdict]
    if someone_sleeps_near(facts, job, sheet):
        limits = _bedtime_limits(facts, verdict)
        asleep = finding("vapour at night")
        verdicts = [_with(judged(max(day, since), last, asleep), verdict) for day, last in limits]
    windows = [
        window
        for each in verdicts
        for window in _from_then_on(
            facts,
            each if all_windows else _up_to_next(facts, each, through or facts.now),
            earliest,
            rule,
            bounds.sand_after,
        )
    ]
    refusal = None
    if not windows and verdicts != [verdict] and verdict.ok.any():
        refusal = finding("vapour at night")
    found = Judged(windows, obstacles, refusal, bounds.notes, bounds.sand_after, verdict)
    if wiped or not _wet_in_the_way(facts, verdict, windows):
        return found
    dry = judge_job(facts, job, progress, waits, clock, wiped=True)
    sooner = [w for w in dry.windows if not windows or w.opens < windows[0].opens]
    return replace(found, wiped=sooner)


def _wet_in_the_way(facts: Situation, verdict: Verdict, windows: list[Window]) -> bool:
    """Is there no start just now, and water on the surface within the weather known?"""
    now = first_at_or_after(verdict.series, facts.now)
    if windows and first_at_or_after(verdict.series, windows[0].opens) <= max(now, verdict.first):
        return False
    wet = next((track for track in verdict.tracks if track.kind is WET), None)
    return wet is not None and bool((wet.margin[:, now:] < 0.0).any())


def _since(facts: Situation, series: SurfaceSeries, earliest: datetime) -> datetime:
    """From where starts are judged: now, and the point of the grid that has just passed.

    What holds at that one and at the next holds now: a window is open between two points too.
    """
    if earliest > facts.now:
        return earliest
    return at_index(series, max(last_at_or_before(series, facts.now), 0))


def _from_then_on(
    facts: Situation,
    verdict: Verdict,
    earliest: datetime,
    rule: RecoatRule | None,
    sand_after: datetime | None,
) -> list[Window]:
    """Windows from a moment on, to the second where they are open then."""
    first = first_at_or_after(verdict.series, earliest)
    open_then = 0 < first < verdict.points and bool(verdict.good()[first - 1])
    ok = verdict.ok.copy()
    ok[:, :first] = False
    found = find_windows(
        replace(verdict, ok=ok, first=max(verdict.first, first)),
        recoat=rule,
        sand_after=sand_after,
    )
    return _open_then(found, verdict.series, first, earliest) if open_then else found


def _open_then(
    windows: list[Window], series: SurfaceSeries, first: int, then: datetime
) -> list[Window]:
    """The window from the grid's first point on is open from the moment before it on."""
    return [
        window.model_copy(update={"opens": then})
        if window.opens == at_index(series, first)
        else window
        for window in windows
    ]


def _with(part: Verdict, whole: Verdict) -> Verdict:
    """A part of the starts, with what was found for them in the whole."""
    return replace(part, ok=part.ok & whole.ok, given_off=whole.given_off)


def _up_to_next(facts: Situation, verdict: Verdict, through: datetime) -> Verdict:
    """Without the starts behind the first window after a day; windows stay whole."""
    first = first_at_or_after(verdict.series, facts.words.midnight_after(through))
    good = verdict.good()
    if first < good.size and first > 0 and good[first - 1]:
        # one that goes on from the day before is no next one
        ended = np.flatnonzero(~good[first:])
        first = first + int(ended[0]) if ended.size else good.size
    later = np.flatnonzero(good[first:])
    if later.size == 0:
        return verdict
    begin = first + int(later[0])
    bad = np.flatnonzero(~good[begin:])
    if bad.size == 0:
        return verdict
    ok = verdict.ok.copy()
    ok[:, begin + int(bad[0]) :] = False
    return replace(verdict, ok=ok)


def bounds_of(facts: Situation, job: Job, progress: Progress, clock: Clock | None) -> CoatBounds:
    if clock is None:
        return CoatBounds(True, None, None, None)
    hot = progress.coat is not None and progress.coat > 1 and progress.step.between == "hot coat"
    bounds = next_coat_bounds(clock, hot_coat=hot)
    if sands_in_any_case(facts, job, progress):
        return replace(bounds, sand_after=None)
    return bounds


def rule_for_next(
    facts: Situation, job: Job, progress: Progress, sheet: Sheet
) -> RecoatRule | None:
    """The recoat table for what comes after the coat at hand; None where nothing does.

    An end behind which the coat only has to be sanded is none for whoever sands it anyway.
    """
    step, coat = progress.step, progress.coat or 1
    if progress.coat is not None and coat < step.coats:
        rule = recoat_bounds(sheet, None, sheet.kind, step.sheet)
    else:
        after = next((s for s in job.step[progress.step_number :] if s.sheet is not None), None)
        if after is None or after.sheet is None:
            return None
        kind = facts.sheet(after.sheet).sheet.kind
        rule = recoat_bounds(sheet, after.sheet, kind, step.sheet)
    if (
        rule is None
        or rule.recoat.after != "sand"
        or not sanded_anyway(
            job, progress.step_number, coat, step.coats if progress.coat is not None else 1
        )
    ):
        return rule
    return replace(rule, recoat=rule.recoat.model_copy(update={"until": None}))


def _unread(facts: Situation, job: Job) -> list[Obstacle]:
    """A space that goes by its readings alone, and has none that still counts."""
    space = None if job.space is None else facts.boat.find_space(job.space)
    if space is None or not space.logged_only:
        return []
    ahead = facts.conditions[space.name].air_c[:, first_at_or_after(facts.series(job), facts.now) :]
    if np.isfinite(ahead).any():
        return []
    return [Obstacle(why=finding("space unread", space=space.name))]


def _obstacles(facts: Situation, verdict: Verdict, earliest: datetime) -> list[Obstacle]:
    """What stands in the way at the first moment at which someone could begin and end it.

    Where nothing does, what stands in the way of whoever comes aboard before.
    """
    first = first_at_or_after(verdict.series, earliest)
    if first >= verdict.points:
        return []  # what it waits for says so
    there = verdict.hours_ok & verdict.daylight_ok
    if not there[first:].any():
        aboard = bool(verdict.hours_ok[first:].any())
        return [Obstacle(why=finding("dark" if aboard else "nobody aboard at all"))]
    for fits in (enough_time(verdict), there):
        later = np.flatnonzero(fits[first:])
        if not later.size:
            continue
        at = at_index(verdict.series, first + int(later[0]))
        if found := find_obstacles(verdict, at):
            return found
    return []


def someone_sleeps_near(facts: Situation, job: Job, sheet: Sheet) -> bool:
    """Does it give off what nobody sleeps over, where someone sleeps?"""
    space = None if job.space is None else facts.boat.find_space(job.space)
    return not_to_sleep_over(sheet) and bool(bunks_near(facts.boat, space))


def over_sleepers(facts: Situation, job: Job, sheet: Sheet) -> Finding | None:
    """Why a two-part urethane is not put on where someone sleeps; None where it may be.

    Its isocyanate is given off for long after the film is tack free, a day and more in
    a winter cabin: no start of the same day is early enough (common practice, no source).
    """
    if sheet.chemistry != "two-part urethane" or not someone_sleeps_near(facts, job, sheet):
        return None
    bunks = bunks_near(facts.boat, facts.boat.find_space(job.space or ""))
    return finding("isocyanate where someone sleeps", spaces=tuple(bunks))


def _bedtime_limits(facts: Situation, verdict: Verdict) -> list[tuple[datetime, datetime]]:
    """For each day, its beginning and the last start whose film has set by bedtime."""
    series, words = verdict.series, facts.words
    limits: list[tuple[datetime, datetime]] = []
    good = np.flatnonzero(verdict.good())
    days = sorted({words.local(at_index(series, int(index))).date() for index in good})
    for day in days:
        midnight = datetime.combine(day, time(0), words.zone).astimezone(UTC)
        night = first_at_or_after(series, bedtime(day, words.zone))
        inside = [
            int(index)
            for index in good
            if words.local(at_index(series, int(index))).date() == day
            and int(verdict.set_by(int(index)).max()) <= night
        ]
        if inside:
            limits.append((midnight, at_index(series, max(inside))))
    return limits


def _hands_obstacles(facts: Situation, series: SurfaceSeries, earliest: datetime) -> list[Obstacle]:
    """Why a step that needs hands and no product is not to be begun within what is known."""
    first = first_at_or_after(series, earliest)
    if first >= len(series.times):
        return []  # what it waits for says so
    left = np.arange(len(series.times)) >= first
    for good, lacking in (
        (facts.hours_ok(series), "nobody aboard at all"),
        (facts.daylight_ok(series) | (not series.outdoors), "dark"),
        (dry_overhead(series) | (not series.outdoors), "rain"),
    ):
        left = left & good
        if not left.any():
            return [Obstacle(why=finding(lacking))]
    return [Obstacle(why=finding("time left too short"))]


def _hands_windows(
    facts: Situation, job: Job, progress: Progress, series: SurfaceSeries, earliest: datetime
) -> list[Window]:
    """Windows of a step that needs hands and no product: hours aboard, outdoors in the dry.

    It may be begun one day and finished another, so any time aboard is a start.
    """
    good = facts.hours_ok(series).copy()
    if series.outdoors:
        good &= facts.daylight_ok(series)
        good &= dry_overhead(series)
    first = first_at_or_after(series, earliest)
    open_then = earliest <= facts.now and 0 < first < good.size and bool(good[first - 1])
    good[:first] = False
    edges = np.flatnonzero(np.diff(np.concatenate(([False], good, [False])).astype(np.int8)))
    windows = []
    for begin, end in zip(edges[::2], edges[1::2], strict=True):
        opens, closes = at_index(series, int(begin)), at_index(series, int(end) - 1)
        if closes <= (earliest if open_then and begin == first else opens):
            continue
        takes = timedelta(hours=hands_on_h(progress.step, job))
        windows.append(
            Window(
                opens=opens,
                closes=closes,
                opens_because=finding("aboard", begins=opens)
                if opens > earliest
                else finding("open already"),
                closes_because=finding(
                    "dark, wet or nobody aboard" if series.outdoors else "nobody aboard"
                ),
                tightest=None,
                best_start=opens,
                confidence=1.0 if not series.outdoors else 0.9,
                after=After(start=opens, applied=opens + takes),
            )
        )
    return _open_then(windows, series, first, earliest) if open_then else windows
