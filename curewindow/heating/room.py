"""A space from now on, as it stands, ready to be heated in many ways at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, Final

import numpy as np
import numpy.typing as npt
from numpy.typing import NDArray

from curewindow.boat.schema import Space, Ventilation
from curewindow.curing import IntArray
from curewindow.findings import Finding
from curewindow.physics.balance import (
    Dehumidifier,
    HeaterModel,
    Outside,
    SpaceModel,
    SpaceResult,
    SpaceState,
    simulate,
    start_from_reading,
)
from curewindow.rules.chance import SHARE_OF_MEMBERS
from curewindow.series import BoolArray, FloatArray
from curewindow.windows.grid import next_bad

_SOME_H: Final = 84.0


class AsItStands:
    """How a room would go on without heat, once for all that is cut from it.

    Conditions worked out before hold more of what was read than a run from a moment on does. What
    heat changes is therefore laid on them: the run with it less this one.
    """

    def __init__(self) -> None:
        self.room: Room | None = None
        self._known: SpaceResult | None = None

    def up_to(self, points: int) -> SpaceResult:
        """All members by the routine, for at least so many grid points."""
        assert self.room is not None
        if self._known is None or self._known.air_c.shape[1] < points:
            # Some more: who asks next asks for about as many.
            some = round(_SOME_H / self.room.step_h)
            short = up_to(self.room, -(-points // some) * some)
            self._known = heated(short, short.routine_c, air_changes_h=short.own_air_h)
        return self._known


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """A space from a moment on.

    Attributes
    ----------
    space : Space
    model : SpaceModel
    times : ndarray of datetime64[s], shape (T,)
        From the grid point at or before the moment to the end of the weather.
    first : int
        Index of its first point on the forecast's grid.
    step_h : float
    outside : Outside
        Arrays (M, T) or scalars.
    unknown : ndarray of bool, shape (M, T)
        Where the weather has no figures of its own.
    start : SpaceState
        Of M members, on what is known of the space at that moment.
    routine_c : ndarray, shape (T,)
        Setpoint of the heater's routine; NaN: off.
    out_of_order : ndarray of bool, shape (T,)
        Where the heater cannot be used.
    power_w : float
        Of the heater; 0 where there is none.
    moisture_kg_h : float or ndarray, shape (T,)
        Water given off inside; with it what coats give off that are on already.
    notes : tuple of str
    heater : HeaterModel or None
        How it warms up, how low it burns, whether its flame's water stays inside.
    dehumidifier : Dehumidifier or None
        Held at its target throughout.
    may_run : ndarray of bool, shape (T,), or None
        Where an order may have its heater alight (`rules.unattended`); None: at any time.
    unflued : bool
        It burns into the cabin.
    rows : ndarray of int, shape (M,), or None
        Which members of the conditions its own are; None: nobody asked for them.
    stands : AsItStands or None
        How it would go on without heat.
    vents : ndarray, shape (T,), or None
        Air change against the described one, where the log has the vents otherwise.
    """

    space: Space
    model: SpaceModel
    times: NDArray[np.datetime64]
    first: int
    step_h: float
    outside: Outside
    unknown: BoolArray
    start: SpaceState
    routine_c: FloatArray
    out_of_order: BoolArray
    power_w: float
    moisture_kg_h: FloatArray | float
    notes: tuple[Finding, ...]
    heater: HeaterModel | None = None
    dehumidifier: Dehumidifier | None = None
    may_run: BoolArray | None = None
    unflued: bool = False
    rows: IntArray | None = None
    stands: AsItStands | None = None
    vents: FloatArray | None = None

    @property
    def own_air_h(self) -> FloatArray | None:
        """Air changes (1, T) with the vents as the log has them; None: as described [1/h]."""
        return None if self.vents is None else self.model.air_changes_h * self.vents[np.newaxis]

    @property
    def members(self) -> int:
        """Number of members of the weather."""
        return int(self.outside.temp_c.shape[0])

    @property
    def points(self) -> int:
        """Number of grid points T."""
        return len(self.times)

    def vents_allowed(self, states: Sequence[Ventilation]) -> list[Ventilation]:
        """States of the vents its heater may be alight with: never shut without a flue."""
        return [state for state in states if not self.unflued or state != "closed"]

    def run_allowed(self, light: IntArray, end: IntArray) -> BoolArray:
        """True where its heater may be alight from one grid point to another, broadcast."""
        if self.may_run is None:
            return np.ones(np.broadcast_shapes(np.shape(light), np.shape(end)), np.bool_)
        allowed: BoolArray = next_bad(~self.may_run)[np.minimum(light, self.points - 1)] > end
        return allowed

    def panel_index(self, name: str) -> int:
        """Place of a panel in the model."""
        return [panel.name for panel in self.model.panels].index(name)


def sliced(outside: Outside, cut: slice, rows: slice | IntArray = slice(None)) -> Outside:
    def part(values: FloatArray) -> FloatArray:
        array = np.asarray(values, dtype=np.float64)
        return array[rows, cut] if array.ndim == 2 else array

    return Outside(
        temp_c=part(outside.temp_c),
        vapour_pa=part(outside.vapour_pa),
        wind_ms=part(outside.wind_ms),
        sun_w_m2=part(outside.sun_w_m2),
        sky_loss_w_m2=part(outside.sky_loss_w_m2),
        water_c=None if outside.water_c is None else part(outside.water_c),
        neighbour_c={name: part(values) for name, values in outside.neighbour_c.items()},
    )


def of_member(room: Room, member: int) -> Room:
    """The room in one member of the weather."""
    return of_rows(room, slice(member, member + 1))


def of_rows(room: Room, rows: slice | IntArray) -> Room:
    """The room in some members of the weather, each as often as it is named."""
    return replace(
        room,
        outside=sliced(room.outside, slice(None), rows),
        unknown=room.unknown[rows],
        start=rows_of(room.start, rows),
        rows=None if room.rows is None else room.rows[rows],
    )


def rows_of(state: SpaceState, rows: slice | IntArray) -> SpaceState:
    """Some members of a state."""
    picked: dict[str, Any] = {}
    for part in fields(state):
        value = getattr(state, part.name)
        by_panel = part.name.endswith("_kg_m2")  # (P, M)
        picked[part.name] = value if value is None else value[:, rows] if by_panel else value[rows]
    return replace(state, **picked)


def states_at(result: SpaceResult, index: IntArray, rows: IntArray) -> SpaceState:
    """States of rows of a run, each at a grid point of its own, shape (C,)."""
    return SpaceState(
        nodes_c=result.nodes_c[index, rows],
        vapour_pa=result.vapour_pa[rows, index],
        buffer_rh_pct=result.buffer_rh_pct[rows, index],
        condensate_kg_m2=result.condensate_kg_m2[:, rows, index],
        frost_kg_m2=result.frost_kg_m2[:, rows, index],
    )


def warm(room: Room) -> Room:
    """The room with its heater warm already: for runs that go on where one has been lit."""
    if room.heater is None or room.heater.warm_up_h == 0.0:
        return room
    return replace(room, heater=replace(room.heater, warm_up_h=0.0))


def going_on(room: Room, result: SpaceResult, index: int, rows: IntArray, points: int) -> Room:
    """The room from a grid point on, as some rows of a run have it, for so many points."""
    cut = slice(index, min(index + points, room.points))
    return replace(
        room,
        first=room.first + index,
        times=room.times[cut],
        outside=sliced(room.outside, cut),
        unknown=room.unknown[:, cut],
        routine_c=room.routine_c[cut],
        out_of_order=room.out_of_order[cut],
        moisture_kg_h=_of_time(room.moisture_kg_h, cut),
        may_run=None if room.may_run is None else room.may_run[cut],
        vents=None if room.vents is None else room.vents[cut],
        start=rows_of(result.state_at(index), rows),
    )


def up_to(room: Room, points: int) -> Room:
    """The room for only so many grid points."""
    cut = slice(0, min(points, room.points))
    return replace(
        room,
        times=room.times[cut],
        outside=sliced(room.outside, cut),
        unknown=room.unknown[:, cut],
        routine_c=room.routine_c[cut],
        out_of_order=room.out_of_order[cut],
        moisture_kg_h=_of_time(room.moisture_kg_h, cut),
        may_run=None if room.may_run is None else room.may_run[cut],
        vents=None if room.vents is None else room.vents[cut],
    )


def _of_time(values: FloatArray | float, cut: slice) -> FloatArray | float:
    return values[cut] if isinstance(values, np.ndarray) else values


def rebuilt(
    room: Room,
    model: SpaceModel,
    air_c: npt.ArrayLike,
    rh_pct: npt.ArrayLike,
    beside: dict[str, FloatArray] | None = None,
) -> Room:
    """The room with another model, its air as it is now and all else settled around it."""
    outside = room.outside
    if beside:
        outside = replace(outside, neighbour_c={**outside.neighbour_c, **beside})
    start = start_from_reading(
        model, outside, air_c, rh_pct, members=room.members, hours=12.0, step_h=room.step_h
    )
    return replace(room, model=model, outside=outside, start=start)


def heated(
    room: Room,
    setpoint_c: npt.ArrayLike,
    *,
    power_w: npt.ArrayLike | None = None,
    air_changes_h: npt.ArrayLike | None = None,
    moisture_kg_h: npt.ArrayLike = 0.0,
) -> SpaceResult:
    """Run a room, one row a candidate or a member of the weather.

    Parameters
    ----------
    room : Room
    setpoint_c : array_like, broadcast to (K, T)
    power_w : array_like, broadcast to (K, T), optional
        The heater's own if not given.
    air_changes_h : array_like, broadcast to (K, T), optional
        The space's own if not given.
    moisture_kg_h : array_like, broadcast to (K, T)
        Besides the space's own.

    Notes
    -----
    A heater stronger than the room's own is one like it; where there is none, one that
    gives dry heat at once.
    """
    power = np.asarray(room.power_w if power_w is None else power_w, dtype=np.float64)
    most = float(power.max(initial=0.0))
    heater = room.heater or HeaterModel(most)
    return simulate(
        room.model,
        room.step_h,
        room.outside,
        room.start,
        setpoint_c=setpoint_c,
        moisture_kg_h=room.moisture_kg_h + np.asarray(moisture_kg_h, dtype=np.float64),
        air_changes_h=air_changes_h,
        heater=replace(heater, most_w=most, least_w=min(heater.least_w, most)),
        cap_w=power,
        dehumidifier=room.dehumidifier,
        losses=False,
    )


def routine_heat_w(room: Room) -> FloatArray:
    """Heat that the usual routine alone gives, shape (M, T) [W].

    Taken from how the room stands, where that is the same run.
    """
    stands = room.stands
    if stands is None or stands.room is None or not _begins_as(room, stands.room):
        return heated(room, room.routine_c, air_changes_h=room.own_air_h).heat_w
    heat: FloatArray = stands.up_to(room.points).heat_w[room.rows, : room.points]
    heat[:, -1] = 0.0  # no step begins there
    return heat


def _begins_as(room: Room, other: Room) -> bool:
    """Is a room some members of another, from the same moment on and in nothing else?"""
    if room.rows is None or room.first != other.first or room.points > other.points:
        return False
    cut = slice(0, room.points)
    same = all(
        getattr(room, name) == getattr(other, name)
        for name in ("model", "step_h", "power_w", "heater", "dehumidifier")
    )
    part = replace(up_to(other, room.points), start=rows_of(other.start, room.rows))
    part = replace(part, outside=sliced(other.outside, cut, room.rows))
    return same and all(
        np.array_equal(one, another, equal_nan=True)
        for one, another in zip(_given(room), _given(part), strict=True)
    )


def _given(room: Room) -> list[npt.NDArray[Any]]:
    """All arrays that a run by the routine depends on."""
    state = [getattr(room.start, part.name) for part in fields(room.start)]
    weather = [
        getattr(room.outside, part.name)
        for part in fields(room.outside)
        if part.name != "neighbour_c"
    ]
    beside = [room.outside.neighbour_c[name] for name in sorted(room.outside.neighbour_c)]
    given = [*state, *weather, *beside, room.routine_c, room.moisture_kg_h, room.vents]
    return [np.asarray(np.nan if value is None else value) for value in given]


def member_to_plan_for(forecast_temp_c: FloatArray, share: float = SHARE_OF_MEMBERS) -> int:
    """The coldest member of the weather, on the mean, of those that a plan has to hold in.

    A plan holds where a share of the members keeps it; the few that are colder than all of
    these may fail. Of one member, or few, it is the coldest.
    """
    means = np.nanmean(forecast_temp_c, axis=1)
    spare = int(np.floor((1.0 - share) * len(means) + 1e-9))
    return int(np.argsort(means, kind="stable")[spare])
