"""What is to be done about the tin for a start: bring it in in time, or carry it warm."""

from __future__ import annotations

import numpy as np

from curewindow.boat.service import DECK, HOME
from curewindow.findings import Finding, finding
from curewindow.rules.limits import MIXED, TIN
from curewindow.rules.tins import HOME_C, tin_asked
from curewindow.series import FloatArray, SurfaceSeries, TinsAboard
from curewindow.sheets.schema import Sheet
from curewindow.windows.grid import at_index
from curewindow.windows.judge import Verdict

_OF_THE_TIN = (TIN.name, MIXED.name)


def least_c(sheet: Sheet) -> float | None:
    """The least the tin may have when it is mixed and put on; None: no sheet says."""
    asks = [
        ask.limit
        for kind in (TIN, MIXED)
        for ask in kind.form.asks(sheet.applying, "applying")
        if ask.bound == "min"
    ]
    return max(asks, default=None)


def fetch_findings(
    tins: TinsAboard | None,
    sheet: Sheet,
    hands_h: float,
    series: SurfaceSeries,
    first: int,
    span: tuple[int, int],
) -> list[Finding]:
    """How the tin comes to a start that holds.

    Parameters
    ----------
    tins : TinsAboard or None
    sheet : Sheet
    hands_h : float
    series : SurfaceSeries
        Conditions the start is in.
    first : int
        Grid point of `tins` at which the series begins.
    span : tuple of int
        Start and end of the work, points of the series.
    """
    least = least_c(sheet)
    if tins is None or least is None:
        return []
    air: FloatArray = series.air_c
    found = tins.fetch(tin_asked(sheet, hands_h), least, air, first, span)
    if found is None:
        return []
    if found.at - first == span[0]:
        return [finding("carry tin warm", temp_c=HOME_C, hours=found.lasts_h, known=True)]
    away = found.kept in (HOME, DECK)
    return [
        finding(
            "bring tin in",
            at=at_index(series, found.at - first),
            space=None if away else found.kept,
            state=found.kept if away else None,
        )
    ]


def carry_instead(verdict: Verdict, why: Finding, start: int) -> Finding | None:
    """What helps a tin that is too cold where it is; None where carrying it warm does not."""
    tins, least = verdict.series.tins, least_c(verdict.sheet)
    if why.kind != "limit broken" or why.text("limit") not in _OF_THE_TIN:
        return None
    if tins is None or least is None or why.text("bound") != "min":
        return None
    asked = tin_asked(verdict.sheet, verdict.hands_on_h)
    carried = float(np.median(tins.carried_c(asked, start)))
    air = float(np.median(verdict.series.air_c[:, start]))
    cools = np.exp(-verdict.hands_on_h / tins.lags_h(asked))
    if not air + (carried - air) * cools >= least:
        return None
    return finding("carry tin warm", temp_c=HOME_C)
