"""The weather of past years at the boat's place, each year laid on the days asked about.

From Open-Meteo's archive or from the owner's files (``weather.past`` in boat.toml).
The archive is asked a calendar year at a time, so that the same answers serve
whatever the day; years long past are asked for once and kept. A boat whose weather
comes from a file or by hand asks no network unless told so.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from curewindow.boat.schema import Boat
from curewindow.errors import BoatError, InputFileError, WeatherError
from curewindow.findings import finding
from curewindow.weather.archive import BEHIND, past_weather
from curewindow.weather.cache import Cache, cache_folder
from curewindow.weather.csvfile import read_csv
from curewindow.weather.epw import laid_on, read_epw
from curewindow.weather.forecast import Forecast
from curewindow.weather.grid import STEP_S, Point, RateSpans, TimeArray
from curewindow.weather.rows import Rows, to_forecast

ARCHIVE = "open-meteo"
BEFORE = timedelta(days=14)
"""A cabin's mass, its wood and the water remember about so long."""
AHEAD = timedelta(days=180)
LONGEST = timedelta(days=400)
MOST_YEARS = 60
"""The archive's own analysis begins 1940 (from memory); further back is another climate."""
KNOWN_SHARE = 0.9
"""A year of which less is known is left out."""
_FIELDS = ("temp_c", "vapour_pa", "wind_ms", "rain_mm_h", "cloud_frac", "sun_w_m2")
_STEP = np.timedelta64(STEP_S, "s")


@dataclass(frozen=True, slots=True)
class NotHad:
    """A year, or a file of years, that could not be had, and why."""

    label: str
    why: str

    def __str__(self) -> str:
        return f"{self.label}: {self.why}"


@dataclass(frozen=True, slots=True)
class PastYears:
    """Past years' weather on the calendar of the days asked about.

    Attributes
    ----------
    years : tuple of str
        'what it is' of each member, the youngest first: '2025', '2024-25' where it
        runs over a new year, 'a typical year' for an EPW put together of several.
    weather : Forecast
        One member a year. Its times are those asked about, not those of the past;
        its notes say that it is no forecast.
    missing : tuple of NotHad
        Years that were wanted and could not be had, each with its reason.
    """

    years: tuple[str, ...]
    weather: Forecast
    missing: tuple[NotHad, ...]

    def each(self) -> list[Forecast]:
        """The years one by one, each a forecast of one member."""
        return [
            replace(
                self.weather, **{name: getattr(self.weather, name)[i : i + 1] for name in _FIELDS}
            )
            for i in range(len(self.years))
        ]


def past_years(
    boat: Boat,
    folder: Path,
    years: int,
    *,
    now: datetime,
    until: datetime | None = None,
    before: timedelta = BEFORE,
    cache_dir: Path | None = None,
    refresh: bool = False,
    offline: bool = False,
) -> PastYears:
    """Get the weather of the same days in past years.

    Parameters
    ----------
    boat : Boat
        Its place and choice of weather.
    folder : Path
        The boat folder; files of past years are named relative to it.
    years : int
        How many at most, 1 to 60, the youngest first. Of files as many as they hold.
    now : datetime
        Aware.
    until : datetime, optional
        Aware; to here the years run, else half a year.
    before : timedelta
        They begin so long before `now`.
    cache_dir, refresh, offline
        As for :func:`curewindow.weather.choose.get_forecast`.

    Returns
    -------
    PastYears
        Fewer than `years` where some cannot be had; `missing` says why.

    Raises
    ------
    WeatherError
        None can be had.
    InputFileError
        A file named cannot be used.
    BoatError
        ``weather.past`` names files and the archive.
    ValueError
        `now` or `until` not aware, more than 400 days in all, or `years` not 1 to 60.
    """
    until = now + AHEAD if until is None else until
    if now.tzinfo is None or until.tzinfo is None:
        raise ValueError("now and until must be aware of their time zone")
    begin, end = _moment(now - before), _moment(until)
    if not timedelta(0) < until - now + before <= LONGEST or before < timedelta(0):
        raise ValueError(f"{begin} to {end} are not 1 to {LONGEST.days} days")
    if not 1 <= years <= MOST_YEARS:
        raise ValueError(f"years must be 1 to {MOST_YEARS}, got {years}")
    first = math.ceil(begin.astype(np.int64) / STEP_S) * STEP_S
    times: TimeArray = np.arange(first, end.astype(np.int64) + 1, STEP_S).astype("datetime64[s]")
    source = _source(boat, folder)
    if source == [ARCHIVE]:
        cache = Cache(cache_folder(cache_dir), refresh=refresh, offline=offline)
        got, missing = _of_archive(boat, cache, now, times, years)
    else:
        got, missing = _of_files(boat, folder, source, now, times, years)
    if not got:
        why = "; ".join(dict.fromkeys(each.why for each in missing))
        raise WeatherError(f"no weather of past years: {why or 'the files hold none'}; {_REMEDY}")
    return PastYears(
        tuple(label for label, _ in got), _stacked(times, [one for _, one in got]), missing
    )


