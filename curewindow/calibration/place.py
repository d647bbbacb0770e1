"""What the owner's readings outdoors teach of the place: colder on clear nights, damper, ...

Each reading is held against the newest forecast made within a day before it. Readings of
one half day share its weather and its forecast's error: their mean is one observation of

    off = share_day b_day + share_clear b_clear + share_dull b_dull + error

with the shares of :func:`curewindow.weather.local.shares`. The three values have a common
part and parts of their own, all around nothing (Gaussian priors, estimates); the error's
size is learned along with them, and that half days which follow one another err alike
counts against what is known. So few readings teach little, and say so.

A sensor in the sun must not teach: readings with sun within the hour before are left
out whether they are warm or not, since leaving out the warm ones alone would teach cold.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import timedelta
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curewindow.boat.checks import OUTDOORS
from curewindow.boat.schema import Place
from curewindow.calibration.errors_seen import interpolated
from curewindow.findings import Finding, finding
from curewindow.fitting.data import DRIEST_PCT
from curewindow.fitting.suspects import MOST_ODD, SUN_BEFORE_H, mistaken_degrees
from curewindow.physics.air import dew_point
from curewindow.record.entries import Reading
from curewindow.rules.readings import STUCK_COUNT, STUCK_H, STUCK_K, SUN_W_M2
from curewindow.series import BoolArray, FloatArray
from curewindow.weather.kept_forecasts import KeptForecast
from curewindow.weather.local import TIMES, Difference, PlaceDifference, shares

LOOKS_BACK: Final = timedelta(days=120)
_WITHIN: Final = timedelta(hours=24)
LEAST_SPELLS: Final = 3.0
"""Half days at which a value is told at all."""
MOST_K: Final = 5.0
"""A place farther off than this is more likely a sensor in the wrong place (estimate)."""
_COMMON_K, _OWN_K = 1.2, 1.1  # prior spread of the common part and of each value's own
_ERROR_K, _ERROR_WEIGHT = 1.3, 8.0  # a forecast's error within a day, worth so many half days
_READING_K = 0.5
_ALIKE = 0.4  # correlation of the errors of half days that follow one another
_ODD_SPREADS = 4.5
_ODD_LEAST_K = 4.0
_HALF_DAY_S = 43200


@dataclass(frozen=True, slots=True)
class PlaceLesson:
    """What was learned of the place, from how many readings, and which were left out why."""

    found: PlaceDifference
    readings: int
    left_out: dict[str, int]
    remark: Finding | None = None


@dataclass(frozen=True, slots=True, eq=False)
class _Pairs:
    """Readings beside their forecast: (N,), shares (3, N)."""

    at: NDArray[np.datetime64]
    read_c: FloatArray
    forecast_c: FloatArray
    read_dew_c: FloatArray
    forecast_dew_c: FloatArray
    share: FloatArray
    sun_w_m2: FloatArray

    def picked(self, mask: BoolArray) -> _Pairs:
        return _Pairs(
            self.at[mask],
            self.read_c[mask],
            self.forecast_c[mask],
            self.read_dew_c[mask],
            self.forecast_dew_c[mask],
            self.share[:, mask],
            self.sun_w_m2[mask],
        )


def learn_place(
    place: Place, forecasts: Iterable[KeptForecast], readings: Sequence[Reading]
) -> PlaceLesson | None:
    """Learn what a place is off by from one feed.

    Parameters
    ----------
    place : Place
    forecasts : iterable of KeptForecast
        Of that feed, oldest first, as they came (before any correction).
    readings : sequence of Reading
        All there are; those outdoors are taken.

    Returns
    -------
    PlaceLesson or None
        None where no reading has a forecast beside it.
    """
    pairs = _paired(place, forecasts, readings)
    if pairs is None:
        return None
    left_out: Counter[str] = Counter()
    for why, is_bad in (
        ("sun", _in_the_sun),
        ("wrong degrees", _wrong_degrees),
        ("stuck", _stuck),
        ("odd", _odd),
    ):
        bad = is_bad(pairs)
        left_out[why] += int(bad.sum())
        pairs = pairs.picked(~bad)
    told = {why: count for why, count in left_out.items() if count}
    found, remark = _differences(pairs)
    return PlaceLesson(PlaceDifference(found), int(pairs.at.size), told, remark)


def _paired(
    place: Place, forecasts: Iterable[KeptForecast], readings: Sequence[Reading]
) -> _Pairs | None:
    outdoors = sorted(
        (r for r in readings if r.space == OUTDOORS and r.air_c is not None), key=lambda r: r.at
    )
    if not outdoors:
        return None
    seconds = np.array([int(r.at.timestamp()) for r in outdoors], np.int64)
    air = np.array([r.air_c for r in outdoors], np.float64)
    dew = np.array([_dew_of(r) for r in outdoors], np.float64)
    rows: dict[int, tuple[float, float, float, float]] = {}
    for kept in forecasts:
        made = int(kept.made_at.timestamp())
        first, last = np.searchsorted(seconds, [made, made + int(_WITHIN.total_seconds())])
        if first == last:
            continue
        at = seconds[first:last].astype("datetime64[s]")
        before = (seconds[first:last] - int(SUN_BEFORE_H * 3600)).astype("datetime64[s]")
        means = {name: column.mean(axis=0) for name, column in kept.hours.columns.items()}
        sun = np.nan_to_num(means["sun_w_m2"])
        lit = np.maximum(interpolated(kept, sun, at), interpolated(kept, sun, before))
        values = [
            interpolated(kept, means[name], at) for name in ("temp_c", "dew_point_c", "cloud_frac")
        ]
        for i, row in enumerate(zip(*values, lit, strict=True)):
            rows[int(first) + i] = row  # a newer forecast takes the place of an older one
    which = np.array(sorted(i for i, row in rows.items() if np.isfinite(row[:2]).all()), np.int64)
    if not which.size:
        return None
    table = np.array([rows[int(i)] for i in which])
    at = seconds[which].astype("datetime64[s]")
    return _Pairs(
        at=at,
        read_c=air[which],
        forecast_c=table[:, 0],
        read_dew_c=dew[which],
        forecast_dew_c=table[:, 1],
        share=shares(place, at, table[:, 2]),
        sun_w_m2=table[:, 3],
    )


def _dew_of(reading: Reading) -> float:
    if reading.air_c is None or reading.rh_pct is None or reading.rh_pct < DRIEST_PCT:
        return float("nan")
    return float(dew_point(reading.air_c, min(reading.rh_pct, 100.0)))


def _in_the_sun(pairs: _Pairs) -> BoolArray:
    return pairs.sun_w_m2 >= SUN_W_M2


def _wrong_degrees(pairs: _Pairs) -> BoolArray:
    return np.array(
        [
            mistaken_degrees(read, model) is not None
            for read, model in zip(pairs.read_c.tolist(), pairs.forecast_c.tolist(), strict=True)
        ],
        dtype=np.bool_,
    )


def _stuck(pairs: _Pairs) -> BoolArray:
    """Runs of the same value while the weather cannot have stood still."""
    bad = np.zeros(pairs.at.size, np.bool_)
    hours = pairs.at.astype(np.int64) / 3600.0
    breaks = np.flatnonzero(np.diff(pairs.read_c) != 0.0) + 1
    for run in np.split(np.arange(pairs.at.size), breaks):
        if run.size >= STUCK_COUNT and hours[run[-1]] - hours[run[0]] >= STUCK_H:
            bad[run] = float(np.ptp(pairs.forecast_c[run])) >= STUCK_K
    return bad


def _odd(pairs: _Pairs) -> BoolArray:
    """Readings far from the rest; none where there are too many of them to be exceptions."""
    off = pairs.read_c - pairs.forecast_c
    if off.size < 8:
        return np.abs(off) > 2.0 * MOST_K
    middle = float(np.median(off))
    spread = 1.4826 * float(np.median(np.abs(off - middle)))
    odd = np.abs(off - middle) > max(_ODD_SPREADS * spread, _ODD_LEAST_K)
    return odd if odd.mean() <= MOST_ODD else np.zeros_like(odd)


def _differences(pairs: _Pairs) -> tuple[dict[str, Difference], Finding | None]:
    temp = _fitted(pairs.at, pairs.read_c - pairs.forecast_c, pairs.share)
    dew = _fitted(pairs.at, pairs.read_dew_c - pairs.forecast_dew_c, pairs.share)
    found: dict[str, Difference] = {}
    for number, times in enumerate(TIMES):
        spells = float(temp.spells[number])
        if spells < LEAST_SPELLS:
            continue
        if abs(temp.value[number]) > MOST_K or abs(dew.value[number]) > MOST_K:
            return {}, finding("place too far off", difference_k=MOST_K, state=times)
        found[times] = Difference(
            temp_k=round(float(temp.value[number]), 3),
            temp_doubt_k=round(float(temp.doubt[number]), 3),
            dew_k=round(float(dew.value[number]), 3),
            dew_doubt_k=round(float(dew.doubt[number]), 3),
            readings=int(np.round(pairs.share[number].sum())),
            spells=int(spells),
        )
    return found, None


@dataclass(frozen=True, slots=True, eq=False)
class _Fit:
    value: FloatArray
    doubt: FloatArray
    spells: FloatArray


def _fitted(at: NDArray[np.datetime64], off: FloatArray, share: FloatArray) -> _Fit:
    """Posterior mean and standard deviation of the three values, and half days of each."""
    prior = _COMMON_K**2 * np.ones((3, 3)) + _OWN_K**2 * np.eye(3)
    known = np.isfinite(off)
    if not known.any():
        return _Fit(np.zeros(3), np.sqrt(np.diag(prior)), np.zeros(3))
    at, off, share = at[known], off[known], share[:, known]
    half = (at.astype(np.int64) + _HALF_DAY_S // 2) // _HALF_DAY_S  # 18 to 6, 6 to 18 UTC
    _, index, count = np.unique(half, return_inverse=True, return_counts=True)
    y = np.bincount(index, off) / count
    x = np.stack([np.bincount(index, row) / count for row in share], axis=1)
    error = _ERROR_K**2
    value, covariance = np.zeros(3), prior
    for _ in range(8):  # the error's size and the values, in turn
        weight = 1.0 / (error + _READING_K**2 / count)
        # As many half days as would tell as much if they erred each by itself.
        weight = weight * (1.0 - _ALIKE) / (1.0 + _ALIKE)
        precision = np.asarray(np.linalg.inv(prior), np.float64) + (x.T * weight) @ x
        covariance = np.asarray(np.linalg.inv(precision), np.float64)
        value = covariance @ ((x.T * weight) @ y)
        left = float(np.sum((y - x @ value) ** 2))
        error = (_ERROR_WEIGHT * _ERROR_K**2 + left) / (_ERROR_WEIGHT + y.size)
    return _Fit(value, np.sqrt(np.diag(covariance)), x.sum(axis=0))
