"""Every possible start of a coat judged at once: does each limit hold for as long as it must?

A coat started at grid point i is applied until the grid point at or after the end
of the hands-on time and sets from then on (the last stroke is the youngest film),
on the slow side of its cure, until the grid point at or after the milestone. Both
ends are rounded outward, so a start is never called good on time it does not have.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from curewindow.curing import CureModel, IntArray
from curewindow.findings import Finding, finding
from curewindow.rules.chance import enough, share_needed
from curewindow.rules.tins import with_tin
from curewindow.series import BoolArray, FloatArray, SurfaceSeries
from curewindow.sheets.schema import Sheet
from curewindow.windows.given_off import GivenOff
from curewindow.windows.grid import first_at_or_after, last_at_or_before, next_bad, span_min
from curewindow.windows.limits import LimitTrack, limit_tracks


@dataclass(frozen=True, slots=True, eq=False)
class Verdict:
    """What was found for every start.

    Attributes
    ----------
    series, sheet, model
        What was judged.
    hands_on_h : float
        Hands-on time [h].
    tracks : tuple of LimitTrack
        The limits, applying before setting.
    apply_end : ndarray of int, shape (T,)
        Grid point at or after the end of the hands-on time; may be T or more.
    setting_end : ndarray of int, shape (M, T)
        Grid point at or after the milestone until which the setting limits hold;
        T where it lies beyond the grid.
    hours_ok, daylight_ok, film_known : ndarray of bool, shapes (T,), (T,), (M, T)
        The masks judged by.
    first, last : int
        Earliest and latest start looked at.
    ok : ndarray of bool, shape (M, T)
        True where a coat may be started at the grid point.
    bare_wood : bool
        The sheet's wood moisture applied.
    given_off : GivenOff or None
        The starts held against what the coat asks for and gives off too; None: it does not
        ask for anything, or nobody can tell.
    mixed : ndarray of int, shape (T,), or None
        Grid point at which the product of each start is mixed; None: at the start.
    mixed_first : int
        Nothing is mixed before it.
    earliest_because, latest_because : Finding
        What bounds the starts.
    """

    series: SurfaceSeries
    sheet: Sheet
    model: CureModel
    hands_on_h: float
    tracks: tuple[LimitTrack, ...]
    apply_end: IntArray
    setting_end: IntArray
    hours_ok: BoolArray
    daylight_ok: BoolArray
    film_known: BoolArray
    first: int
    last: int
    ok: BoolArray
    earliest_because: Finding
    latest_because: Finding
    bare_wood: bool = False
    given_off: GivenOff | None = None
    mixed: IntArray | None = None
    mixed_first: int = 0
    _next_bad: dict[int, IntArray] = field(default_factory=dict, repr=False)

    @property
    def members(self) -> int:
        """Number of ensemble members."""
        return int(self.ok.shape[0])

    @property
    def points(self) -> int:
        """Number of grid points T."""
        return int(self.ok.shape[1])

    def good(self, threshold: float | None = None) -> BoolArray:
        """Grid points at which enough members allow a start to be told, shape (T,).

        Enough is :func:`share_needed` where no `threshold` is given.
        """
        share = self.ok.mean(axis=0)
        needed = share_needed(self.series.lead_h) if threshold is None else threshold
        found: BoolArray = enough(share, needed) & (share > 0.0)
        return found

    def set_by(self, start: int) -> IntArray:
        """Grid point by which a start's film has set in each member, the later of all runs."""
        end = self.setting_end[:, start]
        column = None if self.given_off is None else self.given_off.column(start)
        if self.given_off is None or column is None:
            return end
        return np.maximum(end, self.given_off.end[:, column])

    def span_end(self, track: LimitTrack) -> IntArray:
        """Last grid point at which a limit must hold, for each start; shape (1 or M, T)."""
        return self.apply_end[np.newaxis, :] if track.phase == "applying" else self.setting_end

    def first_bad(self, index: int) -> IntArray:
        """First grid point in each start's span at which limit ``tracks[index]`` does not hold.

        Returns
        -------
        ndarray of int, shape (M, T)
            T where it holds throughout what is known of the span.
        """
        if index not in self._next_bad:
            self._next_bad[index] = next_bad(~(self.tracks[index].margin >= 0.0))
        found = self._next_bad[index]
        within = found <= self.span_end(self.tracks[index])
        return np.where(within, found, self.points)

    def min_margin(self, index: int, starts: IntArray | None = None) -> FloatArray:
        """Smallest margin of limit ``tracks[index]`` in each start's span.

        Parameters
        ----------
        index : int
            Which limit.
        starts : ndarray of int, shape (K,), optional
            Starts asked for; else all.

        Returns
        -------
        ndarray, shape (M, K)
            In the limit's unit; NaN where something in the span is not known, and for
            what is known of it where the span runs beyond the grid.
        """
        track = self.tracks[index]
        begin = np.arange(self.points) if starts is None else starts
        end = np.minimum(self.span_end(track)[:, begin], self.points - 1)
        return span_min(track.margin, begin, end)