_REMEDY = (
    "it can come from files named in boat.toml, such as past = ['2019.epw', 'years.csv'] "
    "under [weather]"
)
Got = list[tuple[str, Forecast]]


def _source(boat: Boat, folder: Path) -> list[str]:
    choice = boat.weather
    if choice.past == [ARCHIVE]:
        return [ARCHIVE]
    if ARCHIVE in choice.past:
        raise BoatError(
            f"names '{ARCHIVE}' and files; past years come from the one or the others",
            file=folder / "boat.toml",
            key="weather.past",
        )
    if choice.past:
        return list(choice.past)
    if choice.feed == "file" and choice.file:
        return [choice.file]
    if choice.feed == "by-hand":
        raise WeatherError(
            "no weather of past years: with feed = 'by-hand' nothing is asked of a network; "
            f"{_REMEDY}, or with past = ['open-meteo'] from its archive"
        )
    return [ARCHIVE]


def _of_archive(
    boat: Boat, cache: Cache, now: datetime, times: TimeArray, years: int
) -> tuple[Got, tuple[NotHad, ...]]:
    latest = (now.astimezone(UTC) - BEHIND).date()
    kept: dict[int, Forecast] = {}
    failure: WeatherError | None = None

    def calendar_year(year: int) -> Forecast:
        nonlocal cache, failure
        if year not in kept:
            # One day over, so that there is no seam at the new year.
            last = min(date(year + 1, 1, 1), _settled(latest))
            try:
                kept[year] = past_weather(
                    boat.place, boat.weather, cache, now, date(year, 1, 1), last
                )
            except WeatherError as bad:
                # One year refused or unreached: what is kept will do, without a call for each.
                cache, failure = replace(cache, offline=True), failure or bad
                raise failure from None
        return kept[year]

    got: Got = []
    missing: list[NotHad] = []
    for back in range(1, MOST_YEARS + 1):
        if len(got) + len(missing) == years:
            break
        span = times - _days_back(now, back)
        begin, end = (_date(span[0]), _date(span[-1]))
        if end > _settled(latest):
            continue  # not past yet; the year before is
        try:
            parts = [calendar_year(year) for year in range(begin.year, end.year + 1)]
        except WeatherError as bad:
            missing.append(NotHad(_label(span), str(bad)))
            continue
        one = _cut(parts, span)
        _add(got, missing, _label(span), one)
    return got, tuple(missing)


def _settled(latest: date) -> date:
    """The end of the last whole month: the same address serves for a month."""
    return latest.replace(day=1) - timedelta(days=1)


def _of_files(
    boat: Boat, folder: Path, names: list[str], now: datetime, times: TimeArray, years: int
) -> tuple[Got, tuple[NotHad, ...]]:
    got: Got = []
    missing: list[NotHad] = []
    for name in names:
        path = folder / name
        ending = path.suffix.lower()
        if ending not in (".csv", ".epw"):
            raise InputFileError(
                f"ending '{path.suffix}' is not known; past years are .epw or .csv files",
                file=path,
            )
        read: Callable[..., tuple[Got, list[NotHad]]] = _of_epw if ending == ".epw" else _of_csv
        try:
            more, less = read(boat, path, now, times)
        except InputFileError:
            raise
        except WeatherError as bad:
            raise InputFileError(str(bad), file=path) from None
        got += more
        missing += less
    # The youngest first, whatever the order of the files; 'a typical year' last.
    got.sort(key=lambda pair: pair[0] if pair[0][:1].isdigit() else "", reverse=True)
    return got[:years], tuple(missing)


