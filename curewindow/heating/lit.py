"""Runs that are lit at a moment of their own: up to there one run as things are serves them all.

A heater run hangs on what the space is like when it is lit, and on nothing it does later. So of
hundreds of runs only the stretch is run from the lighting to as far as somebody asks.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import Any, Final

import numpy as np

from curewindow.curing import IntArray
from curewindow.heating.columns import columns, stretch
from curewindow.heating.evaluate import Candidates, own_air_changes, schedule_c
from curewindow.heating.room import Room, heated, of_rows, states_at, up_to, warm
from curewindow.physics.balance import SpaceResult
from curewindow.series import BoolArray, FloatArray

_AT_ONCE: Final = 256
"""Columns of about one length run at once."""
_BY_ROW: Final = ("air_c", "mass_c", "vapour_pa", "rh_pct", "dew_point_c", "buffer_rh_pct")
_BY_PANEL: Final = ("surface_c", "condensate_kg_m2", "frost_kg_m2")


def run_from_light(
    room: Room,
    ways: Candidates,
    rows: IntArray,
    until: IntArray,
    *,
    power_w: float,
    air_changes_h: FloatArray,
    moisture_kg_h: FloatArray | float = 0.0,
) -> SpaceResult:
    """Run ways to heat, each from its lighting on, with the space as it is before.

    Parameters
    ----------
    room : Room
    ways : Candidates
    rows : ndarray of int, shape (K,)
        Member of the weather of each.
    until : ndarray of int, shape (K,)
        Last grid point that is asked for.
    power_w : float
    air_changes_h, moisture_kg_h : ndarray, broadcast to (K, T), or no longer than asked for
        As their vents have it up to the lighting, nothing given off till then.

    Returns
    -------
    SpaceResult
        As `heated` gives it for the whole of them, but for NaN behind ``until``, where no
        time is asked for, and in what is lost and carried out, (K, last asked for + 1).
    """
    count = len(ways)
    points = min(int(until.max()) + 1, room.points)
    states, at = np.unique(ways.vents, return_inverse=True)
    day = round(24.0 / room.step_h)
    known = min(-(-points // day) * day, room.points)
    as_is = _as_is(room, power_w, tuple(states.tolist()), known)
    row = at.ravel() * room.members + rows
    begin, is_warm = _begins(room, ways.light)
    setpoint = schedule_c(room, ways)
    air = np.broadcast_to(air_changes_h, (count, np.shape(air_changes_h)[-1]))
    wet = np.atleast_2d(np.asarray(moisture_kg_h, dtype=np.float64))
    laid = _Laid(as_is, row, begin, until, points)
    length = np.maximum(until - begin + 1, 2)
    for heater_is_warm in (False, True):
        some = np.flatnonzero(is_warm == heater_is_warm)
        some = some[np.argsort(length[some], kind="stable")]
        here = warm(room) if heater_is_warm else room
        for first in range(0, len(some), _AT_ONCE):
            run = some[first : first + _AT_ONCE]
            long = int(length[run].max())
            part = heated(
                columns(here, begin[run], rows[run], long, states_at(as_is, begin[run], row[run])),
                stretch(setpoint, begin[run], run, long, held=True),
                power_w=power_w,
                air_changes_h=_stretched(air, begin, run, long),
                moisture_kg_h=_stretched(wet, begin, run, long),
            )
            laid.lay(part, run)
    return laid.result()


@lru_cache(maxsize=8)  # a room is itself alone: it is told apart by which one it is
def _as_is(room: Room, power_w: float, vents: tuple[int, ...], points: int) -> SpaceResult:
    """The room with its routine for so many points, all members in each state of the vents."""
    states = np.repeat(np.array(vents, np.int64), room.members)
    short = up_to(room, points)
    return heated(
        of_rows(short, np.tile(np.arange(room.members), len(vents))),
        short.routine_c,
        power_w=power_w,
        air_changes_h=own_air_changes(room, states),
    )


def _stretched(values: FloatArray, begin: IntArray, run: IntArray, points: int) -> FloatArray:
    """Values (K or 1, T or 1) in columns."""
    if values.shape[1] == 1:
        return values if values.shape[0] == 1 else values[run]
    return stretch(values, begin[run], run, points, held=True)


def _begins(room: Room, light: IntArray) -> tuple[IntArray, BoolArray]:
    """Grid point from which each is run, and whether its heater is warm already by then.

    A heater that its routine has alight goes on: where that is longer than it takes to warm
    up, and it needs no thermostat's memory, from the lighting; else from where it was lit.
    """
    steps = np.arange(room.points)
    on = ~np.isnan(room.routine_c)
    lit = steps - 1 - np.maximum.accumulate(np.where(on, -1, steps))
    since = np.where(light > 0, lit[np.maximum(light - 1, 0)] + 1, 0)  # steps alight before
    heater = room.heater
    goes_on = heater is not None and heater.least_w > 0.0
    warm_up = 0.0 if heater is None else heater.warm_up_h
    is_warm = (since > 0) & (since * room.step_h >= warm_up) & (not goes_on)
    begin = np.where(is_warm, light, light - since)
    return begin.astype(np.int64), is_warm


class _Laid:
    """Columns laid on the grid of the room, behind the space as it is."""

    def __init__(
        self, as_is: SpaceResult, row: IntArray, begin: IntArray, until: IntArray, points: int
    ) -> None:
        self._as_is, self._begin, self._until, self._points = as_is, begin, until, points
        behind = np.arange(points) > until[:, None]

        def before(values: FloatArray) -> FloatArray:
            found = np.take(values, row, axis=-2)[..., :points]
            found[..., behind] = np.nan
            return found

        self._found: dict[str, Any] = {
            name: before(getattr(as_is, name)) for name in (*_BY_ROW, *_BY_PANEL, "heat_w")
        }
        self._nodes = as_is.nodes_c[:points, row]

    def lay(self, part: SpaceResult, run: IntArray) -> None:
        """Put a batch of columns in their place."""
        index = self._begin[run][:, None] + np.arange(part.air_c.shape[1])
        inside = (index <= self._until[run][:, None]) & (index < self._points)
        where, column = np.nonzero(inside)
        to, at = run[where], index[inside]
        for name, values in self._found.items():
            values[..., to, at] = getattr(part, name)[..., where, column]
        self._nodes[at, to] = part.nodes_c[column, where]

    def result(self) -> SpaceResult:
        """All of it."""
        found = self._found
        shape = found["air_c"].shape
        panels = len(self._as_is.panel_names)
        nothing = np.broadcast_to(np.nan, shape)
        return replace(
            self._as_is,
            **found,
            nodes_c=self._nodes,
            loss_w=np.broadcast_to(np.nan, (panels + 1, *shape)),
            vented_kg=nothing,
            known=np.isfinite(found["air_c"]) & np.isfinite(found["vapour_pa"]),
            latent_w=np.broadcast_to(np.nan, (panels, *shape)),
            dried_kg=nothing,
            drying_w=nothing,
        )
