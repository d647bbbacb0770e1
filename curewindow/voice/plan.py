"""The kept order of work in words, as day sheet, page and notices say it."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from curewindow.answers import HeaterHeld, PlannedStart, PlanNow, WorkStep
from curewindow.voice.heat import run_text
from curewindow.voice.orderwords import by_or_sand_text
from curewindow.voice.paper import heat_text
from curewindow.voice.speaking import and_all, full
from curewindow.wording import Wording, span


@dataclass(frozen=True, slots=True)
class PlanLine:
    """One line of today's order.

    Attributes
    ----------
    at : datetime
    clock, text : str
        '08:30 to 09:00' and what is done then.
    more : tuple of str
        What goes with it.
    job : str
    ok : bool
        False: the day sheet has no window for it now.
    """

    at: datetime
    clock: str
    text: str
    more: tuple[str, ...]
    job: str
    ok: bool = True


def plan_title(plan: PlanNow) -> str:
    """Its heading."""
    return "today, in this order" if plan.fresh else "today, by an old plan"


def plan_note(plan: PlanNow, words: Wording) -> str:
    """What has to be said of it before it is gone by; '' where nothing has."""
    if plan.fresh or plan.note is None:
        return ""
    return f"{full(plan.note, words)}: 'curewindow plan' makes it anew"


def plan_lines(plan: PlanNow, words: Wording) -> list[PlanLine]:
    """Today's steps and what the heater is to do for them and those to come, in order."""
    lines = [*_overdue(plan, words), *_steps(plan, words), *_heat(plan, words)]
    return sorted(lines, key=lambda line: line.at)


NOT_ALL: Final = "not all of these can be kept: let go of one"
NOT_BOTH: Final = "these two cannot both be kept: let go of one"
CUT_SHORT: Final = (
    "cut short: the machine was busy, so another moment may give another plan ('curewindow plan')"
)
BESIDE_THE_REST: Final = "does not fit beside the rest within the time looked at"


def sanding_text(*, spoilt: bool) -> str:
    """Sanding that a missed recoat interval, or a spoilt coat, asks for before the next."""
    if spoilt:
        return "sand the spoilt coat back"
    return "sand first: its recoat interval ends before the next coat"


def waits_in_vain(other: str) -> str:
    """Why a job is not in the plan: it waits for one that is not."""
    return f"waits for '{other}', which cannot be planned"


def done_text(finish: datetime, left_out: Collection[str], words: Wording) -> str:
    """When all is done: but for jobs that are not in the plan, which are done never yet."""
    names = [f"'{each}'" for each in left_out]
    but = f" but {and_all(names)}" if names else ""
    far = "in " if words.far(finish) else ""
    return f"all{but} done {far}{words.when(finish)}"


def within_text(hours: float, below: int) -> str:
    """How soon a later coat has to follow the one below it: some, as its weather is not known."""
    return f"within some {span(hours)} of coat {below}, or sand first"


def what(step: PlannedStart) -> str:
    """'coat 2 of 4', 'seal', 'sand first'."""
    if step.do == "coat":
        return f"coat {step.coat} of {step.of_coats}"
    return sanding_text(spoilt=step.spoilt) if step.sanding_for_missed else step.do


def part_text(step: WorkStep, sitting: int = 1, of_sittings: int = 1) -> str:
    """'coat 2 of 4, oil varnish', 'fit, part 1 of 2', or the sanding before a coat."""
    if step.sanding_for_missed:
        return sanding_text(spoilt=step.spoilt)
    if step.coat is not None and step.do == "coat":
        return f"coat {step.coat} of {step.of_coats}, {step.product}"
    if step.product is not None:
        return f"{step.do}, {step.product}"
    part = f", part {sitting} of {of_sittings}" if of_sittings > 1 else ""
    return f"{step.do}{part}"


def _overdue(plan: PlanNow, words: Wording) -> Iterator[PlanLine]:
    for step in plan.overdue:
        mark = "✗ " if step.allowed is False else ""
        text = f"{mark}{step.job}, {what(step)}: planned {words.when(step.start)}, not logged"
        yield PlanLine(step.start, "late", text, _more(step, words), step.job, step.allowed is True)


def _steps(plan: PlanNow, words: Wording) -> Iterator[PlanLine]:
    for step in plan.today:
        clock = f"{words.clock(step.start)}-{words.clock(step.end)}"
        ok = step.allowed is not False
        text = f"{step.job}, {what(step)}"
        if not ok:
            text = f"✗ {text}: not now"
        elif step.start < words.now:
            text += ": not logged yet"
        yield PlanLine(step.start, clock, text, _more(step, words), step.job, ok)


def _more(step: PlannedStart, words: Wording) -> tuple[str, ...]:
    more = [] if step.note is None else [full(step.note, words)]
    if step.allowed is False:
        return tuple(more)
    if step.wipe_first:
        more.append("wipe the surface dry first, and log that")
    if step.must_by is not None and step.must_by > words.now:
        more.append(by_or_sand_text(step.must_by, words))
    if step.allowed is None and step.start >= words.now:
        more.append("once what comes before it is logged, look here again")
    return tuple(more) if step.why is None else (*more, full(step.why, words))


def _heat(plan: PlanNow, words: Wording) -> Iterator[PlanLine]:
    """Lighting and turning that falls on today, once for each stretch of heat."""
    today = words.local(words.now).date()
    steps = [*plan.today, *plan.coming]
    for step in steps:
        run = step.heat_before
        lights = run is not None and words.local(run.light_at).date() == today
        if run is not None and lights and step.allowed is not False:
            text = f"{run.said.text('space')}: {run_text(run.said, run.ventilation, words)}"
            more = (_for(step, words),)
            yield PlanLine(run.light_at, words.clock(run.light_at), text, more, step.job)
    for held in plan.heaters:
        own = [step for step in steps if _held_for(step, held)]
        if words.local(held.begins).date() != today or not own:
            continue
        text = heat_text(
            held.space,
            held.setpoint_c,
            held.ends,
            held.vents,
            words,
            still=False,
            turned=held.turned,
        )
        jobs = tuple(_for(step, words) for step in own)
        yield PlanLine(held.begins, words.clock(held.begins), text, jobs, own[0].job)


def _held_for(step: PlannedStart, held: HeaterHeld) -> bool:
    """Does a step ask for a stretch of heat?"""
    if step.heat_from is None or step.heat_until is None or step.allowed is False:
        return False
    meets = step.heat_from < held.ends and step.heat_until > held.begins
    return step.space == held.space and meets


def _for(step: PlannedStart, words: Wording) -> str:
    return f"for {step.job}, {what(step)}, {words.when(step.start)}"
