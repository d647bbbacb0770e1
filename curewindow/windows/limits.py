"""A sheet's limits held against a surface: one track of margins a limit.

Values run in a straight line between grid points, so does each margin, and a
limit kept at two grid points is kept between them.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from curewindow.rules.asked import Bound, Phase
from curewindow.rules.chance import enough
from curewindow.rules.limits import KINDS, LimitKind
from curewindow.series import FloatArray, SurfaceSeries
from curewindow.sheets.schema import Limits

_BROKEN_AT_ALL = 1e-6
_AS_LIKELY_AS_NOT = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class LimitTrack:
    """One limit over time.

    Attributes
    ----------
    kind : LimitKind
    bound : {'min', 'max'}
    value : ndarray, shape (M, T)
        What is compared; NaN where it is not known.
    limit : float
    margin : ndarray, shape (M, T)
        Positive where kept, negative where broken, NaN where not known.
    phase : {'applying', 'setting'}
    """

    kind: LimitKind
    bound: Bound
    value: FloatArray
    limit: float
    margin: FloatArray
    phase: Phase

    @property
    def name(self) -> str:
        """What is compared, such as 'air temperature'."""
        return self.kind.name

    @property
    def unit(self) -> str:
        """Of value, limit and margin."""
        return self.kind.unit

    def first_break(self, first: int, last: int) -> int | None:
        """First of some points, both ends included, at which it breaks as likely as not.

        That is in half of the members; None where it does so at none.
        """
        share = np.mean(self.margin[:, first : last + 1] < 0.0, axis=0)
        broken = np.flatnonzero(enough(share, _AS_LIKELY_AS_NOT))
        return first + int(broken[0]) if broken.size else None


def limit_tracks(
    series: SurfaceSeries, limits: Limits, phase: Phase, *, bare_wood: bool = False
) -> list[LimitTrack]:
    """Hold the limits of one phase against a surface.

    Parameters
    ----------
    series : SurfaceSeries
    limits : Limits
        ``sheet.applying`` or ``sheet.setting``.
    phase : {'applying', 'setting'}
    bare_wood : bool
        Does the sheet's wood moisture apply?

    Returns
    -------
    list of LimitTrack
        What the sheet asks for and what the trade wants of any, of every kind of limit that
        counts there (:data:`curewindow.rules.limits.KINDS`). One whose quantity the series
        does not have is a track of NaN.
    """
    tracks: list[LimitTrack] = []
    for kind in KINDS:
        asked = kind.form.asks(limits, phase)
        if not asked or not kind.counts(series, phase, bare_wood=bare_wood):
            continue
        known = kind.values(series)
        value = np.full(series.air_c.shape, np.nan) if known is None else known
        for ask in asked:
            margin = value - ask.limit if ask.bound == "min" else ask.limit - value
            if ask.strict:
                # At the bound itself it is broken: no margin is one too few.
                margin = np.where(margin > 0.0, margin, np.minimum(margin, -_BROKEN_AT_ALL))
            tracks.append(LimitTrack(kind, ask.bound, value, ask.limit, margin, phase))
    return tracks
