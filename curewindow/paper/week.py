"""A plan's coming days, each with its steps, heater times, deadlines and what gets ready."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta
from itertools import groupby
from zoneinfo import ZoneInfo

from curewindow.answers import HeaterHeld
from curewindow.cautions import gravest_first
from curewindow.findings import Finding
from curewindow.order.heldwarm import heater_dangers, heater_times
from curewindow.order.horizon import by_week, sure_text, week_title
from curewindow.order.plan import LaterStep, Plan, PlannedStep
from curewindow.paper.models import Day, LaterWeek, Line, Paper
from curewindow.voice import paper as said
from curewindow.voice.cautions import DEFER, care_text, topic
from curewindow.voice.plan import done_text, sanding_text
from curewindow.voice.season import all_done_text
from curewindow.voice.speaking import act, short
from curewindow.wording import Wording

# Job, number of the step, coat (None: a step without a product).
Key = tuple[str, int, int | None]
DAYS = 7
_AIRFLOW = "airflow for vapour"
# Of what gets ready on the same moment, and of steps, in this order.
_ORDER = {"heat on": 0, "ready": 1, "deadline": 2, "step": 3, "heat off": 4}


def week_of(
    plan: Plan,
    now: datetime,
    *,
    days: int = DAYS,
    done: Collection[Key] = frozenset(),
) -> Paper:
    """The coming days of a plan, from the local day of ``now`` on, and the weeks beyond.

    A day is told as long as its forecast reaches; what comes later has its week and no clock.

    Parameters
    ----------
    plan : Plan
    now : datetime
        Aware.
    days : int
        How many.
    done : collection of Key, optional
        What the record has of it already.

    Raises
    ------
    ValueError
        ``now`` is not aware, or no day is asked for.
    """
    if now.tzinfo is None:
        raise ValueError(f"now must be aware of its time zone, got {now.isoformat()}")
    if days < 1:
        raise ValueError(f"at least one day goes on paper, got {days}")
    # Paper hangs for days: no 'today' and no 'tomorrow' on it.
    fahrenheit = plan.temperature_unit == "°F"
    words = Wording(ZoneInfo(plan.time_zone), now, fahrenheit, days="date")
    today = words.local(now).date()
    near = plan.steps
    held = heater_times(near)
    heat = [line for each in held for line in _heat(each, held, near, words, plan.known_until)]
    lines = sorted(
        [*_lines(near, words, done), *heat], key=lambda line: (line.at, _ORDER[line.kind])
    )
    until = None if plan.known_until is None else words.local(plan.known_until)
    told = [today + timedelta(days=ahead) for ahead in range(days)]
    by_day = [
        _day(day, lines, words)
        for day in told
        if until is None or datetime.combine(day, time(0), words.zone) < until
    ]
    weeks = [_week(monday, steps, plan, words) for monday, steps in by_week(plan).items()]
    titles = [day.title for day in by_day]
    span = said.days_text(titles[0], titles[-1]) if titles else said.LATER
    shown = [step for step in near if today <= words.local(step.start).date() <= told[-1]]
    cautions = _most_air(gravest_first(each for step in shown for each in step.cautions))
    named = {topic(each) for each in cautions}
    return Paper(
        boat=plan.boat,
        title=f"{plan.boat}, {span}",
        time_zone=plan.time_zone,
        temperature_unit=plan.temperature_unit,
        as_of=now.astimezone(UTC),
        plan_made=plan.made_at,
        warnings=_warnings(plan, words),
        days=by_day,
        weeks=weeks,
        cautions=cautions,
        later_cautions=gravest_first(
            each for step in plan.every() for each in step.cautions if topic(each) not in named
        ),
        notes=_notes(plan, near, told[-1], words),
    )


def _most_air(cautions: list[Finding]) -> list[Finding]:
    """Of what several coats ask of the air of a space, the most: it is enough for each."""
    most: dict[str, float] = {}
    for each in cautions:
        flow = each.maybe("flow_m3_h")
        if each.kind == _AIRFLOW and flow is not None:
            most[each.text("space")] = max(flow, most.get(each.text("space"), flow))
    # where nothing says how much air it wants, that is said as well
    return [
        each
        for each in cautions
        if each.kind != _AIRFLOW or each.maybe("flow_m3_h") in (None, most.get(each.text("space")))
    ]


def what_of(step: PlannedStep | LaterStep) -> str:
    """What is done: 'coat 2 of 5, oil varnish', 'sand, part 1 of 2'."""
    if isinstance(step, PlannedStep) and step.sanding_for_missed:
        return sanding_text(spoilt=step.spoilt)
    several = step.coat is not None and (step.of_coats or 1) > 1
    coat = (step.coat, step.of_coats or 1) if step.coat is not None and several else None
    part = (step.sitting, step.of_sittings) if coat is None and step.of_sittings > 1 else None
    return said.act_text(step.do, coat=coat, product=step.product or "", part=part)


def _day(day: date, lines: list[Line], words: Wording) -> Day:
    own = [line for line in lines if words.local(line.at).date() == day]
    title = words.day(datetime.combine(day, time(12), words.zone))
    return Day(day=day, title=title, lines=own)


def _week(monday: date | None, steps: Sequence[LaterStep], plan: Plan, words: Wording) -> LaterWeek:
    """A line a job: its coats by product, its other work, and how sure the week is."""
    by_job: dict[str, list[LaterStep]] = {}
    for step in steps:
        by_job.setdefault(step.job, []).append(step)
    return LaterWeek(
        week=monday,
        title=week_title(plan, monday),
        steps=len(steps),
        lines=[
            said.week_job_text(
                job, list(dict.fromkeys(_acts(own))), sure_text(own[-1], plan, words)
            )
            for job, own in by_job.items()
        ],
    )


def _acts(steps: Sequence[LaterStep]) -> Iterator[str]:
    def sort(step: LaterStep) -> tuple[int, bool]:
        return step.step, step.coat is None

    for (_, single), group in groupby(steps, key=sort):
        own = list(group)
        if own[0].sanding_for_missed:
            yield sanding_text(spoilt=own[0].spoilt)
        if single:
            yield from (what_of(step) for step in own)
        else:
            coats = [step.coat for step in own if step.coat is not None]
            first = own[0]
            yield said.coats_text(first.do, coats, first.of_coats or 1, first.product or "")


def _lines(steps: Sequence[PlannedStep], words: Wording, done: Collection[Key]) -> list[Line]:
    found: list[Line] = []
    for step in steps:
        key = (step.job, step.step, step.coat)
        found.append(_step(step, words, key in done))
        if step.coat is not None and not _covered(step, steps, done):
            found.append(
                Line(
                    kind="ready",
                    at=step.hard,
                    clock=words.clock(step.hard),
                    text=said.ready_text(step.job, step.do, step.coat),
                    tick=False,
                )
            )
        if step.must_by is not None and step.must_by > step.end:
            found.append(
                Line(
                    kind="deadline",
                    at=step.must_by,
                    clock=words.clock(step.must_by),
                    text=said.deadline_text(step.job, step.do, step.coat),
                    tick=False,
                )
            )
    return found


def _covered(step: PlannedStep, steps: Sequence[PlannedStep], done: Collection[Key]) -> bool:
    """Does a later coat lie on it by the time it is hard, planned so or in the record?"""
    mine = (step.step, step.coat or 0)
    planned = any(
        other.job == step.job and (other.step, other.coat or 0) > mine and other.start < step.hard
        for other in steps
    )
    logged = any(job == step.job and (number, coat or 0) > mine for job, number, coat in done)
    return planned or logged


def _step(step: PlannedStep, words: Wording, done: bool) -> Line:
    first: list[str] = []
    # for its weather, its hands and by choice nobody has to wait: the clock says when
    kinds = ("cure", "delivery", "dust", "work before")
    waits = [wait for wait in step.waits_for if wait.kind in kinds]
    if waits:
        # the others are over by then
        last = max(waits, key=lambda wait: wait.until)
        first.append(said.wait_text(short(last.what, words), last.until, words))
    first += [short(each, words) for each in step.first]
    if step.wipe_first:
        first.append(said.WIPE_FIRST)
    # on the same day its last moment has a line of its own
    if (
        step.must_by is not None
        and words.local(step.must_by).date() != words.local(step.end).date()
    ):
        first.append(said.by_text(step.must_by, words))
    if step.fixed:
        first.append(said.HELD_BY_YOU)
    under = [said.together(first)] if first else []
    if step.note:
        under.append(said.note_text(step.note))
    if named := dict.fromkeys(topic(each) for each in step.cautions):
        under.append(said.care_named(list(named)))
    if done:
        under = [said.DONE]
    return Line(
        kind="step",
        at=step.start,
        clock=f"{words.clock(step.start)}-{words.clock(step.end)}",
        text=said.step_text(step.job, step.space, what_of(step)),
        under=under,
        tick=not done,
    )


def _heat(
    held: HeaterHeld,
    all_held: list[HeaterHeld],
    steps: Sequence[PlannedStep],
    words: Wording,
    known: datetime | None,
) -> list[Line]:
    """Lit (still lit, where it began before today), and let go where nothing follows."""
    midnight = words.local(words.now).replace(hour=0, minute=0, second=0, microsecond=0)
    still = held.begins < midnight < held.ends
    at = midnight.astimezone(UTC) if still else held.begins
    care = list(dict.fromkeys(topic(each) for each in heater_dangers(held, steps)))
    lines = [
        Line(
            kind="heat on",
            at=at,
            clock=words.clock(at),
            text=said.heat_text(
                held.space,
                held.setpoint_c,
                held.ends,
                held.vents,
                replace(words, known_until=known),
                still=still,
                turned=held.turned,
            ),
            under=[said.heat_for(held.jobs), *([said.care_named(care)] if care else [])],
            tick=True,
        )
    ]
    goes_on = any(each.space == held.space and each.begins == held.ends for each in all_held)
    if not goes_on and (known is None or held.ends < known):
        lines.append(
            Line(
                kind="heat off",
                at=held.ends,
                clock=words.clock(held.ends),
                text=said.heat_off(held.space),
                tick=True,
            )
        )
    return lines


def _warnings(plan: Plan, words: Wording) -> list[str]:
    warnings: list[str] = []
    if plan.faults:
        warnings.append(said.DOUBTED)
    today = words.local(words.now).date()
    last = max((words.local(step.start).date() for step in plan.steps), default=today)
    if last < today and not plan.later:
        warnings.append(said.ALL_PAST)
    elif plan.known_until is not None and plan.known_until <= words.now:
        warnings.append(said.forecast_over(plan.known_until, words))
    return warnings


def _notes(plan: Plan, near: Sequence[PlannedStep], last: date, words: Wording) -> list[str]:
    notes = [
        said.together([said.printed_text(words.now, plan.made_at, words), said.LOOK_FIRST]),
        DEFER,
    ]
    if plan.all_done is not None:
        notes.append(all_done_text(plan.all_done, words))
    elif plan.finish is not None:
        told = done_text(plan.finish, plan.left_out, replace(words, known_until=plan.known_until))
        notes.append(said.as_planned(told))
    beyond = [step.start for step in near if words.local(step.start).date() > last]
    if beyond:
        notes.append(said.beyond_text(len(beyond), max(beyond), words))
    if plan.left_out:
        notes.append(said.left_out_text(list(plan.left_out)))
    for each in plan.decide_now:
        care = [care_text(each.because)] if each.because else []
        notes.append(said.together([act(each, words), *care]))
    return notes
