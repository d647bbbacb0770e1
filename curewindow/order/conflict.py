"""When nothing fits: the smallest set of things found that cannot all be kept, in words."""

from __future__ import annotations

from curewindow.order.apart import keep_apart
from curewindow.order.asking import ask
from curewindow.order.early import earliest_starts, task_name
from curewindow.order.model import build_model
from curewindow.order.problem import Problem, Task
from curewindow.order.work import Work
from curewindow.wording import Wording

_EACH_S = 4.0


def conflict(
    problem: Problem, words: Wording, *, pins: dict[int, int] | None = None, seconds: float = 20.0
) -> list[str] | None:
    """What stands against what.

    Parameters
    ----------
    problem : Problem
    words : Wording
    pins : dict of int to int, optional
        Slots of tasks held where they are.
    seconds : float
        How hard to look, as :func:`curewindow.order.solve.solve` has it.

    Returns
    -------
    list of str or None
        Sentences, one a thing in the set; None where something fits after all, or it was
        not settled.

    Notes
    -----
    Each condition has a switch. The solver names switches that cannot all be on; then
    one after the other is left out, and stays out where nothing fits even so. What
    remains is a smallest set: without any one of it something would fit.
    """
    from ortools.sat.python import cp_model

    if (plain := held_too_soon(problem, words, pins or {})) is not None:
        return plain
    work = Work(seconds)
    model, modes = build_model(problem, pins=pins, explain=True)
    keep_apart(model, modes)
    switches = model.switches

    def possible(on: list[str], longest: float = _EACH_S) -> tuple[bool | None, list[str]]:
        model.cp.clear_assumptions()
        model.cp.add_assumptions([switches[name] for name in on])
        solver, status = ask(model, work, longest, tighten=True)
        if status == cp_model.INFEASIBLE:
            core = set(solver.sufficient_assumptions_for_infeasibility())
            named = [name for name in on if switches[name].index in core]
            return False, named or on
        if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
            return True, []
        return None, []

    fits, core = possible(list(switches), seconds / 2.0)
    if fits is not False:
        return None
    for name in list(core):
        rest = [each for each in core if each != name]
        fits, smaller = possible(rest)
        if fits is False:
            core = [each for each in rest if each in smaller] or rest
            if not core:
                break
    return _sentences(problem, words, core, pins or {})


def held_too_soon(problem: Problem, words: Wording, pins: dict[int, int]) -> list[str] | None:
    """A step held before its own row lets it begin, or where nothing allows it, in words.

    Seen without a search; None where there is no such step.
    """
    earliest = earliest_starts(problem)
    for number, slot in pins.items():
        task = problem.tasks[number]
        held = f"{task_name(task)} is fixed for {words.when(problem.slots.at(slot))}"
        soonest = earliest[number]
        if slot < soonest < problem.slots.count:
            at = words.when(problem.slots.at(soonest))
            why = _behind(problem, task.number, earliest)
            return [f"{task_name(task)} cannot be before {at}{why}", held]
        if not any(mode.place(slot) is not None for mode in task.modes):
            starts = sorted({int(s) for mode in task.modes for s in mode.starts if s >= soonest})
            near = min(starts, key=lambda s: abs(s - slot), default=None)
            other = "" if near is None else f"; {words.when(problem.slots.at(near))} is the nearest"
            when = words.when(problem.slots.at(slot))
            inside = slot < problem.slots.count and bool(problem.slots.aboard[slot])
            who = "its sheet or the dark does not allow" if inside else "nobody is aboard for"
            return [f"{who} {task_name(task)} {when}{other}", held]
    return None


def _behind(problem: Problem, number: int, earliest: dict[int, int]) -> str:
    """What a task waits for longest by its own row."""
    found: tuple[int, str] = (0, "")
    for bound in problem.tasks[number].bounds:
        if bound.slot > found[0]:
            found = (bound.slot, bound.what)
    for link in problem.links:
        first = problem.tasks[link.before]
        if link.after != number or first.optional:
            continue
        for mode, table in zip(first.modes, link.opens, strict=True):
            later = table[mode.starts >= earliest[link.before]]
            if later.size and int(later[0]) > found[0]:
                found = (int(later[0]), f"{task_name(first)} before it")
    return f": {found[1]}" if found[1] else ""


def _sentences(
    problem: Problem, words: Wording, core: list[str], pins: dict[int, int]
) -> list[str]:
    named = [name.split("|") for name in core]
    held = {int(parts[1]) for parts in named if parts[0] == "pin"}
    behind = {int(parts[2]) for parts in named if parts[0] == "link"}
    # What is held is told apart: what comes after it is told by where that is held.
    earliest = earliest_starts(problem, {number: pins[number] for number in held})
    said: list[str] = []
    for parts in named:
        task = problem.tasks[int(parts[1])]
        if parts[0] == "pin":
            when = words.when(problem.slots.at(pins[task.number]))
            if earliest[task.number] > pins[task.number] and task.number not in behind:
                at = words.when(problem.slots.at(earliest[task.number]))
                said.append(f"{task_name(task)} cannot be before {at}")
            said.append(f"{task_name(task)} is fixed for {when}")
            if not any(mode.place(pins[task.number]) is not None for mode in task.modes):
                said.append(f"nothing allows {task_name(task)} to start {when}")
        elif parts[0] == "bound":
            bound = next(b for b in task.bounds if b.kind == parts[2] and b.what == parts[3])
            late = bound.slot >= problem.slots.count
            when = "later than looked at" if late else words.when(problem.slots.at(bound.slot))
            said.append(f"{task_name(task)} waits for {bound.what} ({when})")
        elif parts[0] == "starts":
            said.append(f"{task_name(task)} has no start within the time looked at")
        else:
            after = problem.tasks[int(parts[2])]
            if after.number in held and earliest[after.number] <= pins[after.number]:
                said.append(f"{task_name(after)} comes after {task_name(task)}")
            else:
                said.append(_link_text(problem, words, task, after, parts[3], earliest))
    if not said:
        said.append(
            f"hands: the hours aboard up to {words.day(problem.slots.at(problem.slots.count - 1))} "
            "are not enough"
        )
    return list(dict.fromkeys(said))


def _link_text(
    problem: Problem,
    words: Wording,
    task: Task,
    after: Task,
    kind: str,
    earliest: dict[int, int],
) -> str:
    soonest = earliest.get(after.number)
    if soonest is not None and soonest < problem.slots.count:
        at = words.when(problem.slots.at(soonest))
        return f"{task_name(after)} comes after {task_name(task)} and cannot be before {at}"
    if kind == "hot coat":
        return f"{task_name(after)} has to follow {task_name(task)} while that is still tacky"
    if kind == "cured":
        return f"{task_name(after)} covers {task_name(task)}, which does not cure in time"
    return f"{task_name(after)} does not fit after {task_name(task)} in the time looked at"
