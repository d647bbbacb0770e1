"""When nothing fits: the smallest set of things found that cannot all be kept."""

from __future__ import annotations

from curewindow.findings import Finding, finding
from curewindow.order.apart import keep_apart
from curewindow.order.asking import ask
from curewindow.order.awaited import awaited
from curewindow.order.early import earliest_starts, task_name
from curewindow.order.model import build_model
from curewindow.order.problem import Problem
from curewindow.order.work import SearchWork
from curewindow.voice import short
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

    if (plain := _held_too_soon(problem, pins or {})) is not None:
        return [short(each, words) for each in plain]
    work = SearchWork(seconds)
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
    return [short(each, words) for each in _kept_apart(problem, core, pins or {})]


def held_too_soon(problem: Problem, words: Wording, pins: dict[int, int]) -> list[str] | None:
    """A step held before its own row lets it begin, or where nothing allows it, in words.

    Seen without a search; None where there is no such step.
    """
    found = _held_too_soon(problem, pins)
    return None if found is None else [short(each, words) for each in found]


def _held_too_soon(problem: Problem, pins: dict[int, int]) -> list[Finding] | None:
    earliest = earliest_starts(problem)
    for number, slot in pins.items():
        task = problem.tasks[number]
        part, at = task_name(task), problem.slots.at(slot)
        held = finding("held in plan", part=part, at=at)
        soonest = earliest[number]
        if slot < soonest < problem.slots.count:
            behind = _behind(problem, task.number, earliest)
            first = problem.slots.at(soonest)
            return [finding("part not before", part=part, at=first, because=behind), held]
        if not any(mode.place(slot) is not None for mode in task.modes):
            starts = sorted({int(s) for mode in task.modes for s in mode.starts if s >= soonest})
            near = min(starts, key=lambda s: abs(s - slot), default=None)
            other = None if near is None else problem.slots.at(near)
            inside = slot < problem.slots.count and bool(problem.slots.aboard[slot])
            state = "sheet" if inside else "aboard"
            return [
                finding("not allowed then", part=part, at=at, state=state, otherwise=other),
                held,
            ]
    return None


def _behind(problem: Problem, number: int, earliest: dict[int, int]) -> list[Finding]:
    """What a task waits for longest by its own row; empty where it waits for nothing."""
    longest = 0
    found: list[Finding] = []
    for bound in problem.tasks[number].bounds:
        if bound.slot > longest:
            longest, found = bound.slot, [awaited(bound)]
    for link in problem.links:
        first = problem.tasks[link.before]
        if link.after != number or first.optional:
            continue
        for mode, table in zip(first.modes, link.opens, strict=True):
            later = table[mode.starts >= earliest[link.before]]
            if later.size and int(later[0]) > longest:
                before = finding("awaited", state="before", part=task_name(first))
                longest, found = int(later[0]), [before]
    return found


def _kept_apart(problem: Problem, core: list[str], pins: dict[int, int]) -> list[Finding]:
    named = [name.split("|") for name in core]
    held = {int(parts[1]) for parts in named if parts[0] == "pin"}
    behind = {int(parts[2]) for parts in named if parts[0] == "link"}
    # What is held is told apart: what comes after it is told by where that is held.
    earliest = earliest_starts(problem, {number: pins[number] for number in held})
    at = problem.slots.at
    found: list[Finding] = []
    for parts in named:
        task = problem.tasks[int(parts[1])]
        part = task_name(task)
        if parts[0] == "pin":
            slot = pins[task.number]
            if earliest[task.number] > slot and task.number not in behind:
                found.append(finding("part not before", part=part, at=at(earliest[task.number])))
            found.append(finding("held in plan", part=part, at=at(slot)))
            if not any(mode.place(slot) is not None for mode in task.modes):
                found.append(finding("not allowed then", part=part, at=at(slot), state="nothing"))
        elif parts[0] == "bound":
            bound = task.bounds[int(parts[2])]
            until = None if bound.slot >= problem.slots.count else at(bound.slot)
            found.append(finding("part waits", part=part, at=until, because=[awaited(bound)]))
        elif parts[0] == "starts":
            found.append(finding("no start looked at", part=part))
        else:
            after = problem.tasks[int(parts[2])]
            soonest = earliest.get(after.number)
            when = None
            state = parts[3] if parts[3] in ("hot coat", "cured") else "late"
            if after.number in held and earliest[after.number] <= pins[after.number]:
                state = "row"
            elif soonest is not None and soonest < problem.slots.count:
                state, when = "soonest", at(soonest)
            found.append(
                finding(
                    "part after part", part=task_name(after), other_part=part, state=state, at=when
                )
            )
    if not found:
        found.append(finding("hours too few", until=at(problem.slots.count - 1)))
    return list(dict.fromkeys(found))
