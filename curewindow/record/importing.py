"""Reading a logger's file into the record."""

from __future__ import annotations

import csv
import itertools
import os
import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from pathlib import Path

from curewindow.errors import CsvError, QuantityError
from curewindow.nearest import did_you_mean
from curewindow.record.csv_layout import VALUES, Layout, find_layout
from curewindow.record.csv_times import DateOrder, LoggerClock, date_order, read_time, read_zone
from curewindow.record.entries import Item, Reading
from curewindow.record.plausible import reading_problem
from curewindow.record.store import Record

# What loggers write where they have no value.
_NO_VALUE = frozenset(["", "-", "--", "---", "nan", "na", "n/a", "null", "none", "#n/a"])
_NUMBER = re.compile(r"^([+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d+)?)\s*(.*)$")
_UNITS = {
    "air": ("c", "f"),
    "surface": ("c", "f"),
    "humidity": ("%", "%rh", "rh", "rh%"),
    "wood": ("%",),
}
_PROGRESS_EVERY = 2000
# A quote that is never closed swallows the lines after it.
_MOST_LINES_A_ROW = 30


@dataclass(frozen=True, slots=True)
class ImportResult:
    """What became of a file.

    Attributes
    ----------
    read : int
        Lines with something in them, the header apart.
    added : int
        Readings written; 0 where there are bad lines and the good were not to be kept.
    duplicates : int
        Readings that were in the record (or in the file) already.
    bad : tuple of (int, str)
        Line number and what is wrong with it, of the first of them.
    bad_count : int
        How many there are.
    kind : type
        What the rows are.
    spaces : tuple of str
        Where what was added was read.
    first, last : datetime or None
        Between which; None where nothing was added.
    """

    read: int
    added: int
    duplicates: int
    bad: tuple[tuple[int, str], ...] = ()
    bad_count: int = 0
    kind: type[Item] = Reading
    spaces: tuple[str, ...] = field(default=(), compare=False)
    first: datetime | None = field(default=None, compare=False)
    last: datetime | None = field(default=None, compare=False)


@dataclass(frozen=True, slots=True)
class ImportOptions:
    """How a file is to be read.

    Attributes
    ----------
    zone : tzinfo
        Of times that name none, unless the header does.
    space : str or None
        Space of the readings, where the file has no column of them.
    panel : str or None
        Panel that surface temperatures were taken on, likewise.
    columns : mapping of str to str, optional
        Field to header; see :func:`curewindow.record.csv_layout.read_mapping`.
    zone_given : bool
        The owner named ``zone``: it wins over the header.
    fahrenheit : bool
        Temperatures are °F though the header does not say so.
    order : 'day first', 'month first' or None
        None: found out, or asked for.
    known_spaces : collection of str, optional
        Spaces there are; others are bad lines.
    source : str or None
        Source of the readings; else the file's name.
    keep_good : bool
        Write the good lines though others are bad.
    """

    zone: tzinfo
    space: str | None = None
    panel: str | None = None
    columns: Mapping[str, str] | None = None
    zone_given: bool = False
    fahrenheit: bool = False
    order: DateOrder | None = None
    known_spaces: Collection[str] | None = None
    source: str | None = None
    keep_good: bool = False


@dataclass(frozen=True, slots=True)
class _Line:
    """A line on its way: values read, its time still as written."""

    number: int
    time: str
    values: dict[str, float | None]
    logger: _Logger  # space, panel, source
    note: str
    clock: _Logger  # the same, as the file alone tells it


