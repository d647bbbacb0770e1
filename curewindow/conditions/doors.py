"""Spaces with a door open between them: each one's air is the other's weather.

What goes through an open door hangs on how warm both spaces are, and that on what goes
through it. So the spaces are run in turn, each with the others as they came out last,
until nothing changes any more. The turns are made on a coarse grid and without the heat
of dew; what they end with stands behind the doors in the run that counts.

Where much air goes through both spaces move together, and each held to the other's last
air they would hardly move at all. So in the turns the larger one gets what came through
the door, nearly as it was, and not the air behind it: less air that is so much warmer
and damper (as domain decomposition has it, a Robin condition). And each next guess is
the mix of the last ones that would have changed least (Anderson 1965, Journal of the
ACM 12(4), 547-560).
"""

from __future__ import annotations

import hashlib
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.schema import Boat, Door, Space
from curewindow.conditions.changed import Changed, behind_run_up
from curewindow.conditions.inputs import Inputs
from curewindow.conditions.kept import BalanceRun, kept_or_made
from curewindow.findings import Finding, finding
from curewindow.physics.air import saturation_pressure
from curewindow.physics.balance import Doorway, doorway_airflow
from curewindow.series import FloatArray

_COARSE_H = 0.5
_MOST_TURNS = 8
_MEMORY = 5
# The turns end when the airs change by no more on the mean; where a door's flow turns round
# or a heater goes out single points go on trembling by a few times that.
_SETTLED_K = 0.05
_SETTLED_PA = 5.0
# Airflows stand for all within 15 %: each is one more set of matrices.
_LEAST_M3_H = 5.0
_EASED = 0.1
_FLOW_RATIO = 1.3
_STAYS = 0.8  # of a class


@dataclass(frozen=True, slots=True, eq=False)
class Opening:
    """A door and when it is open, 1, or shut, 0; shape broadcast to (M, T), run-up included."""

    between: frozenset[str]
    width_m: float
    height_m: float
    is_open: FloatArray

    def other(self, name: str) -> str:
        """The space on the other side."""
        return next(each for each in self.between if each != name)

    @property
    def never(self) -> bool:
        """It stays shut."""
        return not np.any(self.is_open > 0.0)


@dataclass(frozen=True, slots=True, eq=False)
class Air:
    """Air of a space: temp_c and vapour_pa, each (M, T)."""

    temp_c: FloatArray
    vapour_pa: FloatArray

    @staticmethod
    def of(run: BalanceRun) -> Air:
        vapour = np.asarray(saturation_pressure(run.dew_point_c), dtype=np.float64)
        return Air(run.air_c, vapour)


def openings(
    boat: Boat, changed: Mapping[str, Changed], shape: tuple[int, int], run_up: int
) -> list[Opening]:
    """Doors that are open at some time.

    Parameters
    ----------
    boat : Boat
    changed : mapping of str to Changed
        Doors thought of otherwise, by space; one that is not in boat.toml has a usual size.
    shape : (M, R + T)
    run_up : int
        R.
    """
    known = {frozenset(door.between): door for door in boat.door}
    for name, wanted in changed.items():
        for other in wanted.doors:
            usual = Door.model_validate({"between": [name, other], "open": False})
            known.setdefault(frozenset((name, other)), usual)
    found = []
    for between, door in known.items():
        state = np.full((1, 1), 1.0 if door.open else 0.0)
        for name in between:
            values = changed.get(name, Changed()).doors.get(next(iter(between - {name})))
            told = behind_run_up(values, float(door.open), shape, run_up)
            state = state if told is None else told
        opening = Opening(between, door.width, door.height, state)
        if not opening.never:
            found.append(opening)
    return found


def joined(names: Sequence[str], doors: Sequence[Opening]) -> list[list[str]]:
    """The spaces in groups between which air goes, in their order."""
    groups: list[list[str]] = []
    for name in names:
        if any(name in group for group in groups):
            continue
        group = [name]
        for here in group:
            for door in doors:
                if here in door.between and door.other(here) not in group:
                    group.append(door.other(here))
        groups.append([each for each in names if each in group])
    return groups


