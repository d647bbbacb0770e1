"""Until when a tin is good, and how warm it is as it is worked with (`conditions` follows it)."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from typing import Final

from curewindow.boat.amount import water_g_l
from curewindow.boat.service import Tin
from curewindow.physics.tin import heat_capacity_kj_l
from curewindow.series import SurfaceSeries, TinAsked
from curewindow.sheets.schema import Sheet, Storage

HOME_C: Final = 19.0
"""Of a tin kept at home: of 18 to 20 °C in a lived-in room (assumed, and said)."""
CARRIED_H: Final = 1.0 / 3.0
"""So long it is out in the open on its way aboard: common practice, no source."""
USUAL_L: Final = 1.0
_CARTRIDGE_L: Final = 0.3
_USUAL_KG_L: Final = 1.1


def tin_asked(sheet: Sheet, hands_h: float) -> TinAsked:
    """What has to be known of a product to follow its tin."""
    wanted = (sheet.applying.product, sheet.applying.mixed)
    return TinAsked(
        sheet=sheet.file_name,
        litres=_CARTRIDGE_L if sheet.kind == "sealant" else USUAL_L,
        capacity_kj_l=heat_capacity_kj_l(sheet.amounts.density or _USUAL_KG_L, water_g_l(sheet)),
        most_c=min((each.max for each in wanted if each.max is not None), default=None),
        hands_h=hands_h,
    )


def tin_counts(sheet: Sheet) -> bool:
    """Does the sheet ask for anything of the tin or of what comes out of it?"""
    wanted = (sheet.applying.product, sheet.applying.mixed)
    return any(each.min is not None or each.max is not None for each in wanted)


def with_tin(series: SurfaceSeries, sheet: Sheet, hands_h: float) -> SurfaceSeries:
    """The series with the tin of a product followed through it.

    Parameters
    ----------
    series : SurfaceSeries
    sheet : Sheet
    hands_h : float
        Hands-on time [h].

    Returns
    -------
    SurfaceSeries
        As it is where the tin is in it already, or nobody knows where tins are.
    """
    if series.tin_c is not None or series.tins is None:
        return series
    return replace(series, tin_c=series.tins.course(tin_asked(sheet, hands_h)))


_LATEST: Final = date(9000, 1, 1)


def good_until(tin: Tin, storage: Storage) -> date | None:
    """The last day a tin is good; None where neither its dates nor its sheet tell."""
    ends = [
        since + timedelta(hours=life)
        for since, life in (
            (tin.bought, storage.shelf_life),
            (tin.opened, storage.shelf_life_opened),
        )
        if since is not None and life is not None and since < _LATEST
    ]
    return min(ends, default=None)