def import_csv(
    record: Record,
    path: Path,
    options: ImportOptions,
    progress: Callable[[float], None] | None = None,
) -> ImportResult:
    """Import a logger's table: all of it, or nothing if a line is bad (see ``keep_good``).

    Parameters
    ----------
    record : Record
        Open for writing.
    path : Path
        The table: separators , ; tab or |, decimal point or comma, lines above the
        header are passed over.
    options : ImportOptions
        How to read it.
    progress : callable, optional
        Told the share done, 0 to 1, now and then.

    Returns
    -------
    ImportResult
        Counts, and every bad line with its reason.

    Raises
    ------
    CsvError
        The file as a whole cannot be used: no table, no header, no space, day and
        month cannot be told apart.
    RecordError
        The record cannot be written.
    """
    layout = find_layout(path, options.columns)
    if "space" not in layout.columns and not options.space:
        raise CsvError("has no column with the space", file=path, by_command="say it with --space")
    order, backwards = _looked_through(path, layout, options, _share_of(progress, 0.0, 0.4))
    zone = options.zone
    if layout.header_zone is not None and not options.zone_given:
        zone = read_zone(layout.header_zone)
    tally = _Tally([])
    now = record.now()

    def good() -> Iterator[Reading]:
        # each logger by itself: whether an hour comes for the second time shows in its own order
        clocks: dict[_Logger, LoggerClock[_Line]] = {}
        for number, cells in _rows(path, layout, _share_of(progress, 0.4, 0.9)):
            tally.read += 1
            line = _line(number, cells, layout, options, path)
            if isinstance(line, str):
                tally.bad(number, line)
                continue
            at = read_time(line.time, order)
            if at is None:
                tally.bad(number, f"'{_brief(line.time)}' is not a time that can be read")
                continue
            clock = clocks.get(line.clock)
            if clock is None:
                newest_first = backwards.get(line.clock, False)
                clock = clocks[line.clock] = LoggerClock(zone, backwards=newest_first)
            yield from _dated(clock.take(line, at), now, tally)
        for clock in clocks.values():
            yield from _dated(clock.rest(), now, tally)

    with record.incoming(Reading) as coming:
        coming.extend(good())
        bad = tuple(sorted(tally.first))
        if tally.count and not options.keep_good:
            return ImportResult(tally.read, 0, 0, bad, tally.count)
        done = record.take_in(coming, what=path.name, known="alike")
        where = coming.where()
    if progress is not None:
        progress(1.0)
    return ImportResult(tally.read, done.added, done.duplicates, bad, tally.count, Reading, *where)


_Logger = tuple[str, str | None, str]
BAD_TOLD = 1000


@dataclass(slots=True)
class _Tally:
    """What is counted on the way, and the first of the bad lines."""

    first: list[tuple[int, str]]
    read: int = 0
    count: int = 0

    def bad(self, number: int, why: str) -> None:
        self.count += 1
        if self.count <= BAD_TOLD:
            self.first.append((number, why))


def _share_of(
    progress: Callable[[float], None] | None, begin: float, end: float
) -> Callable[[float], None] | None:
    """Progress of one of the passes through the file."""
    if progress is None:
        return None
    return lambda share: progress(begin + (end - begin) * share)


def _looked_through(
    path: Path,
    layout: Layout,
    options: ImportOptions,
    progress: Callable[[float], None] | None,
) -> tuple[DateOrder, dict[_Logger, bool]]:
    """A first pass: whether the day comes first, and which loggers have the newest first."""
    first: dict[_Logger, str] = {}
    last: dict[_Logger, str] = {}
    sample = ""

    def times() -> Iterator[str]:
        nonlocal sample
        for _, cells in _rows(path, layout, progress):
            time = _cell(cells, layout.columns["time"])
            if time:
                logger = _logger_of(cells, layout, options, path)
                first.setdefault(logger, time)
                last[logger] = time
                sample = sample or time
                yield time

    try:
        order = date_order(times())
    except QuantityError as problem:
        if options.order is None:
            raise CsvError(str(problem), file=path) from None
    order = options.order or order
    if order is None:
        raise CsvError(
            f"'{sample}' may have the day first or the month first",
            by_command="say which with --dates day-first or --dates month-first",
            file=path,
        )
    return order, {each: _is_before(last[each], first[each], order) for each in first}


def _is_before(text: str, other: str, order: DateOrder) -> bool:
    at, then = read_time(text, order), read_time(other, order)
    if at is None or then is None:
        return False
    return at.replace(tzinfo=None) < then.replace(tzinfo=None)


def _dated(
    settled: Iterator[tuple[_Line, datetime | str]], now: datetime, tally: _Tally
) -> Iterator[Reading]:
    """Readings of lines whose time is settled; what cannot be told or taken is bad."""
    for line, at in settled:
        if isinstance(at, str):
            tally.bad(line.number, at)
            continue
        space, panel, source = line.logger
        reading = Reading(
            space=space,
            at=at,
            air_c=line.values["air"],
            rh_pct=line.values["humidity"],
            surface_c=line.values["surface"],
            panel=panel,
            wood_moisture_pct=line.values["wood"],
            source=source,
            note=line.note,
        )
        problem = reading_problem(reading, now)
        if problem is None:
            yield reading
        else:
            tally.bad(line.number, problem)


