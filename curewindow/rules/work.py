"""What a kind of work brings along: a film, dust, a dry sky."""

from __future__ import annotations

from typing import Final

import numpy as np

from curewindow.rules.chance import SHARE_OF_MEMBERS, enough
from curewindow.series import BoolArray, SurfaceSeries

WITH_PRODUCT: Final = ("coat", "bond", "seal")
"""Steps that put a product on: they have a sheet, limits and a film."""

MAKES_DUST: Final = ("sand", "prepare")


def dry_overhead(series: SurfaceSeries) -> BoolArray:
    """Grid points without rain in enough members for work with no product, shape (T,).

    Such work is judged by the sky alone; indoors, where no rain is followed, it is dry.
    """
    if series.rain_mm_h is None:
        return np.ones(len(series.times), np.bool_)
    return enough((series.rain_mm_h <= 0.0).mean(axis=0), SHARE_OF_MEMBERS)
