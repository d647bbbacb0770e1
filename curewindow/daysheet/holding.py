"""Steps of the kept plan that the owner holds where they are, and lets go."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from curewindow.errors import NotFoundError
from curewindow.order.kept import KeptPlan, load, steps_today, store
from curewindow.order.plan import LaterStep, PlannedStep


def fix(folder: Path, key: str, when: datetime | None) -> tuple[PlannedStep | LaterStep, datetime]:
    """Hold a step of the kept plan at a moment, or where it stands.

    Parameters
    ----------
    folder : Path
    key : str
        A step: 'saloon doors coat 4', its key, or a job for its next step.
    when : datetime, optional
        Aware; else where the plan has it.

    Returns
    -------
    step, when
        What is held, and at which moment.

    Raises
    ------
    NotFoundError
        There is no plan yet, or no such step in it; the step lies beyond the forecast, so that
        it has no time, and none is given.
    """
    kept = load(folder)
    step = _step(kept, key)
    if when is None:
        if isinstance(step, LaterStep):
            raise NotFoundError(
                f"'{named(step)}' lies beyond the forecast: it has no time to be held at",
                by_command="give one with --to",
            )
        when = step.start
    held = {**kept.fixed, step.key: when.astimezone(UTC)}
    store(folder, replace(kept, fixed=held, before=(*kept.before, kept.fixed)))
    return step, when


def fix_today(folder: Path, now: datetime) -> list[str]:
    """Hold everything the kept plan has for today; the keys of it."""
    kept = load(folder)
    if kept.plan is None:
        raise NotFoundError("there is no plan yet", by_command="'curewindow plan' makes one")
    steps = [step for step in steps_today(kept.plan, now) if step.end > now]
    held = {**kept.fixed, **{step.key: step.start.astimezone(UTC) for step in steps}}
    store(folder, replace(kept, fixed=held, before=(*kept.before, kept.fixed)))
    return [step.key for step in steps]


def free(folder: Path, key: str | None) -> list[str]:
    """Hold a step no longer, or none; the keys that were held."""
    kept = load(folder)
    if key is None:
        gone = list(kept.fixed)
    else:
        wanted = key.casefold()
        gone = [held for held in kept.fixed if wanted in held.casefold()]
        if not gone and kept.plan is not None:
            every = kept.plan.every()
            gone = [s.key for s in every if s.key in kept.fixed and wanted in named(s).casefold()]
        if not gone:
            held = ", ".join(f"'{each}'" for each in kept.fixed) or "nothing"
            raise NotFoundError(f"no step '{key}' is fixed; fixed is {held}")
    left = {each: when for each, when in kept.fixed.items() if each not in gone}
    store(folder, replace(kept, fixed=left, before=(*kept.before, kept.fixed)))
    return gone


def undo(folder: Path) -> None:
    """Take back the last change of what is fixed.

    Raises
    ------
    NotFoundError
        There is nothing to take back.
    """
    kept = load(folder)
    if not kept.before:
        raise NotFoundError("nothing was fixed or freed yet: there is nothing to take back")
    store(folder, replace(kept, fixed=kept.before[-1], before=kept.before[:-1]))


def _step(kept: KeptPlan, asked: str) -> PlannedStep | LaterStep:
    """The step meant: by its key, by 'saloon doors coat 4', or the next one of a job."""
    if kept.plan is None:
        raise NotFoundError("there is no plan yet", by_command="'curewindow plan' makes one")
    wanted = " ".join(asked.casefold().split())
    steps = kept.plan.every()
    for step in steps:
        if wanted in (step.key.casefold(), named(step).casefold()):
            return step
    close = [step for step in steps if step.job.casefold() == wanted]
    close = close or [step for step in steps if wanted in named(step).casefold()]
    if len({step.job for step in close}) == 1:
        return close[0]
    listed = ", ".join(f"'{named(step)}'" for step in (close or steps)[:10])
    problem = "is in more than one step" if close else "is no step of the plan"
    raise NotFoundError(f"'{asked}' {problem}; name one of {listed}")


def named(step: PlannedStep | LaterStep) -> str:
    """A step as people type it: 'saloon doors coat 4'."""
    if isinstance(step, PlannedStep) and step.sanded_for is not None:
        return f"{step.job} sanding before coat {step.sanded_for}"
    if step.coat is not None:
        return f"{step.job} {step.do} {step.coat}"
    part = f" {step.sitting}" if step.of_sittings > 1 else ""
    return f"{step.job} {step.do}{part}"