def _rows(
    path: Path, layout: Layout, progress: Callable[[float], None] | None
) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of every line that is not empty."""
    size = path.stat().st_size or 1
    # errors=replace: an odd byte in a note must not cost a winter of readings
    with path.open(encoding=layout.encoding, errors="replace", newline="") as text:
        for _ in range(layout.header_line):
            text.readline()
        rows = csv.reader(text, delimiter=layout.separator)
        before = 0
        for count in itertools.count(1):
            try:
                cells = next(rows)
            except StopIteration:
                return
            except csv.Error as problem:
                raise CsvError(
                    f"cannot be read as a table: {problem}",
                    file=path,
                    key=f"line {layout.header_line + rows.line_num}",
                ) from None
            number = layout.header_line + before + 1
            if rows.line_num - before > _MOST_LINES_A_ROW:
                raise CsvError(
                    'a quote (") opens and does not close', file=path, key=f"line {number}"
                )
            before = rows.line_num
            if progress is not None and count % _PROGRESS_EVERY == 0:
                progress(min(os.lseek(text.fileno(), 0, os.SEEK_CUR) / size, 1.0))
            if any(cell and not cell.isspace() for cell in cells):
                yield number, cells


def _line(
    number: int, cells: list[str], layout: Layout, options: ImportOptions, path: Path
) -> _Line | str:
    """Read a line's values, or say what is wrong with it."""
    if len(cells) > layout.width and any(cell.strip() for cell in cells[layout.width :]):
        return (
            f"has {len(cells)} cells under {layout.width} headers; a decimal comma needs "
            "another separator, or quotes"
        )

    columns = layout.columns
    time = _cell(cells, columns["time"])
    if not time:
        return "has no time"
    values: dict[str, float | None] = {}
    for name in VALUES:
        text = _cell(cells, columns.get(name, ()))
        try:
            fahrenheit = options.fahrenheit or name in layout.fahrenheit
            values[name] = _value(text, name, fahrenheit)
        except ValueError:
            return f"{name} '{_brief(text)}' is not a number"
    logger = _logger_of(cells, layout, options, path)
    space = logger[0]
    if options.known_spaces is not None and space not in options.known_spaces:
        hint = did_you_mean(space, options.known_spaces)
        return f"there is no space '{_brief(space)}'" + (f"; {hint}" if hint else "")
    note_columns = layout.columns.get("note", ())
    note = cells[note_columns[0]] if note_columns and note_columns[0] < len(cells) else ""
    panel = logger[1] or (options.panel if values["surface"] is not None else None)
    return _Line(number, time, values, (space, panel, logger[2]), note, logger)


def _cell(cells: list[str], columns: tuple[int, ...]) -> str:
    """What stands in a column; two of them are a date and a time of day."""
    if len(columns) == 1:
        return cells[columns[0]].strip() if columns[0] < len(cells) else ""
    return " ".join(cells[n].strip() for n in columns if n < len(cells)).strip()


def _logger_of(cells: list[str], layout: Layout, options: ImportOptions, path: Path) -> _Logger:
    """Whose line it is: space, panel and source."""
    columns = layout.columns
    space = _cell(cells, columns.get("space", ())) or options.space or ""
    panel = _cell(cells, columns.get("panel", ())) or None
    return space, panel, _cell(cells, columns.get("source", ())) or options.source or path.name


def _brief(text: str) -> str:
    """A cell's text for a message: one line, not too long."""
    plain = " ".join(text.split())
    return plain if len(plain) <= 40 else plain[:37] + "..."


def _value(text: str, field: str, fahrenheit: bool) -> float | None:
    """Read a number, with its unit or without; temperatures come out in °C."""
    if text.casefold() in _NO_VALUE:
        return None
    plain = text.replace(",", ".").replace("−", "-")
    try:
        number, unit = float(plain), ""
    except ValueError:
        match = _NUMBER.match(plain)
        if match is None:
            raise
        unit = re.sub(r"[°º˚\s]", "", match[2]).casefold()
        if unit not in _UNITS[field]:
            raise
        number = float(match[1])
    if field in ("air", "surface") and (unit == "f" or (fahrenheit and unit != "c")):
        return (number - 32.0) / 1.8
    return number
