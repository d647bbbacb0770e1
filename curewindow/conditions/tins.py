"""Tins followed from where they are kept to where they are worked with."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.checks import OUTDOORS
from curewindow.boat.hours import hours_mask
from curewindow.boat.schema import Boat
from curewindow.boat.service import DECK, HOME, Tin
from curewindow.conditions.course import SpaceConditions, utc64
from curewindow.physics.tin import lagged, time_constant_h
from curewindow.rules.tins import CARRIED_H, HOME_C
from curewindow.series import BoolArray, FloatArray, IntArray, TinAsked, TinFetch

_LEAST_L, _MOST_L = 0.02, 200.0


@dataclass(frozen=True, slots=True, eq=False)
class _Followed:
    """One tin.

    Attributes
    ----------
    lags_h : float
        Its time constant.
    standing_c : ndarray, shape (M, T)
        Where it is kept, and brought to the work at the first chance.
    brought : int
        Grid point from which on it stands where the work is.
    arrives_c : ndarray, shape (M, T) or None
        Brought to the work just then; NaN where it is there already, None: throughout.
    """

    lags_h: float
    standing_c: FloatArray
    brought: int
    arrives_c: FloatArray | None


@dataclass(frozen=True, slots=True, eq=False)
class TinsKept:
    """Tins as a boat keeps them, to be worked with at one surface.

    A tin takes the temperature of the air it stands in by Newton's law. Kept where the work
    is, as one nobody told anything of counts to be, it has the space's own past in it. Kept
    elsewhere it may be fetched as soon as someone is aboard, and stands by till it is used,
    or may be fetched right before: the warmer of the two counts, unless it is too warm.

    Attributes
    ----------
    times : ndarray of datetime64[s], shape (T,)
    work : str
        The space, or 'outdoors'.
    air_c : ndarray, shape (M, T)
        Where the work is.
    outside_c : ndarray, shape (M, T)
        Without holes.
    spaces : mapping of str to ndarray, shape (M, T)
        Air of each space a tin is kept in.
    tins : sequence of Tin
    usual : str or None
        Where those are kept of which nothing is said.
    fetched : int
        First grid point from now on at which someone is aboard.
    aboard : ndarray of bool, shape (T,)
        From now on someone is.
    zone : ZoneInfo
    """

    times: NDArray[np.datetime64]
    work: str
    air_c: FloatArray
    outside_c: FloatArray
    spaces: Mapping[str, FloatArray]
    tins: Sequence[Tin]
    usual: str | None
    fetched: int
    aboard: BoolArray
    zone: ZoneInfo
    _known: dict[TinAsked, _Followed] = field(default_factory=dict, repr=False)
    _courses: dict[TinAsked, FloatArray] = field(default_factory=dict, repr=False)
    _lags: dict[float, FloatArray] = field(default_factory=dict, repr=False)

    @property
    def step_h(self) -> float:
        """Grid step in hours."""
        return float((self.times[1] - self.times[0]) / np.timedelta64(1, "s")) / 3600.0

    def place_of(self, sheet: str) -> str | None:
        """Where the tin of a sheet is kept; None: nobody said."""
        tin = self._tin(sheet)
        return (None if tin is None else tin.place) or self.usual

    def lags_h(self, asked: TinAsked) -> float:
        """Its time constant [h]."""
        return self._followed(asked).lags_h

    def course(self, asked: TinAsked) -> FloatArray:
        """A tin as it is worked with, shape (M, T)."""
        if asked not in self._courses:
            followed = self._followed(asked)
            straight = self._straight(asked, followed, None, 0)
            found = _better(followed.standing_c, straight, asked.most_c)
            self._courses[asked] = np.where(np.isnan(self.air_c), np.nan, found)
        return self._courses[asked]

    def in_air(self, asked: TinAsked, air_c: FloatArray, first: int) -> FloatArray:
        """The same in other air from grid point `first` on, shape (K, P), as `air_c` is.

        Where K is not M, the first member stands for all.
        """
        standing = self._stood_by(asked, air_c, first)
        followed = self._followed(asked)
        return _better(standing, self._straight(asked, followed, air_c, first), asked.most_c)

    def begun_in(self, asked: TinAsked, air_c: FloatArray, first: int) -> FloatArray:
        """The tin at the first stroke of starts in that other air, shape (K, P)."""
        standing = self._stood_by(asked, air_c, first)
        arrives = self._followed(asked).arrives_c
        if arrives is not None:
            arrives = _of_rows(arrives, len(air_c))[:, first : first + air_c.shape[1]]
        return _better(standing, arrives, asked.most_c)

    def _stood_by(self, asked: TinAsked, air_c: FloatArray, first: int) -> FloatArray:
        followed = self._followed(asked)
        rows = len(air_c)
        last = first + air_c.shape[1]
        stood = _of_rows(followed.standing_c, rows)[:, first:last]
        begin = min(max(followed.brought - first, 0), air_c.shape[1] - 1)
        standing = np.empty(air_c.shape)
        standing[:, :begin] = stood[:, :begin]
        standing[:, begin:] = lagged(
            air_c[:, begin:], stood[:, begin], self.step_h, followed.lags_h
        )
        return standing

    def begun_with(self, asked: TinAsked, rows: IntArray, index: IntArray) -> FloatArray:
        """The tin at the first stroke of starts, each in a member of its own, shape (C,)."""
        followed = self._followed(asked)
        index = np.minimum(index, len(self.times) - 1)
        standing = followed.standing_c[rows, index]
        if followed.arrives_c is None:
            return standing
        return _better(standing, followed.arrives_c[rows, index], asked.most_c)

    def fetch(
        self, asked: TinAsked, least_c: float, air_c: FloatArray, first: int, span: tuple[int, int]
    ) -> TinFetch | None:
        """How a tin kept elsewhere comes to a start warm enough, in the middle member.

        Parameters
        ----------
        asked : TinAsked
        least_c : float
            The least it may have.
        air_c : ndarray, shape (K, P)
            Where the work is, from grid point `first` on.
        first : int
        span : tuple of int
            Start and end of the work, points of `air_c`.

        Returns
        -------
        TinFetch or None
            The latest time to fetch it; None: it stands where the work is, or is warm enough
            from anywhere at any time.
        """
        followed = self._followed(asked)
        place = self.place_of(asked.sheet)
        if followed.arrives_c is None:
            return None
        start, end = span
        air = np.nanmedian(air_c, axis=0)[None, :]
        known = np.flatnonzero(np.isnan(air[0]))
        air = air[:, : int(known[0]) if known.size else None]
        arrives = np.nanmedian(followed.arrives_c, axis=0)[first : first + air.shape[1]]
        if end >= air.shape[1] or np.isnan(arrives[start]):
            return None
        begin = max(self.fetched - first, 0)
        for at in (start, *range(start - 1, begin - 1, -1)):
            if at < start and not self.aboard[first + at]:
                continue
            course = self._lag(air[:, at:], arrives[at : at + 1], followed.lags_h)[0]
            if (course[start - at : end - at + 1] < least_c).any():
                continue
            if at == start and place != HOME:
                return None
            cold = np.flatnonzero(course[start - at :] < least_c)
            points = int(cold[0]) if cold.size else len(course) - (start - at)
            return TinFetch(first + at, place, float(arrives[at]), points * self.step_h)
        return None

    def carried_c(self, asked: TinAsked, at: int) -> FloatArray:
        """One carried aboard from a warm home at a grid point, in each member, shape (M,)."""
        carried: FloatArray = self._carried(len(self.air_c), self.lags_h(asked))[:, at]
        return carried

    def of_rows(self, rows: slice) -> TinsKept:
        """The same in some of the members."""
        return replace(
            self,
            air_c=self.air_c[rows],
            outside_c=_some(self.outside_c, rows),
            spaces={name: _some(air, rows) for name, air in self.spaces.items()},
            _known={},
            _courses={},
            _lags={},
        )

    def _tin(self, sheet: str) -> Tin | None:
        listed = [tin for tin in self.tins if tin.sheet == sheet and not tin.used_up]
        return next((tin for tin in listed if tin.place is not None), next(iter(listed), None))

    def _filled(self) -> FloatArray:
        """Air where the work is; where nobody knows it, as outdoors: a cold boat."""
        return np.where(np.isnan(self.air_c), _like(self.outside_c, len(self.air_c)), self.air_c)

    def _followed(self, asked: TinAsked) -> _Followed:
        if asked not in self._known:
            self._known[asked] = self._follow(asked)
        return self._known[asked]

    def _follow(self, asked: TinAsked) -> _Followed:
        tin = self._tin(asked.sheet)
        size = asked.litres if tin is None or tin.size is None else tin.size
        lags_h = time_constant_h(min(max(size, _LEAST_L), _MOST_L), asked.capacity_kj_l)
        place = self.place_of(asked.sheet)
        work = self._filled()
        rows = len(work)
        here = place is None or place == self.work or (place == DECK and self.work == OUTDOORS)
        carried = self._carried(rows, lags_h)
        comes = self._comes(tin)
        if here:
            if not comes:
                return _Followed(lags_h, self._here(lags_h), 0, None)
            standing = np.full(work.shape, HOME_C)
            standing[:, comes:] = self._lag(work[:, comes:], carried[:, comes], lags_h)
            arrives = carried.copy()
            arrives[:, comes + 1 :] = np.nan
            return _Followed(lags_h, standing, comes, arrives)
        if place == HOME:
            kept, arrives = np.full(work.shape, HOME_C), carried
        else:
            assert place is not None
            away = _like(self.spaces.get(place, self.outside_c), rows)
            kept = np.full(work.shape, HOME_C)
            kept[:, comes:] = self._lag(
                away[:, comes:], carried[:, comes] if comes else away[:, 0], lags_h
            )
            arrives = kept.copy()
            arrives[:, :comes] = carried[:, :comes]
        # What has been: when it was fetched nobody knows; as if it had stood by for long.
        standing = self._here(lags_h).copy()
        standing[:, self.fetched :] = self._lag(
            work[:, self.fetched :], arrives[:, self.fetched], lags_h
        )
        return _Followed(lags_h, standing, self.fetched, arrives)

    def _comes(self, tin: Tin | None) -> int:
        """Grid point at which it comes aboard; 0: it is there."""
        if tin is None or tin.aboard is None:
            return 0
        at = tin.aboard if tin.aboard.tzinfo else tin.aboard.replace(tzinfo=self.zone)
        index = int(np.searchsorted(self.times, utc64(at.astimezone(UTC))))
        return min(index, len(self.times) - 1)

    def _carried(self, rows: int, lags_h: float) -> FloatArray:
        """From home, through the open."""
        outside = _like(self.outside_c, rows)
        carried: FloatArray = outside + (HOME_C - outside) * np.exp(-CARRIED_H / lags_h)
        return carried

    def _here(self, lags_h: float) -> FloatArray:
        """One that has stood for long where the work is."""
        if lags_h not in self._lags:
            work = self._filled()
            self._lags[lags_h] = self._lag(work, work[:, 0], lags_h)
        return self._lags[lags_h]

    def _lag(self, air: FloatArray, start: FloatArray, lags_h: float) -> FloatArray:
        return lagged(air, start, self.step_h, lags_h)

    def _straight(
        self, asked: TinAsked, followed: _Followed, air: FloatArray | None, first: int
    ) -> FloatArray | None:
        """Fetched right before the start that ends at each point: out for all of its work.

        In other air from grid point `first` on; None: in that of the work itself.
        """
        if followed.arrives_c is None:
            return None
        if air is None:
            lag = self._here(followed.lags_h)
        else:
            lag = self._lag(air, air[:, 0], followed.lags_h)
        points = lag.shape[1]
        arrives = _of_rows(followed.arrives_c, len(lag))[:, first : first + points]
        out = np.minimum(np.arange(points), int(np.ceil(asked.hands_h / self.step_h - 1e-9)))
        since = np.arange(points) - out
        kept = np.exp(-out * self.step_h / followed.lags_h)
        return lag + kept * (arrives[:, since] - lag[:, since])


def tins_kept(
    boat: Boat,
    work: str,
    times: NDArray[np.datetime64],
    air_c: FloatArray,
    outside_c: FloatArray,
    spaces: Mapping[str, SpaceConditions],
    now: datetime,
) -> TinsKept:
    """The tins of a boat, to be worked with in a space or outdoors.

    Parameters
    ----------
    boat : Boat
    work : str
        The space, or 'outdoors'.
    times : ndarray of datetime64[s], shape (T,)
    air_c : ndarray, shape (M, T)
        Where the work is.
    outside_c : ndarray, shape (M or less, T)
        Outdoors.
    spaces : mapping of str to SpaceConditions
        Those worked out already; a tin in another counts to be outdoors.
    now : datetime
        Aware.
    """
    outside = _without_holes(outside_c)
    kept_in = {tin.place for tin in boat.tin} | {boat.tins_kept}
    away = {
        name: _without_holes(
            np.where(np.isnan(known.air_c), _like(outside, len(known.air_c)), known.air_c)
        )
        for name, known in spaces.items()
        if name in kept_in and name != work
    }
    aboard = (times >= utc64(now)) & hours_mask(boat, times) if kept_in - {None} else times < times
    fetched = int(np.argmax(aboard)) if aboard.any() else len(times) - 1
    return TinsKept(
        times=times,
        work=work,
        air_c=air_c,
        outside_c=outside,
        spaces=away,
        tins=boat.tin,
        usual=boat.tins_kept,
        fetched=fetched,
        aboard=aboard,
        zone=ZoneInfo(boat.place.time_zone),
    )


def _better(standing: FloatArray, straight: FloatArray | None, most_c: float | None) -> FloatArray:
    """Of two ways to have it the warmer, or the cooler where that is too warm."""
    if straight is None:
        return standing
    warm = np.fmax(standing, straight)
    return warm if most_c is None else np.where(warm <= most_c, warm, np.fmin(standing, straight))


def _some(values: FloatArray, rows: slice) -> FloatArray:
    return values[rows] if len(values) > 1 else values


def _of_rows(values: FloatArray, rows: int) -> FloatArray:
    """As many rows as other air has; of another number the first stands for all."""
    return values if len(values) == rows else np.broadcast_to(values[:1], (rows, values.shape[1]))


def _like(values: FloatArray, rows: int) -> FloatArray:
    """The weather's members as often as they were run."""
    if len(values) == rows:
        return values
    if rows % len(values) == 0:
        return np.tile(values, (rows // len(values), 1))
    return np.broadcast_to(values[:1], (rows, values.shape[1]))


def _without_holes(values: FloatArray) -> FloatArray:
    """What is not known is as it last was known; before that as it first was."""
    if not np.isnan(values).any():
        return values
    points = np.arange(values.shape[1])
    last = np.maximum.accumulate(np.where(np.isnan(values), -1, points), axis=1)
    first = np.argmax(~np.isnan(values), axis=1)[:, None]
    return np.take_along_axis(values, np.where(last < 0, first, last), axis=1)