def door_notes(space: Space, boat: Boat, doors: Sequence[Opening]) -> tuple[Finding, ...]:
    """What the doors of a space are taken for."""
    near = [*space.connected_to]
    near += [o.name for o in boat.space if space.name in o.connected_to and o.name not in near]
    near += [
        name
        for door in boat.door
        if space.name in door.between
        for name in door.between
        if name != space.name and name not in near
    ]
    wide = [door.other(space.name) for door in doors if space.name in door.between]
    shut = [name for name in near if name not in wide]
    return tuple(
        finding("doors assumed", space=space.name, spaces=tuple(names), state=state)
        for names, state in ((shut, "shut"), (wide, "open"))
        if names
    )


def behind_doors(
    group: Sequence[str],
    inputs: Mapping[str, Inputs],
    fixed: Mapping[str, Air],
    doors: Sequence[Opening],
) -> dict[str, Air]:
    """Air in each space of a group with open doors, as the turns end; what is kept of it is used.

    Parameters
    ----------
    group : sequence of str
    inputs : mapping of str to Inputs
        Of the spaces that are worked out.
    fixed : mapping of str to Air
        Of those known from readings.
    doors : sequence of Opening

    Returns
    -------
    dict of str to Air
        On the inputs' own grid.
    """
    own = [name for name in group if name in inputs]
    told = hashlib.sha256()
    for name in own:
        told.update(f"{name} {inputs[name].mark()}".encode())
    for door in doors:
        told.update(repr((sorted(door.between), door.width_m, door.height_m)).encode())
        told.update(np.ascontiguousarray(door.is_open).tobytes())
    for name, air in sorted(fixed.items()):
        told.update(name.encode() + air.temp_c.tobytes() + air.vapour_pa.tobytes())
    kept = kept_or_made(told.hexdigest()[:32], lambda: _fixed_point(own, inputs, fixed, doors))
    return {name: Air(kept[2 * i], kept[2 * i + 1]) for i, name in enumerate(own)}


def airflows(
    air: Mapping[str, Air], doors: Sequence[Opening], last: Sequence[FloatArray] = ()
) -> list[FloatArray]:
    """Air through each door, one figure for both sides, or water would get lost [m³/h].

    What went through `last` stands until it is well off, so that turns come to rest.
    """
    found = []
    for number, door in enumerate(doors):
        one, other = (air[name].temp_c for name in sorted(door.between))
        flow = doorway_airflow(door.width_m, door.height_m, one, other)
        classes = np.log(np.maximum(flow, 1e-3) / _LEAST_M3_H) / np.log(_FLOW_RATIO)
        flow = np.where(flow < _LEAST_M3_H, 0.0, _LEAST_M3_H * _FLOW_RATIO ** np.rint(classes))
        flow = np.asarray(flow * door.is_open, dtype=np.float64)
        if last:
            was = last[number]
            before = np.log(np.maximum(was, 1e-3) / _LEAST_M3_H) / np.log(_FLOW_RATIO)
            flow = np.where((was > 0.0) & (np.abs(classes - before) < _STAYS), was, flow)
        found.append(flow)
    return found


def doorways(
    name: str,
    air: Mapping[str, Air],
    doors: Sequence[Opening],
    flows: Sequence[FloatArray],
    shape: tuple[int, int],
    smaller: Sequence[str] = (),
) -> list[Doorway]:
    """The open doors of a space, with the air behind them and what goes through.

    Through doors to `smaller` ones goes less air, so much warmer and damper that it brings
    the same while the space's own air is as given.
    """
    found = []
    for door, flow in zip(doors, flows, strict=True):
        if name not in door.between:
            continue
        here, there = air[name], air[door.other(name)]
        temp, vapour = there.temp_c, there.vapour_pa
        if door.other(name) in smaller:
            dry = 1.0 - vapour / here.vapour_pa  # no vapour is below none
            eased = np.maximum(_EASED, 1.05 * dry)
            temp = here.temp_c + (temp - here.temp_c) / eased
            vapour = np.maximum(here.vapour_pa + (vapour - here.vapour_pa) / eased, 0.0)
            flow = flow * eased
        found.append(Doorway(np.broadcast_to(flow, shape), temp, vapour))
    return found


