"""Weather from our own CSV: written by hand, by a logger, or from another service.

Columns, in any order; the first line names them::

    time         ISO 8601, with an offset ('2025-01-07T06:00+01:00', '…Z'), or without
                 one if the file says its zone
    temp_c       air temperature, °C
    dew_point_c  dew point over water, °C          } one of the two,
    rh_pct       relative humidity over water, %   } or both
    wind_ms      wind at 10 m, m/s                  optional
    rain_mm_h    mean rate from this time to the next row, mm/h   optional
    cloud_pct    cloud cover, %                     optional
    sun_w_m2     global horizontal sunshine, W/m²   optional
    member       a number: which forecast of several the row belongs to   optional

Lines beginning with '#' are remarks, but ``# time_zone: Europe/Amsterdam`` gives
the zone of times without an offset. In the hour that comes twice when the clocks
go back the rows are taken in the order they stand in. An empty cell is missing.
Commas between cells, or semicolons (then a decimal comma may be used).
"""

from __future__ import annotations

import csv
import math
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from curewindow.errors import CsvError, WeatherError
from curewindow.nearest import did_you_mean
from curewindow.weather.grid import LONGEST_HOLE_H, FloatArray, Point, RateSpans
from curewindow.weather.rows import HOUR_S, Rows, checked_times, vapour_of

LIMITS: dict[str, tuple[float, float]] = {
    "temp_c": (-70.0, 60.0),
    "dew_point_c": (-80.0, 40.0),
    "rh_pct": (1.0, 100.0),
    "wind_ms": (0.0, 120.0),
    "rain_mm_h": (0.0, 420.0),
    "cloud_pct": (0.0, 100.0),
    "sun_w_m2": (0.0, 1600.0),
}
_COLUMNS = ("time", *LIMITS, "member")
_ZONE_REMARK = "time_zone:"
_DEW_SLACK_K = 0.5  # temperature and dew point are rounded apart


@dataclass(frozen=True, slots=True)
class _CsvRow:
    moment: datetime
    member: int
    values: dict[str, float]


@dataclass(frozen=True, slots=True, eq=False)
class _CsvColumns:
    """Moments (N,) as datetime64[s] in UTC, members (N,) and values (N,) by column."""

    moments: NDArray[np.datetime64]
    members: NDArray[np.int64]
    values: dict[str, FloatArray]

    @staticmethod
    def of(rows: list[_CsvRow]) -> _CsvColumns:
        names = rows[0].values
        return _CsvColumns(
            np.array([np.datetime64(row.moment.replace(tzinfo=None), "s") for row in rows]),
            np.array([row.member for row in rows], np.int64),
            {name: np.array([row.values[name] for row in rows]) for name in names},
        )


def read_csv(path: Path) -> Rows:
    """Read a weather CSV.

    Parameters
    ----------
    path : Path
        The file.

    Returns
    -------
    Rows
        Members in the order of their numbers.

    Raises
    ------
    CsvError
        With the line and what would be right.
    """
    read = _table(path)
    if read is None:
        raise CsvError("has no rows under its heading", file=path)
    members = np.unique(read.members)
    try:
        checked = np.sort(checked_times(read.moments, longest_days=4000.0))
    except WeatherError as bad:
        raise CsvError(str(bad), file=path) from None
    times = checked[np.append(True, np.diff(checked) > np.timedelta64(0, "s"))]
    row = np.searchsorted(times, read.moments)
    which = np.searchsorted(members, read.members)
    got: dict[str, FloatArray] = {}
    for name, values in read.values.items():
        table = np.full((len(members), times.size), np.nan)
        known = np.isfinite(values)  # a later row wins, but not with an empty cell
        table[which[known], row[known]] = values[known]
        got[name] = table
    temp_c = got["temp_c"]
    columns: dict[str, Point | RateSpans] = {
        "temp_c": Point(temp_c),
        "vapour_pa": Point(vapour_of(temp_c, got.get("dew_point_c"), got.get("rh_pct"))),
    }
    for name in ("wind_ms", "sun_w_m2"):
        if name in got:
            columns[name] = Point(got[name])
    if "cloud_pct" in got:
        columns["cloud_frac"] = Point(got["cloud_pct"] / 100.0)
    if "rain_mm_h" in got:
        seconds = times.astype(np.int64)
        length = np.minimum(np.diff(seconds), int(LONGEST_HOLE_H * HOUR_S))
        columns["rain_mm_h"] = RateSpans(
            got["rain_mm_h"], np.zeros_like(seconds), np.append(length, length[-1])
        )
    return Rows(times, columns)


