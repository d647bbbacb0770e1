"""What an order of work costs in heat."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from curewindow.order.axis import Model
from curewindow.order.problem import (
    HeatSource,
    Mode,
    Order,
    Problem,
    block_slots,
    lit_blocks,
    warm_blocks,
)
from curewindow.order.slots import IntArray

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

KWH_STEPS: Final = 10
"""Heat in whole numbers of 0.1 kWh."""


def add_heat(model: Model, modes: list[tuple[Mode, ...]]) -> None:
    """Blocks in which a space is kept warm; what they take, and how many at a time."""
    problem, cp = model.problem, model.cp
    warm: dict[tuple[str, float | None, int], cp_model.BoolVarT] = {}
    for task in problem.tasks:
        heater = problem.heater_of(task.space)
        if heater is None or task.space is None:
            continue
        shared = heater.at_once < len(heater.spaces)
        for number, mode in enumerate(modes[task.number]):
            lows, highs = warm_blocks(problem, mode)
            if not (lows < highs).any() or (mode.level_c is None and not shared):
                continue
            places = model.before[mode.starts]
            for block in range(int(lows.min()), int(highs.max())):
                covered = np.flatnonzero((lows <= block) & (highs > block))
                if covered.size == 0:
                    continue
                key = (task.space, mode.level_c, block)
                if key not in warm:
                    warm[key] = cp.new_bool_var(f"warm {key}")
                clause = [warm[key]]
                if len(modes[task.number]) > 1:
                    clause.append(~model.mode[task.number][number])
                if covered[0] > 0:
                    clause.append(~model.from_on(task.number, int(places[covered[0]])))
                if covered[-1] + 1 < places.size:
                    clause.append(model.from_on(task.number, int(places[covered[-1] + 1])))
                cp.add_bool_or(clause)
    costs = block_costs(problem)
    for (space, level, block), literal in warm.items():
        heater = problem.heater_of(space)
        if heater is None or level is None:
            continue
        model.fuel.append((literal, _at(costs, (space, level), block)))
    for heater in problem.heaters:
        if heater.at_once >= len(heater.spaces):
            continue
        _one_heater(model, heater, warm)


def _one_heater(
    model: Model,
    heater: HeatSource,
    warm: dict[tuple[str, float | None, int], cp_model.BoolVarT],
) -> None:
    """So many spaces at a time and no more, those that the log has lit counted."""
    spaces, by_log = heater.spaces, lit_blocks(model.problem, heater)
    blocks = {block for space, _, block in warm if space in spaces}
    for block in sorted(blocks):
        on, lit = [], by_log.get(block, frozenset())
        for space in (each for each in spaces if each not in lit):
            own = [
                literal
                for (where, _, at), literal in warm.items()
                if where == space and at == block
            ]
            if own:
                any_of = model.cp.new_bool_var(f"on {space} {block}")
                for literal in own:
                    model.cp.add_implication(literal, any_of)
                on.append(any_of)
        left = max(heater.at_once - len(lit), 0)
        if len(on) > left:
            model.cp.add(sum(on) <= left)


def fuel_of(problem: Problem, order: Order) -> int:
    """Heat beyond the routine's that an order takes, in 0.1 kWh, counted in blocks."""
    held: set[tuple[str, float, int]] = set()
    for each in order.placed:
        task = problem.tasks[each.task]
        mode = task.modes[each.mode]
        k = mode.place(each.start)
        if k is None or task.space is None or mode.level_c is None:
            continue
        if problem.heater_of(task.space) is None:
            continue
        first, end = warm_blocks(problem, mode, k)
        held |= {(task.space, mode.level_c, block) for block in range(int(first), int(end))}
    costs = block_costs(problem)
    return sum(_at(costs, (space, level), block) for space, level, block in held)


def block_costs(problem: Problem) -> dict[tuple[str, float], IntArray]:
    """By space and level: what heat beyond the routine's takes in each block, in 0.1 kWh."""
    per = block_slots(problem)
    found = {}
    for heater in problem.heaters:
        for key, kwh in heater.kwh.items():
            first = np.arange(0, kwh.size, per)
            tenths = np.round(KWH_STEPS * np.add.reduceat(kwh, first)).astype(np.int64)
            # Never quite nothing: a fire that is not needed is not lit.
            found[key] = np.maximum(1, tenths)
    return found


def _at(costs: dict[tuple[str, float], IntArray], key: tuple[str, float], block: int) -> int:
    """What a block takes; beyond the end of what is known next to nothing."""
    return int(costs[key][block]) if block < costs[key].size else 1
