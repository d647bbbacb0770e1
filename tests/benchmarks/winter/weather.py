"""Winters of true weather, and the forecasts an owner gets of them each morning.

True weather comes from our own CSV files (two stand in ``data/``), from EnergyPlus files, or is
invented. A winter that runs over New Year in a file of one year goes on with that year's January:
each month is real, the night of New Year is a seam.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from curewindow.weather.epw import laid_on, read_epw
from tests.benchmarks.winter.air import vapour_kg_m3
from tests.benchmarks.winter.cabin import Outside

DATA = Path(__file__).parents[1] / "data"
BEFORE_D, FORECAST_D = 14, 10
COLUMNS = ("temp_c", "dew_point_c", "wind_ms", "rain_mm_h", "cloud_pct", "sun_w_m2")
Floats = NDArray[np.float64]

# Standard deviation of a single high-resolution run against a station, K, by lead time. The first
# two days: published verification October to March, 1.42-1.45 K inland at 24 h, 1.63-1.81 K at
# 48 h; an island harbour has 1.99 K at 24 h. Later ones are estimates, towards the climate's.
_LEAD_H = (0.0, 24.0, 48.0, 72.0, 120.0, 168.0, 240.0)
_ERROR_K = (1.1, 1.43, 1.72, 2.1, 2.9, 3.5, 4.0)
_MEMORY_H = 12.0
_RUN_TO_RUN = 0.7
"""How much of a run's error the next day's run has for the same hour: an estimate."""


@dataclass(frozen=True)
class Winter:
    """A winter's true weather by the hour, and where it was.

    Attributes
    ----------
    name : str
    begin : datetime
        The owner's first day, midnight UTC; weather is known from a fortnight before.
    latitude, longitude : float
    values : dict of str to ndarray
        By column, hourly, from ``begin`` less a fortnight.
    """

    name: str
    begin: datetime
    latitude: float
    longitude: float
    time_zone: str
    values: dict[str, Floats]

    @property
    def first(self) -> datetime:
        return self.begin - timedelta(days=BEFORE_D)

    @property
    def days(self) -> int:
        """Days from ``begin`` for which there is weather and a forecast of ten days."""
        return self.values["temp_c"].size // 24 - BEFORE_D - FORECAST_D

    def outside(self) -> list[Outside]:
        """The weather of every ten minutes from ``first``."""
        hours = np.arange(self.values["temp_c"].size)
        fine = np.arange(hours[-1] * 6 + 1) / 6.0
        at = {name: np.interp(fine, hours, values) for name, values in self.values.items()}
        # the water follows the air of past weeks
        slow = np.empty(hours.size)
        slow[0] = self.values["temp_c"][: 24 * 7].mean() + 1.0
        for hour in range(1, hours.size):
            slow[hour] = slow[hour - 1] + (self.values["temp_c"][hour] - slow[hour - 1]) / 400.0
        water = np.interp(fine, hours, np.maximum(slow, 1.0))
        return [
            Outside(t, vapour_kg_m3(min(d, t), t), w, s, below)
            for t, d, w, s, below in zip(
                at["temp_c"],
                at["dew_point_c"],
                at["wind_ms"],
                at["sun_w_m2"],
                water,
                strict=True,
            )
        ]


def stored() -> list[Path]:
    """The files of true weather that stand here."""
    return sorted(DATA.glob("*.csv"))


_PLACES = {
    "de_bilt_2000": (52.10, 5.18, "Europe/Amsterdam"),
    "new_york_harbour_2013": (40.78, -73.87, "America/New_York"),
}
_STARTS = ((11, 1), (1, 16), (12, 4), (10, 18), (11, 20), (1, 28))


def winters(files: list[Path], count: int) -> list[Winter]:
    """So many winters: of each file the first start, then of each the second, and so on."""
    made = []
    for month, day in _STARTS:
        for path in files:
            if len(made) < count:
                made.append(_of_file(path, month, day))
    return made


def _of_file(path: Path, month: int, day: int) -> Winter:
    if path.suffix.lower() == ".epw":
        year = 2025
        file = read_epw(path)
        begin = datetime(year if month > 6 else year + 1, month, day, tzinfo=UTC)
        first = np.datetime64((begin - timedelta(days=BEFORE_D)).replace(tzinfo=None), "s")
        last = np.datetime64(datetime(year + 1, 4, 29), "s")  # noqa: DTZ001
        rows = laid_on(file, first, last)
        times = rows.times
        got = {
            "temp_c": np.asarray(rows.columns["temp_c"].values, float).ravel(),
            "wind_ms": np.asarray(rows.columns["wind_ms"].values, float).ravel(),
            "cloud_pct": 100.0 * np.asarray(rows.columns["cloud_frac"].values, float).ravel(),
            "sun_w_m2": np.asarray(rows.columns["sun_w_m2"].values, float).ravel(),
            "rain_mm_h": np.asarray(rows.columns["rain_mm_h"].values, float).ravel(),
        }
        vapour = np.asarray(rows.columns["vapour_pa"].values, float).ravel()
        ratio = np.log(np.maximum(vapour, 1.0) / 611.2)
        got["dew_point_c"] = 243.12 * ratio / (17.62 - ratio)
        hours = (times - first).astype("timedelta64[s]").astype(np.int64) / 3600.0
        values = _hourly(hours, got)
        zone = "UTC"
        return Winter(
            f"{path.stem} {month}-{day}", begin, file.latitude, file.longitude, zone, values
        )
    return _of_csv(path, month, day)


def _of_csv(path: Path, month: int, day: int) -> Winter:
    lines = [line for line in path.read_text("utf-8").splitlines() if not line.startswith("#")]
    rows = list(csv.DictReader(lines))
    stamps = [datetime.fromisoformat(row["time"]) for row in rows]
    year = stamps[len(stamps) // 2].year
    begin = datetime(year if month > 6 else year + 1, month, day, tzinfo=UTC)
    first = begin - timedelta(days=BEFORE_D)
    # October to December, then January to April of the same file as if of the year after
    laid = [
        at.replace(year=year + 1) if at.year == year and at.month < 7 and at.day < 30 else at
        for at in stamps
        if (at.month, at.day) != (2, 29)
    ]
    kept = [row for at, row in zip(stamps, rows, strict=True) if (at.month, at.day) != (2, 29)]
    order = sorted(range(len(laid)), key=laid.__getitem__)
    hours = np.array([(laid[i] - first).total_seconds() / 3600.0 for i in order])
    got = {
        name: np.array([float(kept[i][name]) if kept[i][name] else math.nan for i in order])
        for name in COLUMNS
    }
    latitude, longitude, zone = _PLACES.get(path.stem, (52.0, 5.0, "UTC"))
    name = f"{path.stem} {month}-{day}"
    return Winter(name, begin, latitude, longitude, zone, _hourly(hours, got, latitude, first))


def _hourly(
    hours: Floats, got: dict[str, Floats], latitude: float = 52.0, first: datetime | None = None
) -> dict[str, Floats]:
    """Every hour from 0 to the end; small holes are filled, cloud and sun estimated."""
    inside = hours >= 0.0
    grid = np.arange(math.floor(hours[-1]) + 1.0)
    values = {}
    for name, column in got.items():
        good = inside & np.isfinite(column)
        if name in ("cloud_pct", "sun_w_m2") and good.sum() < 0.5 * inside.sum():
            continue
        values[name] = np.interp(grid, hours[good], column[good])
    values["dew_point_c"] = np.minimum(values["dew_point_c"], values["temp_c"])
    if "cloud_pct" not in values:
        damp = values["temp_c"] - values["dew_point_c"]
        values["cloud_pct"] = np.clip(
            110.0 - 9.0 * damp + 100.0 * (values["rain_mm_h"] > 0), 0, 100
        )
    if "sun_w_m2" not in values:
        assert first is not None
        cloud = values["cloud_pct"] / 100.0
        values["sun_w_m2"] = _clear_sky(grid, first, latitude) * (1.0 - 0.75 * cloud**3.4)
    return values


def _clear_sky(hours: Floats, first: datetime, latitude: float) -> Floats:
    """Sun under a clear sky, W/m²: Haurwitz's form, declination by a cosine (both rough)."""
    day = first.timetuple().tm_yday + hours / 24.0
    tilt = np.radians(-23.44 * np.cos(2 * np.pi * (day + 10.0) / 365.0))
    noon = 12.0 if latitude > 48.0 else 17.0
    turned = np.radians(15.0 * (hours % 24.0 - noon))
    here = math.radians(latitude)
    height = np.sin(here) * np.sin(tilt) + np.cos(here) * np.cos(tilt) * np.cos(turned)
    up = np.maximum(height, 1e-3)
    return np.where(height > 0.0, 1098.0 * up * np.exp(-0.057 / up), 0.0)