def _table(path: Path) -> _CsvColumns | None:
    """What stands in the file; None: nothing but its heading."""
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise CsvError("there is no such file", file=path) from None
    except UnicodeDecodeError as bad:
        raise CsvError(f"not UTF-8 text (byte {bad.start}); save it as UTF-8", file=path) from None
    except OSError as bad:
        raise CsvError(f"cannot be read: {bad.strerror}", file=path) from None
    zone: ZoneInfo | None = None
    numbered: list[tuple[int, str]] = []
    for number, line in enumerate(text.splitlines(), start=1):
        if line.lstrip().startswith("#"):
            remark = line.lstrip(" #").strip()
            if remark.lower().startswith(_ZONE_REMARK):
                zone = _zone(path, number, remark[len(_ZONE_REMARK) :].strip())
        elif line.strip():
            numbered.append((number, line))
    if not numbered:
        raise CsvError(f"is empty; the first line names the columns: {_known()}", file=path)
    heading = numbered[0][1]
    semicolons = ";" in heading
    names = _names(path, numbered[0][0], heading, ";" if semicolons else ",")
    if len(numbered) == 1:
        return None
    plain = None if '"' in text else _plain(names, [line for _, line in numbered[1:]], semicolons)
    if plain is not None:
        return plain
    return _CsvColumns.of(list(_lines(path, names, numbered[1:], semicolons, zone)))


def _plain(names: list[str], lines: list[str], semicolons: bool) -> _CsvColumns | None:
    """Column by column, where nothing has to be said of any line; else None.

    Years of hours are read so in a fifth of the time; whatever is unusual or wrong is left
    to :func:`_lines`, which names its line.
    """
    rows = [line.split(";" if semicolons else ",") for line in lines]
    if any(len(row) != len(names) for row in rows):
        return None
    cells = dict(zip(names, zip(*rows, strict=True), strict=True))
    try:
        moments = [datetime.fromisoformat(cell.strip()) for cell in cells["time"]]
        members = [int(cell) if cell.strip() else 0 for cell in cells.get("member", ())]
        values = {name: _numbers(cells[name], semicolons) for name in names if name in LIMITS}
    except ValueError:
        return None
    if any(moment.tzinfo is None for moment in moments):
        return None
    for name, column in values.items():
        low, high = LIMITS[name]
        if not np.all(np.isnan(column) | ((column >= low) & (column <= high))):
            return None
    if "dew_point_c" in values and np.any(values["dew_point_c"] - values["temp_c"] > _DEW_SLACK_K):
        return None
    seconds = np.floor([moment.timestamp() for moment in moments]).astype(np.int64)
    return _CsvColumns(
        seconds.astype("datetime64[s]"), np.array(members or [0] * len(rows), np.int64), values
    )


def _numbers(cells: tuple[str, ...], decimal_comma: bool) -> FloatArray:
    """NaN for an empty cell; what is typed as 'nan' is no number.

    Raises
    ------
    ValueError
        A cell is not a number.
    """
    if decimal_comma:
        cells = tuple(cell.replace(",", ".") for cell in cells)
    try:
        found = np.array(list(map(float, cells)))
    except ValueError:
        found = np.array([float(cell) if cell.strip() else math.nan for cell in cells])
    unknown = np.isnan(found)
    if unknown.any() and any(cells[n].strip() for n in np.flatnonzero(unknown).tolist()):
        raise ValueError
    return found


