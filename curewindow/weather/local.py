"""What was learned of a place, put on its forecast: 'this valley is colder than the grid says'.

A forecast is of a square some kilometres wide. What the owner's own readings outdoors
showed of the place (:mod:`curewindow.calibration.place`) is added to temperature and
dew point, one value each by day, on clear nights and on dull ones, with a gradual
passage at dawn, dusk and as cloud comes. On the safe side: only values beyond their own
doubt are used, and what would make things look warmer or drier needs more proof.
"""

from __future__ import annotations

import json
import logging
import sqlite3
from dataclasses import asdict, dataclass, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal

import numpy as np

from curewindow.boat.hours import sun_altitude
from curewindow.boat.schema import Boat, Place
from curewindow.findings import Finding, finding
from curewindow.physics.air import dew_point_from_pressure
from curewindow.trust import Trust
from curewindow.weather import kept_file
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import FloatArray, TimeArray
from curewindow.weather.kept_forecasts import is_real, keep, place_key
from curewindow.weather.packed import vapour_of

log = logging.getLogger(__name__)

Times = Literal["by day", "on clear nights", "on dull nights"]
TIMES: tuple[Times, ...] = ("by day", "on clear nights", "on dull nights")
_TWILIGHT_DEG = 6.0
COUNTS_SPREADS, COUNTS_GOOD_SPREADS = 2.0, 3.0
"""Standard errors beyond which a value is used: colder or damper; warmer or drier."""
LEAST_K = 0.3
"""Smaller differences than this are not worth a word (estimate)."""
_DRIEST_PA = 2.0


@dataclass(frozen=True, slots=True)
class Difference:
    """What the place is off by at some times: the place less the grid.

    Attributes
    ----------
    temp_k, temp_doubt_k, dew_k, dew_doubt_k : float
        Of temperature and dew point, each with its standard error, drawn towards none
        where readings are few.
    readings, spells : int
        Readings it rests on, and the separate days or nights they are of.
    """

    temp_k: float
    temp_doubt_k: float
    dew_k: float
    dew_doubt_k: float
    readings: int
    spells: int

    @property
    def used_temp_k(self) -> float:
        """What is added to the temperature."""
        return _used(self.temp_k, self.temp_doubt_k, good_side=1)

    @property
    def used_dew_k(self) -> float:
        """What is added to the dew point."""
        return _used(self.dew_k, self.dew_doubt_k, good_side=-1)


@dataclass(frozen=True, slots=True)
class PlaceDifference:
    """By the names of :data:`TIMES`; where something is not known, there is no entry."""

    parts: dict[str, Difference]

    @property
    def is_used(self) -> bool:
        """Is any of it beyond doubt?"""
        return any(part.used_temp_k or part.used_dew_k for part in self.parts.values())


def _used(value: float, doubt: float, *, good_side: int) -> float:
    needed = COUNTS_GOOD_SPREADS if good_side * value > 0.0 else COUNTS_SPREADS
    return value if abs(value) >= max(needed * doubt, LEAST_K) else 0.0


def shares(place: Place, times: TimeArray, cloud_frac: FloatArray) -> FloatArray:
    """How much each of :data:`TIMES` holds at an instant; they add up to 1.

    Parameters
    ----------
    place : Place
    times : ndarray of datetime64, shape (T,)
    cloud_frac : ndarray, shape (..., T)
        Unknown counts as dull: less is assumed then.

    Returns
    -------
    ndarray, shape (3, ..., T)
        Day and night pass into each other while the sun is within 6° of the horizon.
    """
    altitude = sun_altitude(place.latitude, place.longitude, times)
    day = np.clip(0.5 + altitude / (2.0 * _TWILIGHT_DEG), 0.0, 1.0)
    clear = 1.0 - np.clip(np.nan_to_num(cloud_frac, nan=1.0), 0.0, 1.0)
    night = 1.0 - day
    return np.stack([np.broadcast_to(day, clear.shape), night * clear, night * (1.0 - clear)])


def corrected(forecast: Forecast, place: Place, found: PlaceDifference) -> Forecast:
    """A forecast with what is known of the place put on it, and a note that says so."""
    if not found.is_used:
        return forecast
    weight = shares(place, forecast.times, forecast.cloud_frac)
    temp_k, dew_k = (
        np.array([getattr(found.parts[t], name) if t in found.parts else 0.0 for t in TIMES])
        for name in ("used_temp_k", "used_dew_k")
    )
    temp_c = forecast.temp_c + np.tensordot(temp_k, weight, 1)
    vapour = np.maximum(forecast.vapour_pa, _DRIEST_PA)
    dew_c = np.asarray(dew_point_from_pressure(vapour)) + np.tensordot(dew_k, weight, 1)
    return replace(
        forecast,
        temp_c=temp_c,
        vapour_pa=np.minimum(vapour_of(dew_c), vapour_of(temp_c)),
        notes=(*forecast.notes, as_finding(found)),
    )


