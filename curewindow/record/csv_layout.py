"""How a logger's table is laid out: encoding, separator, header line, which column is what."""

from __future__ import annotations

import codecs
import csv
import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from curewindow.errors import CsvError
from curewindow.nearest import nearest_or_all

# What a column can be, with how it is named in a mapping.
FIELDS = ("time", "space", "air", "humidity", "surface", "panel", "wood", "note", "source")
VALUES = ("air", "humidity", "surface", "wood")
_TEMPS = ("air", "surface")
_SEPARATORS = (",", ";", "\t", "|")
# Loggers put their settings above the table.
_HEADER_WITHIN = 100


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


# Words that name a column, in a few languages: ordinary words, no instrument's own.
_WORDS: dict[str, frozenset[str]] = {
    "time": _set(
        "time timestamp date datetime zeit zeitpunkt uhrzeit datum tijd tijdstip heure tid hora "
        "fecha data ora"
    ),
    "humidity": _set(
        "humidity rh hum humid feuchte luftfeuchte luftfeuchtigkeit vochtigheid luchtvochtigheid "
        "humidite fuktighet fugtighed humedad umidita"
    ),
    "surface": _set("surface oberflache oppervlak"),
    "wood": _set("wood holz hout"),
    "air": _set(
        "air temp temperature temperatur temperatuur lufttemperatur celsius fahrenheit temperatura"
    ),
}
_EXACT = ("space", "panel", "note", "source")
# Columns that look like one of ours and are none: derived, of the instrument, or outliers.
_NOT_OURS = _set(
    "dew dewpoint taupunkt dauwpunt rosee wet bulb absolute abs max min maximum minimum battery "
    "batterie device internal feels heat index vpd pressure delta zone"
)
_DATE = _set("date datum fecha")
_FAHRENHEIT = re.compile(
    r"[°º˚]\s*F\b|℉|[(\[]\s*(?:deg\.?\s*)?F\s*[)\]]|fahrenheit|[_ ](?:deg)?F$", re.I
)
_HEADER_ZONE = re.compile(r"\b(?:UTC|GMT)\s*([+\-−]\s*\d{1,2}(?::?\d{2})?)?\b", re.I)


@dataclass(frozen=True, slots=True)
class Layout:
    """Where things stand in a table.

    Attributes
    ----------
    encoding, separator : str
        Of the text.
    header_line : int
        Counted from 1; the data follow.
    width : int
        Number of columns.
    columns : dict
        Field to column numbers from 0: two for a time whose date stands apart.
    fahrenheit : frozenset of str
        Fields whose header says °F.
    header_zone : str or None
        Zone that the time column's header names, such as 'UTC+01:00'.
    """

    encoding: str
    separator: str
    header_line: int
    width: int
    columns: dict[str, tuple[int, ...]]
    fahrenheit: frozenset[str]
    header_zone: str | None


def read_mapping(text: str) -> dict[str, str]:
    """Read ``'time=Timestamp,air=Temp (C),humidity=RH%'``.

    Parameters
    ----------
    text : str
        Pairs of one of :data:`FIELDS` and a column's header; commas within a header do
        not matter. A time in two columns is written ``time=Date+Time``.

    Returns
    -------
    dict
        Field to header.

    Raises
    ------
    CsvError
        Not such pairs, or a field there is none of (with the nearest).
    """
    mapping: dict[str, str] = {}
    for pair in re.split(r",(?=\s*[\w ]+=)", text):
        field, equals, header = (part.strip() for part in pair.partition("="))
        if not equals or not header:
            raise CsvError(
                f"'{pair.strip()}' is no column; write it like 'time=Timestamp,air=Temp'"
            )
        if field not in FIELDS:
            hint = nearest_or_all(field, FIELDS)
            raise CsvError(f"'{field}' is nothing that can be recorded; {hint}")
        mapping[field] = header
    return mapping


def find_layout(path: Path, mapping: Mapping[str, str] | None = None) -> Layout:
    """Find out how a table is laid out.

    Parameters
    ----------
    path : Path
        The file.
    mapping : mapping of str to str, optional
        Field to header, for columns whose headers do not say it.

    Returns
    -------
    Layout
        The first line that names a time and at least one value is the header.

    Raises
    ------
    CsvError
        There is no such line, or several columns could be the same thing.
    """
    encoding = _encoding(path)
    tried: list[str] = []
    with path.open(encoding=encoding, errors="replace", newline="") as lines:
        for number, line in enumerate(lines, 1):
            if number > _HEADER_WITHIN:
                break
            line = line.rstrip("\r\n")
            for separator in sorted(_SEPARATORS, key=line.count, reverse=True):
                if separator not in line:
                    continue
                header = [cell.strip() for cell in next(csv.reader([line], delimiter=separator))]
                columns = _columns(header, mapping or {}, path, number)
                if columns is not None:
                    return _layout(header, columns, encoding, separator, number)
                tried = max(tried, header, key=len)
    if not tried:
        raise CsvError("is not a table: no line has a separator (, ; tab or |)", file=path)
    wanted = ", ".join(mapping.values()) if mapping else "a time and a temperature or humidity"
    shown = ", ".join(f"'{name}'" for name in tried[:8] if name)
    raise CsvError(
        f"no header line with {wanted}; the columns seem to be {shown}",
        by_command="say which is what with --columns 'time=...,air=...,humidity=...'",
        file=path,
    )