def _fixed_point(
    own: Sequence[str],
    inputs: Mapping[str, Inputs],
    fixed: Mapping[str, Air],
    doors: Sequence[Opening],
) -> FloatArray:
    """Air of each space in turn until it settles, shape (2 K, M, T): temperatures, vapours."""
    first = inputs[own[0]]
    members = max(each.members for each in inputs.values())
    points = first.outside.temp_c.shape[-1]
    every = max(round(_COARSE_H / first.step_h), 1)
    picked = np.arange(0, points, every)
    coarse = {name: inputs[name].coarse(every) for name in own}
    wide = [Opening(d.between, d.width_m, d.height_m, _picked(d.is_open, picked)) for d in doors]
    beside = {
        name: Air(air.temp_c[:, picked], air.vapour_pa[:, picked]) for name, air in fixed.items()
    }
    shape = (members, picked.size)
    volume = {name: each.described.model.volume_m3 for name, each in inputs.items()}
    # Of two as large the first counts as the larger.
    smaller = {
        name: [
            other
            for other in own
            if (volume[other], own.index(name)) < (volume[name], own.index(other))
        ]
        for name in own
    }

    def spread(run: BalanceRun) -> Air:
        air = Air.of(run)
        return Air(np.broadcast_to(air.temp_c, shape), np.broadcast_to(air.vapour_pa, shape))

    flows: list[FloatArray] = []

    def turned(air: Mapping[str, Air]) -> dict[str, Air]:
        nonlocal flows
        now = {**beside, **air}
        flows = airflows(now, wide, flows)
        for name in own:
            ways = doorways(name, now, wide, flows, shape, smaller[name])
            now[name] = spread(coarse[name].run(ways, quickly=True))
        return {name: now[name] for name in own}

    def flat(air: Mapping[str, Air]) -> FloatArray:
        return np.concatenate(
            [
                part.ravel() / scale
                for name in own
                for part, scale in (
                    (air[name].temp_c, _SETTLED_K),
                    (air[name].vapour_pa, _SETTLED_PA),
                )
            ]
        )

    def round_(values: FloatArray) -> dict[str, Air]:
        parts = values.reshape(len(own), 2, *shape)
        return {
            name: Air(parts[i, 0] * _SETTLED_K, np.maximum(parts[i, 1] * _SETTLED_PA, 1.0))
            for i, name in enumerate(own)
        }

    shut = {name: spread(coarse[name].run(quickly=True)) for name in own}
    guess = flat(_as_one(shut, volume, wide, shape))
    guesses: list[FloatArray] = []
    answers: list[FloatArray] = []
    for _ in range(_MOST_TURNS):
        answer = flat(turned(round_(guess)))
        guesses, answers = [*guesses, guess][-_MEMORY:], [*answers, answer][-_MEMORY:]
        if float(np.nanmean(np.abs(answer - guess))) < 0.6:
            break
        guess = _mixed(guesses, answers)
    ended = round_(answers[-1])
    at = np.arange(points)
    return np.stack(
        [
            np.stack([np.interp(at, picked, row) for row in part])
            for name in own
            for part in (ended[name].temp_c, ended[name].vapour_pa)
        ]
    )


def _as_one(
    air: Mapping[str, Air],
    volume: Mapping[str, float],
    doors: Sequence[Opening],
    shape: tuple[int, int],
) -> dict[str, Air]:
    """First guess: while any door is open all share one damp, and meet halfway in warmth."""
    open_ = np.zeros(shape, np.bool_)
    for door in doors:
        open_ |= np.broadcast_to(door.is_open > 0.0, shape)
    total = sum(volume[name] for name in air)
    damp = sum(volume[name] / total * each.vapour_pa for name, each in air.items())
    warm = np.max([each.temp_c for each in air.values()], axis=0)
    return {
        name: Air(
            np.where(open_, (each.temp_c + warm) / 2.0, each.temp_c),
            np.where(open_, damp, each.vapour_pa),
        )
        for name, each in air.items()
    }


def _mixed(guesses: Sequence[FloatArray], answers: Sequence[FloatArray]) -> FloatArray:
    """The next guess: the mix of the last answers whose changes cancel best."""
    changes = [answer - guess for guess, answer in zip(guesses, answers, strict=True)]
    if len(changes) == 1:
        return answers[0]
    apart = np.stack([change - changes[-1] for change in changes[:-1]], axis=1)
    share, *_ = np.linalg.lstsq(np.nan_to_num(apart), np.nan_to_num(-changes[-1]), rcond=None)
    mix = answers[-1].copy()
    for part, answer in zip(share.tolist(), answers[:-1], strict=True):
        mix += part * (answer - answers[-1])
    return mix


def _picked(values: FloatArray, picked: NDArray[np.intp]) -> FloatArray:
    return values if values.shape[-1] == 1 else values[..., picked]