def judge(
    series: SurfaceSeries,
    sheet: Sheet,
    hands_on_h: float,
    *,
    hours_ok: BoolArray,
    daylight_ok: BoolArray | None = None,
    bare_wood: bool = False,
    earliest: datetime | None = None,
    latest: datetime | None = None,
    earliest_because: Finding | None = None,
    latest_because: Finding | None = None,
    mixing: IntArray | None = None,
    mixed_from: datetime | None = None,
    model: CureModel | None = None,
) -> Verdict:
    """Judge every grid point as the start of a coat.

    Parameters
    ----------
    series : SurfaceSeries
        Conditions at the surface, (M, T).
    sheet : Sheet
        What goes on.
    hands_on_h : float
        Time from the first to the last stroke [h].
    hours_ok : ndarray of bool, shape (T,)
        True at instants at which someone is aboard, both ends of the hours included
        (as :func:`curewindow.boat.hours.hours_mask`); the hands-on time must fit in.
    daylight_ok : ndarray of bool, shape (T,), optional
        The same for daylight; counts outdoors only.
    bare_wood : bool
        Does the sheet's wood moisture apply?
    earliest, latest : datetime, optional
        Aware; starts outside are not allowed (now, recoat window).
    earliest_because, latest_because : Finding, optional
        Why windows are cut off there; else they are open already, and the recoat interval ends.
    mixing : ndarray of int, shape (T,), optional
        Grid points between mixing and the first stroke at each start: someone has to be
        aboard by then (:func:`curewindow.windows.working.waits_after_mixing`).
    mixed_from : datetime, optional
        Aware; nothing is mixed before.
    model : CureModel, optional
        The product's cure in these conditions, where it is known already.

    Returns
    -------
    Verdict

    Raises
    ------
    SheetError
        The sheet has no times for the milestone until which it sets.
    ValueError
        Hands-on time negative or not finite, or masks of another shape.
    """
    points = len(series.times)
    daylight = np.ones(points, np.bool_)
    if daylight_ok is not None and series.outdoors:
        daylight = np.asarray(daylight_ok, np.bool_)
    hours = np.asarray(hours_ok, np.bool_)
    if hours.shape != (points,) or daylight.shape != (points,):
        raise ValueError(f"masks must have the series' {points} points")
    if not (np.isfinite(hands_on_h) and hands_on_h >= 0.0):
        raise ValueError(f"hands_on_h must be 0 h or more, got {hands_on_h}")

    series = with_tin(series, sheet, hands_on_h)
    model = CureModel(sheet, series) if model is None else model
    tracks = (
        *limit_tracks(series, sheet.applying, "applying", bare_wood=bare_wood),
        *limit_tracks(series, sheet.setting, "setting", bare_wood=bare_wood),
    )
    index = np.arange(points, dtype=np.int64)
    apply_end = index + int(np.ceil(hands_on_h / series.step_h - 1e-9))
    reached = model.milestone_end(sheet.setting.until, apply_end.astype(np.float64), "slow")
    # Beyond the grid is NaN: such a span ends at T, behind the last grid point.
    setting_end = np.where(np.isnan(reached), points, np.ceil(reached)).astype(np.int64)

    known = film_known(series, sheet)
    bad = {"applying": ~known, "setting": ~known}
    for track in tracks:
        bad[track.phase] = bad[track.phase] | ~(track.margin >= 0.0)
    # Someone has to be there to mix, and not before now.
    mixed = index - (np.zeros(points, np.int64) if mixing is None else mixing)
    begin = 0 if mixed_from is None else first_at_or_after(series, mixed_from)
    there = next_bad(~hours)[np.maximum(mixed, 0)] > apply_end
    fits = there & (next_bad(~daylight) > apply_end) & (apply_end < points)
    fits &= mixed >= begin
    first = 0 if earliest is None else first_at_or_after(series, earliest)
    last = points - 1 if latest is None else last_at_or_before(series, latest)
    fits &= (index >= first) & (index <= last)
    ok = (
        fits
        & (next_bad(bad["applying"]) > apply_end)
        # A span that ends at T lies beyond the grid: nothing is greater than T.
        & (next_bad(bad["setting"]) > setting_end)
    )
    return Verdict(
        series=series,
        sheet=sheet,
        model=model,
        hands_on_h=hands_on_h,
        tracks=tracks,
        apply_end=apply_end,
        setting_end=setting_end,
        hours_ok=hours,
        daylight_ok=daylight,
        film_known=known,
        first=first,
        last=last,
        ok=ok,
        earliest_because=earliest_because or finding("open already"),
        latest_because=latest_because or finding("recoat ends"),
        bare_wood=bare_wood,
        mixed=None if mixing is None or not mixing.any() else mixed,
        mixed_first=begin,
    )


def film_known(series: SurfaceSeries, sheet: Sheet) -> BoolArray:
    """True where everything the cure runs by is known."""
    known = np.isfinite(series.surface_c)
    if sheet.chemistry == "waterborne":
        known &= np.isfinite(series.dew_point_c)
    if sheet.chemistry == "moisture curing":
        known &= np.isfinite(series.air_c) & np.isfinite(series.rh_pct)
    if sheet.cure.stops_above_humidity is not None:
        known &= np.isfinite(series.rh_pct)
    return known