def invented(number: int, seed: int) -> Winter:
    """A winter nobody measured, for a run without files: spells of days, and a day's course."""
    rng = np.random.default_rng(1000 * seed + number)
    begin = datetime(2025, 11, 1, tzinfo=UTC)
    count = 24 * (BEFORE_D + FORECAST_D + 150)
    hours = np.arange(count)
    day = (begin - timedelta(days=BEFORE_D)).timetuple().tm_yday + hours / 24.0
    spell = _ar1(rng, count, 90.0) * 3.2
    season = 10.0 - 7.0 * np.cos(2 * np.pi * (day - 15) / 365.0)
    cloud = np.clip(70.0 + 35.0 * _ar1(rng, count, 30.0), 0.0, 100.0)
    swing = (0.8 + 2.5 * (1 - cloud / 100.0)) * np.cos(2 * np.pi * (hours % 24 - 14) / 24.0)
    temp = season + spell + swing
    rain = np.where((_ar1(rng, count, 6.0) > 1.3) & (cloud > 60.0), 0.8, 0.0)
    below = np.maximum(0.5, 2.0 + 1.2 * _ar1(rng, count, 24.0) + 0.5 * swing) * (rain == 0) + 0.3
    values = {
        "temp_c": temp,
        "dew_point_c": temp - below,
        "wind_ms": np.abs(4.0 + 2.0 * _ar1(rng, count, 18.0)),
        "rain_mm_h": rain,
        "cloud_pct": cloud,
    }
    first = begin - timedelta(days=BEFORE_D)
    values["sun_w_m2"] = _clear_sky(hours.astype(float), first, 52.0) * (
        1.0 - 0.75 * (cloud / 100.0) ** 3.4
    )
    return Winter(f"invented {number}", begin, 52.0, 5.0, "Europe/Amsterdam", values)


