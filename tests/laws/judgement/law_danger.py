"""Law 4: danger is never cut and never lags, and no heat is advised against a refusal."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta

from curewindow.cautions import cautions_for
from curewindow.judgement.models import JobDay
from tests.laws.judgement.faces import Faces

_NIGHT = ("heater at night", "electric heater at night", "left alone", "no flue, alight")
_FIRE = ("ignition over vapour", "flammable vapour")


def broken(faces: Faces) -> Iterator[str]:
    told = {(c.danger.kind, job) for c in faces.sheet.cautions for job in c.jobs}
    for job in faces.facts.work.job:
        day = faces.day(job.name)
        yield from _of_today(faces, day, told)
        if day.status == "refused" and (
            day.windows_today or day.next_window or day.if_wiped or faces.windows(job.name)
        ):
            yield f"{job.name}: refused, with windows"
        if day.heat is not None and day.heat.status == "possible" and day.status == "refused":
            yield f"{job.name}: heat for a start that is refused"
    yield from _wet(faces, told)
    yield from _lit(faces)


def _of_today(faces: Faces, day: JobDay, told: set[tuple[str, str]]) -> Iterator[str]:
    """What is go or refused today brings its own product's cautions with it."""
    if day.status not in ("go", "refused") or day.next is None or day.next.sheet is None:
        return
    facts = faces.facts
    job = next(each for each in facts.work.job if each.name == day.job)
    space = None if job.space is None else facts.boat.find_space(job.space)
    sheet = facts.sheet(day.next.sheet).sheet
    step = job.step[day.next.step - 1]
    for caution in cautions_for([sheet], job, space, facts.boat, step=step):
        if caution.weight == "danger" and (caution.kind, day.job) not in told:
            yield f"{day.job}: {caution.kind} is not told"


def _lit(faces: Faces) -> Iterator[str]:
    """A heater lit by the log warns while it burns, and of the night it is to burn through."""
    now = {each.danger.kind for each in faces.sheet.cautions if not each.later}
    local = faces.facts.words.local
    for space in faces.facts.boat.space:
        held = None if space.heating is None else space.heating.held_at(faces.now)
        if space.heating is None or held is None or held.setpoint_c is None:
            continue
        if space.heating.kind != "electric" and space.heating.vented and "heater burns" not in now:
            yield f"{space.name}: its heater is lit until {held.end}, no alarm is told"
        hours = int((held.end - faces.now) / timedelta(hours=1)) + 1
        spent = [local(faces.now + timedelta(hours=each)).hour for each in range(hours)]
        if any(hour >= 22 or hour < 6 for hour in spent) and not now & set(_NIGHT):
            yield f"{space.name}: its heater is lit until {held.end}, the night is not told"


def _wet(faces: Faces, told: set[tuple[str, str]]) -> Iterator[str]:
    """A wet coat that burns warns for as long as it is wet."""
    for clock in faces.sheet.clocks:
        sheet = faces.facts.sheet(clock.sheet).sheet
        job = next(each for each in faces.facts.work.job if each.name == clock.job)
        if (
            clock.state == "wet"
            and job.space is not None
            and "flammable solvent" in sheet.hazards
            and not any(kind in _FIRE and clock.job == about for kind, about in told)
        ):
            yield f"{clock.job}: its wet coat burns, no fire is told"
