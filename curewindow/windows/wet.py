"""Water that has come onto a surface and may still lie there when its air is dry again."""

from __future__ import annotations

import numpy as np

from curewindow.windows.grid import at_index
from curewindow.windows.judge import Verdict
from curewindow.windows.limits import above_dew
from curewindow.windows.words import surface_name
from curewindow.wording import Wording

WET_BY = ("dew or frost on", "rain on")
"""How the notes of :func:`wet_note` begin."""

DRIES_H = 12.0
"""In winter air a film of rain or dew can lie for so long (estimate): 0.1 mm into air that
lacks 100 Pa of saturation, at 7 W/m²K of convection, takes some 7 h by the psychrometric
relation between heat and vapour (WMO-No. 8, annex 4.B)."""


def wet_note(verdict: Verdict, opens: int, words: Wording) -> str:
    """What to say where a surface was wet shortly before a window opens; '' where it was not.

    Parameters
    ----------
    verdict : Verdict
    opens : int
        Grid point.
    words : Wording

    Returns
    -------
    str
        By what most members have; hours nothing is known of say nothing.
    """
    series = verdict.series
    first = max(opens - round(DRIES_H / series.step_h), 0)
    before = slice(first, opens)
    wet = [(WET_BY[0], above_dew(series)[:, before] <= 0.0)]
    if series.outdoors and series.rain_mm_h is not None:
        wet.append((WET_BY[1], series.rain_mm_h[:, before] > 0.0))
    last, what = max(
        ((int(at[-1]), name) for name, mask in wet if (at := _mostly(mask)).size),
        default=(-1, ""),
    )
    if last < 0:
        return ""
    until = words.when(at_index(series, min(first + last + 1, verdict.points - 1)))
    return (
        f"{what} the {surface_name(series)} until about {until}: it may still be wet; wipe it "
        "dry and let it air before anything goes on"
    )


def _mostly(mask: np.ndarray) -> np.ndarray:
    return np.flatnonzero(mask.mean(axis=0) >= 0.5)