def _ar1(rng: np.random.Generator, count: int, memory_h: float) -> Floats:
    keep = math.exp(-1.0 / memory_h)
    fresh = rng.normal(size=count) * math.sqrt(1.0 - keep**2)
    fresh[0] /= math.sqrt(1.0 - keep**2)
    return np.asarray(lfilter([1.0], [1.0, -keep], fresh))


class Forecaster:
    """Makes the forecast of each morning: the truth with errors that grow with lead time.

    Two runs a day apart share most of what they are wrong by for the same hour, as real ones
    do: else a plan made anew each morning would jump for no reason of weather.
    """

    def __init__(self, winter: Winter, seed: int) -> None:
        self.winter = winter
        rng = np.random.default_rng(seed)
        hours = winter.values["temp_c"].size
        self._runs: list[dict[str, Floats]] = []
        self._rng, self._hours = rng, hours
        self._of: dict[str, Floats] = {}

    def _fields(self, day: int) -> dict[str, Floats]:
        while len(self._runs) <= day:
            fresh = {
                name: _ar1(self._rng, self._hours, _MEMORY_H) for name in ("temp", "dew", "wind")
            }
            fresh["shift"] = _ar1(self._rng, self._hours, 36.0)
            if self._runs:
                keep = _RUN_TO_RUN
                rest = math.sqrt(1.0 - keep**2)
                fresh = {
                    name: keep * self._runs[-1][name] + rest * field
                    for name, field in fresh.items()
                }
            self._runs.append(fresh)
        return self._runs[day]

    def columns(self, now: datetime) -> tuple[int, dict[str, Floats]]:
        """Past hours as they were, then the forecast; and which hour is the first to come."""
        since = (now - self.winter.first).total_seconds() / 3600.0
        ahead = math.ceil(since)
        last = min(ahead + 24 * FORECAST_D, self._hours)
        fields = self._fields(int(since // 24))
        true = self.winter.values
        index = np.arange(last)
        lead = np.maximum(index - since, 0.0)
        coming = index >= ahead
        sigma = np.where(coming, np.interp(lead, _LEAD_H, _ERROR_K), 0.0)
        # a front that comes early or late moves rain, cloud and sun with it: hours, by lead
        late = np.where(coming, fields["shift"][:last] * (0.7 + 0.06 * lead), 0.0)
        moved = np.clip(np.rint(index - late).astype(int), 0, self._hours - 1)
        moved = np.where(coming, np.maximum(moved, 0), index)
        one, other = fields["temp"][:last], fields["dew"][:last]
        temp = true["temp_c"][:last] + sigma * one
        dew = true["dew_point_c"][:last] + sigma * (0.7 * one + math.sqrt(0.51) * other)
        wind = (
            true["wind_ms"][:last]
            + np.where(coming, 1.0 + 0.012 * lead, 0.0) * fields["wind"][:last]
        )
        day_shift = np.rint(late / 24.0).astype(int) * 24
        sunny = np.clip(index - day_shift, 0, self._hours - 1)
        return ahead, {
            "temp_c": temp,
            "dew_point_c": np.minimum(dew, temp - 0.1 * coming),
            "wind_ms": np.maximum(wind, 0.2),
            "rain_mm_h": true["rain_mm_h"][moved],
            "cloud_pct": true["cloud_pct"][moved],
            "sun_w_m2": true["sun_w_m2"][sunny],
        }

    def write(self, path: Path, now: datetime, before_d: int = BEFORE_D) -> None:
        """Write the weather file an owner has that morning: so many days back, ten on."""
        ahead, columns = self.columns(now)
        lines = ["time," + ",".join(COLUMNS)]
        for hour in range(max(0, ahead - 24 * before_d), columns["temp_c"].size):
            at = self.winter.first + timedelta(hours=hour)
            cells = ",".join(f"{columns[name][hour]:.2f}" for name in COLUMNS)
            lines.append(f"{at:%Y-%m-%dT%H:%M}Z,{cells}")
        path.write_text("\n".join(lines) + "\n", "utf-8")