def _encoding(path: Path) -> str:
    """The text's encoding: by its mark, else UTF-8 where all of it is, else Windows'."""
    try:
        with path.open("rb") as file:
            start = file.read(4)
            if start.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
                return "utf-16"
            file.seek(0)
            decoder = codecs.getincrementaldecoder("utf-8-sig")()
            while block := file.read(1 << 20):
                decoder.decode(block)
            decoder.decode(b"", final=True)
    except UnicodeDecodeError:
        return "cp1252"
    except FileNotFoundError:
        raise CsvError("there is no such file", file=path) from None
    except OSError as bad:
        raise CsvError(f"cannot be read: {bad.strerror}", file=path) from None
    return "utf-8-sig"


def _columns(
    header: Sequence[str], mapping: Mapping[str, str], path: Path, line: int
) -> dict[str, tuple[int, ...]] | None:
    """Which column is what; None where this line is no header."""
    columns: dict[str, tuple[int, ...]] = {}
    for field, name in mapping.items():
        found = _named(name, header)
        if found is None and field == "time" and "+" in name:
            parts = [_named(part.strip(), header) for part in name.split("+")]
            found = None if None in parts else tuple(n for part in parts if part for n in part)
        if found is None:
            return None
        columns[field] = found
    taken = {number for numbers in columns.values() for number in numbers}
    meant: dict[str, list[int]] = {}
    for number, name in enumerate(header):
        meaning = _meaning(name)
        if meaning is not None and number not in taken and meaning not in columns:
            meant.setdefault(meaning, []).append(number)
    times = meant.pop("time", [])
    if "time" not in columns:
        if not times:
            return None
        columns["time"] = _time_columns(times, header)
    if not (any(field in columns for field in VALUES) or any(f in meant for f in VALUES)):
        return None
    for field, numbers in meant.items():
        if len(numbers) > 1:
            names = ", ".join(f"'{header[n]}'" for n in numbers)
            raise CsvError(
                f"{names} could all be the {field}",
                by_command=f"say which with --columns '{field}={header[numbers[0]]}'",
                file=path,
                key=f"line {line}",
            )
        columns[field] = (numbers[0],)
    if len(columns["time"]) > 2:
        names = ", ".join(f"'{header[n]}'" for n in columns["time"])
        raise CsvError(
            f"{names} could all be the time",
            by_command=f"say which with --columns 'time={header[columns['time'][0]]}'",
            file=path,
            key=f"line {line}",
        )
    return columns


def _named(name: str, header: Sequence[str]) -> tuple[int, ...] | None:
    folded = [cell.casefold() for cell in header]
    return (folded.index(name.casefold()),) if name.casefold() in folded else None


def _time_columns(numbers: list[int], header: Sequence[str]) -> tuple[int, ...]:
    """One column of times: the one in UTC if there is a choice; or a date and a time of day."""
    if len(numbers) == 1:
        return (numbers[0],)
    in_utc = [n for n in numbers if "utc" in _words(header[n])]
    if len(in_utc) == 1:
        return (in_utc[0],)
    dates = [n for n in numbers if _words(header[n])[:1] and set(_words(header[n])) <= _DATE]
    if len(numbers) == 2 and len(dates) == 1:
        return (dates[0], next(n for n in numbers if n != dates[0]))
    return tuple(numbers) if len(numbers) > 2 else (*numbers, numbers[0])


def _meaning(name: str) -> str | None:
    words = _words(name)
    if len(words) == 1 and words[0] in _EXACT:
        return words[0]
    known = set(words)
    if known & _NOT_OURS:
        return None
    # the order decides: 'surface temperature' is a surface, 'wood moisture' is wood
    for field in ("wood", "surface", "time", "humidity", "air"):
        if known & _WORDS[field]:
            return field
    return None


def _words(name: str) -> list[str]:
    """'Temp. (°C)' and 'Température_air' as plain lower-case words."""
    plain = unicodedata.normalize("NFKD", name.casefold())
    return re.findall(r"[a-z]+", "".join(c for c in plain if not unicodedata.combining(c)))


def _layout(
    header: Sequence[str],
    columns: dict[str, tuple[int, ...]],
    encoding: str,
    separator: str,
    line: int,
) -> Layout:
    zones = [_HEADER_ZONE.search(header[n].replace("_", " ")) for n in columns["time"]]
    zone = next((found for found in zones if found), None)
    offset = "" if zone is None else re.sub(r"\s", "", zone[1] or "")
    return Layout(
        encoding=encoding,
        separator=separator,
        header_line=line,
        width=len(header),
        columns=columns,
        fahrenheit=frozenset(
            field
            for field in _TEMPS
            if field in columns and _FAHRENHEIT.search(header[columns[field][0]])
        ),
        header_zone=None if zone is None else f"UTC{offset}",
    )
