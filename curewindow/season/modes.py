"""The modes of a coat for the season: as things are, and in a space that is kept warm."""

from __future__ import annotations

from dataclasses import replace
from functools import partial

import numpy as np

from curewindow.boat.schema import Job
from curewindow.order.given import Given, WhenAsked
from curewindow.order.heaterruns import LONG_H
from curewindow.order.modes import Modes, lit_before, works
from curewindow.order.tables import CoatMode, stalls
from curewindow.series import FloatArray, SurfaceSeries


class SeasonModes(Modes):
    """As :class:`Modes`, with one run a setpoint instead of one for every day it is lit.

    The conditions are those of a space that has been kept warm for long, and so the heater
    is taken as needed that long before a start (:data:`curewindow.order.heaterruns.LONG_H`): what
    one evening's heat would do already is told later than it need be, nothing sooner. Of
    the made-up list of ``tests/order/boats.py`` the whole then ends within a day of the
    constraint model's order on the plan's own runs, in four winters of six; in one neither
    ends within 120 days, in one only the scheduling does (``benchmarks/bench_season.py
    --exact``). With the twelve hours a plan asks of a heater it was a fortnight too soon.
    """

    def take_from(self, other: SeasonModes, but: str) -> None:
        """Take what another has found of the same year for all jobs but one.

        Parameters
        ----------
        other : SeasonModes
            Of the same conditions, hours and slots.
        but : str
            The job whose conditions are others; '': none.
        """
        self._coats |= {
            key: found for key, found in other._coats.items() if not but or but not in key
        }

    def _find(self, job: Job, number: int, bare_wood: bool) -> tuple[tuple[CoatMode, ...], str]:
        given, slots, step = self.given, self.slots, job.step[number - 1]

        def made(level: float | None, *, hold: bool = False) -> CoatMode:
            found, _ = self._made(
                job, step, bare_wood, level, given.steady, lead_h=LONG_H, hold=hold
            )
            return found if level is None else lit_before(found, slots, LONG_H)

        found = [self._with_routine(job, made(None))]
        levels = sorted(level for name, level in given.steady if name == job.name)
        for level in reversed(levels):  # the cooler one only where the warmest does not do
            found.append(made(level))
            if works(found[-1], slots):
                break
        if levels and stalls(found[1], slots):
            found.append(made(levels[-1], hold=True))
        kept = tuple(each for each in found if each.mode.starts.size)
        return kept, "" if kept else "no start within the whole season"


def of_year(given: Given, row: int) -> Given:
    """What is given in one of the years, which are the members of its conditions."""
    return replace(
        given,
        series={name: _row(each, row) for name, each in given.series.items()},
        warmed={},
        steady=WhenAsked({name: partial(_steady_row, given, name, row) for name in given.steady}),
        wet={},
    )


def _steady_row(given: Given, name: tuple[str, float], row: int) -> SurfaceSeries:
    return _row(given.steady[name], row)


def in_good_weather(given: Given) -> Given:
    """The same work where it is always 20 °C, 50 % and calm, day and night, in and out."""
    return replace(
        given,
        series={name: _good(each) for name, each in given.series.items()},
        warmed={},
        steady={},
        extra_w={},
        wet={},
    )


_ROWS = (
    "air_c",
    "rh_pct",
    "dew_point_c",
    "surface_c",
    "wood_moisture_pct",
    "wind_ms",
    "rain_mm_h",
    "sun_w_m2",
    "lying_kg_m2",
    "tin_c",
)
# Dew point of 20 °C and 50 %: 9.3 °C (any psychrometric chart).
_GOOD = dict(zip(_ROWS, (20.0, 50.0, 9.3, 20.0, 10.0, 1.0, 0.0, 0.0, 0.0, 20.0), strict=True))


def _row(series: SurfaceSeries, row: int) -> SurfaceSeries:
    rows: dict[str, FloatArray] = {}
    for name in _ROWS:
        values = getattr(series, name)
        if values is not None:
            at = row if len(values) > 1 else 0
            rows[name] = values[at : at + 1]
    tins = series.tins and series.tins.of_rows(slice(row, row + 1))
    behind = series.behind and series.behind.of_rows(slice(row, row + 1))
    return replace(series, tins=tins, behind=behind, **rows)  # type: ignore[arg-type]


def _good(series: SurfaceSeries) -> SurfaceSeries:
    shape = (1, series.times.size)
    rows = {
        name: np.full(shape, _GOOD[name])
        for name in _ROWS
        if name == "tin_c" or getattr(series, name) is not None
    }
    return replace(series, behind=None, **rows)  # type: ignore[arg-type]