def _names(path: Path, number: int, heading: str, delimiter: str) -> list[str]:
    names = [cell.strip() for cell in next(csv.reader([heading], delimiter=delimiter))]
    where = f"line {number}"
    for name in names:
        if name not in _COLUMNS:
            hint = did_you_mean(name.lower(), _COLUMNS) or f"known: {_known()}"
            raise CsvError(f"unknown column '{name}'; {hint}", file=path, key=where)
        if names.count(name) > 1:
            raise CsvError(f"column '{name}' stands there twice", file=path, key=where)
    for needed in ("time", "temp_c"):
        if needed not in names:
            raise CsvError(f"column '{needed}' is missing", file=path, key=where)
    if "dew_point_c" not in names and "rh_pct" not in names:
        raise CsvError("column 'dew_point_c' or 'rh_pct' is missing", file=path, key=where)
    return names


def _lines(
    path: Path,
    names: list[str],
    numbered: list[tuple[int, str]],
    semicolons: bool,
    zone: ZoneInfo | None,
) -> Iterator[_CsvRow]:
    latest: dict[int, datetime] = {}
    for number, line in numbered:
        where = f"line {number}"
        try:
            cells = next(csv.reader([line], delimiter=";" if semicolons else ","))
        except csv.Error as bad:
            raise CsvError(str(bad), file=path, key=where) from None
        if len(cells) != len(names):
            raise CsvError(f"has {len(cells)} cells, not {len(names)}", file=path, key=where)
        raw = {name: cell.strip() for name, cell in zip(names, cells, strict=True)}
        member = _member(path, where, raw.get("member", ""))
        moment = _moment(path, where, raw["time"], zone, latest.get(member))
        latest[member] = moment
        values = {
            name: _value(path, where, name, raw[name], semicolons)
            for name in names
            if name in LIMITS
        }
        over = values.get("dew_point_c", math.nan) - values["temp_c"]
        if over > _DEW_SLACK_K:
            raise CsvError(
                f"dew_point_c {values['dew_point_c']:g} is above temp_c {values['temp_c']:g}",
                file=path,
                key=where,
            )
        yield _CsvRow(moment.astimezone(UTC), member, values)


def _value(path: Path, where: str, name: str, cell: str, decimal_comma: bool) -> float:
    if not cell:
        return math.nan
    try:
        value = float(cell.replace(",", ".") if decimal_comma else cell)
    except ValueError:
        raise CsvError(f"{name} '{cell}' is not a number", file=path, key=where) from None
    low, high = LIMITS[name]
    if not low <= value <= high:
        raise CsvError(f"{name} {cell} is not within {low:g} to {high:g}", file=path, key=where)
    return value


def _member(path: Path, where: str, cell: str) -> int:
    if not cell:
        return 0
    try:
        return int(cell)
    except ValueError:
        raise CsvError(f"member '{cell}' is not a whole number", file=path, key=where) from None


def _moment(
    path: Path, where: str, cell: str, zone: ZoneInfo | None, before: datetime | None
) -> datetime:
    try:
        moment = datetime.fromisoformat(cell)
    except ValueError:
        raise CsvError(
            f"time '{cell}' is not ISO 8601, such as 2025-01-07T06:00Z", file=path, key=where
        ) from None
    if moment.tzinfo is not None:
        return moment
    if zone is None:
        raise CsvError(
            f"time '{cell}' has no offset; write 2025-01-07T06:00+01:00, or the line "
            "'# time_zone: Europe/Amsterdam' above the heading",
            file=path,
            key=where,
        )
    first, second = moment.replace(tzinfo=zone), moment.replace(tzinfo=zone, fold=1)
    if first.utcoffset() == second.utcoffset():
        return first
    if first.astimezone(UTC).astimezone(zone).replace(tzinfo=None) != moment:
        raise CsvError(
            f"time '{cell}' does not exist in {zone.key}: the clocks go forward over it",
            file=path,
            key=where,
        )
    # The hour that comes twice: the second time round once the first is behind us.
    behind = before is not None and first.astimezone(UTC) <= before.astimezone(UTC)
    return second if behind else first


def _zone(path: Path, number: int, name: str) -> ZoneInfo:
    try:
        return ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        raise CsvError(
            f"time zone '{name}' is not known; IANA names look like 'Europe/Amsterdam'",
            file=path,
            key=f"line {number}",
        ) from None


def _known() -> str:
    return ", ".join(_COLUMNS)