def _of_epw(boat: Boat, path: Path, now: datetime, times: TimeArray) -> tuple[Got, list[NotHad]]:
    file = read_epw(path)
    margin = np.timedelta64(1, "D")
    rows = laid_on(file, times[0] - margin, times[-1] + margin)
    got: Got = []
    missing: list[NotHad] = []
    label = str(file.one_year) if file.one_year is not None else "a typical year"
    _add(got, missing, label, _cut([_read(boat, path, rows, now)], times))
    return got, missing


def _of_csv(boat: Boat, path: Path, now: datetime, times: TimeArray) -> tuple[Got, list[NotHad]]:
    rows = read_csv(path)
    got: Got = []
    missing: list[NotHad] = []
    margin = np.timedelta64(1, "D")
    for back in range(1, MOST_YEARS + 1):
        span = times - _days_back(now, back)
        inside = (rows.times >= span[0] - margin) & (rows.times <= span[-1] + margin)
        if int(inside.sum()) < 2:
            if rows.times.max() > span[-1] > span[0] > rows.times.min():
                missing.append(NotHad(_label(span), f"{path.name} has a hole there"))
            continue
        part = _rows_at(rows, inside)
        _add(got, missing, _label(span), _cut([_read(boat, path, part, now)], span))
    if not got and not missing:
        missing.append(
            NotHad(path.name, f"{path.name} does not reach back to these days a year ago")
        )
    return got, missing


def _read(boat: Boat, path: Path, rows: Rows, now: datetime) -> Forecast:
    return to_forecast(rows, source=path.name, attribution="", fetched_at=now, place=boat.place)


def _rows_at(rows: Rows, inside: np.ndarray) -> Rows:
    columns: dict[str, Point | RateSpans] = {}
    for name, column in rows.columns.items():
        values = np.atleast_2d(column.values)[0, inside]  # of several members the first
        columns[name] = (
            RateSpans(values, column.begin_s[inside], column.length_s[inside])
            if isinstance(column, RateSpans)
            else Point(values, column.shift_s)
        )
    return Rows(rows.times[inside], columns)


def _add(got: Got, missing: list[NotHad], label: str, one: Forecast) -> None:
    known = float(np.isfinite(one.temp_c + one.vapour_pa).mean())
    if known >= KNOWN_SHARE:
        got.append((label, one))
    else:
        missing.append(NotHad(label, f"only {100 * known:.0f} % of it is known"))


def _cut(parts: list[Forecast], span: TimeArray) -> Forecast:
    """The weather at the instants of `span`; an instant no part has is unknown."""
    fields: dict[str, Any] = {name: np.full((1, span.size), np.nan) for name in _FIELDS}
    gap_h = np.full(span.size, np.nan)
    for part in parts:
        at = (span - part.times[0]) // _STEP
        have = (at >= 0) & (at < part.times.size)
        for name in _FIELDS:
            values = getattr(part, name)[0, at[have]]
            fields[name][0, have] = np.where(np.isfinite(values), values, fields[name][0, have])
        gap_h[have] = part.gap_h[at[have]]
    return replace(parts[-1], times=span, **fields, gap_h=gap_h)


def _stacked(times: TimeArray, years: list[Forecast]) -> Forecast:
    fields: dict[str, Any] = {
        name: np.concatenate([getattr(one, name) for one in years]) for name in _FIELDS
    }
    first = years[0]
    sources = dict.fromkeys(one.source for one in years)
    return replace(
        first,
        times=times,
        **fields,
        gap_h=np.nanmax(np.stack([np.nan_to_num(one.gap_h) for one in years]), axis=0),
        source=", ".join(sources),
        issued_at=None,
        notes=(finding("past years", count=len(years)),),
    )


def _days_back(now: datetime, back: int) -> np.timedelta64:
    """Whole days to the same day of the year; the 29th of February goes to the 28th."""
    today = now.astimezone(UTC).date()
    day = 28 if (today.month, today.day) == (2, 29) else today.day
    return np.timedelta64((today - date(today.year - back, today.month, day)).days, "D")


def _label(span: TimeArray) -> str:
    first, last = _date(span[0]).year, _date(span[-1]).year
    return str(first) if first == last else f"{first}-{last % 100:02d}"


def _date(moment: np.datetime64) -> date:
    return date.fromisoformat(str(moment.astype("datetime64[D]")))


def _moment(at: datetime) -> np.datetime64:
    return np.datetime64(at.astimezone(UTC).replace(tzinfo=None), "s")


__all__ = ["PastYears", "past_years"]