def as_finding(found: PlaceDifference) -> Finding:
    """What is put on the forecast."""
    said = []
    for times in TIMES:
        part = found.parts.get(times)
        if part is None:
            continue
        for kind, used, doubt in (
            ("temperature", part.used_temp_k, part.temp_doubt_k),
            ("dew point", part.used_dew_k, part.dew_doubt_k),
        ):
            if used:
                said.append(
                    finding(
                        "place difference",
                        state=times,
                        kind_of=kind,
                        difference_k=used,
                        uncertainty_k=2.0 * doubt,
                    )
                )
    readings = sum(part.readings for part in found.parts.values())
    return finding("place corrected", count=readings, because=said)


def as_known_here(boat: Boat, folder: Path, forecast: Forecast, now: datetime) -> Forecast:
    """Keep a forecast just got, and put on it what is known of the place and of its worth.

    Parameters
    ----------
    boat : Boat
    folder : Path
        The boat folder.
    forecast : Forecast
        As it came.
    now : datetime
        Aware. Nothing is kept for a pretended moment.

    Returns
    -------
    Forecast
    """
    choice = boat.weather
    if choice.keep_forecasts and is_real(now):
        keep(folder, boat.place, forecast, made_at(boat, folder, forecast))
    kind_of_place, trust = learned(folder, boat.place, forecast.source)
    if choice.local_correction and kind_of_place is not None:
        forecast = corrected(forecast, boat.place, kind_of_place)
    if trust is not None:
        forecast = replace(forecast, trust=trust, notes=(*forecast.notes, trust_finding(trust)))
    return forecast


def trust_finding(trust: Trust) -> Finding:
    """What is done to a stated confidence."""
    return finding(
        "confidence corrected",
        count=trust.cases,
        days=trust.days,
        chance=0.9,
        other_chance=trust.corrected(0.9, 24.0),
    )


def made_at(boat: Boat, folder: Path, forecast: Forecast) -> datetime:
    """When a forecast was made or got; a file's when it was last written."""
    if boat.weather.feed == "file" and boat.weather.file:
        try:
            written = (folder / boat.weather.file).stat().st_mtime
        except OSError:
            return forecast.fetched_at
        return min(datetime.fromtimestamp(written, UTC), forecast.fetched_at)
    return forecast.issued_at or forecast.fetched_at


def learned(folder: Path, place: Place, source: str) -> tuple[PlaceDifference | None, Trust | None]:
    """What was learned of a place and of a feed's confidence there; None where nothing was."""
    try:
        with kept_file.to_read(folder) as connection:
            if connection is None:
                return None, None
            rows = connection.execute(
                "SELECT kind, body FROM learned WHERE place = ? AND source = ?",
                (place_key(place), source),
            ).fetchall()
        found = {kind: json.loads(body) for kind, body in rows}
        difference = found.get("place")
        return (
            None
            if difference is None
            else PlaceDifference({t: Difference(**part) for t, part in difference.items()}),
            Trust(**found["trust"]) if "trust" in found else None,
        )
    except (sqlite3.Error, OSError, ValueError, TypeError) as bad:
        log.warning("what was learned in %s is left aside: %s", folder / kept_file.FILE, bad)
        return None, None


def remember(
    connection: sqlite3.Connection,
    place: Place,
    source: str,
    now: datetime,
    what: PlaceDifference | Trust | None,
    kind: Literal["place", "trust"],
) -> None:
    """Write what was learned; None takes away what was learned before."""
    key = (kind, place_key(place), source)
    if what is None:
        connection.execute("DELETE FROM learned WHERE kind = ? AND place = ? AND source = ?", key)
        return
    if isinstance(what, PlaceDifference):
        body = {times: asdict(part) for times, part in what.parts.items()}
    else:
        body = asdict(what)
    connection.execute(
        "INSERT OR REPLACE INTO learned (kind, place, source, at, body) VALUES (?, ?, ?, ?, ?)",
        (*key, int(now.timestamp()), json.dumps(body)),
    )
