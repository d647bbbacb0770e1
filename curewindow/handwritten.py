"""Reading hand-written TOML files: one clear line for whatever is wrong with one."""

from __future__ import annotations

import difflib
import re
import tomllib
from collections import OrderedDict
from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from types import UnionType
from typing import Any, NamedTuple, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, ValidationError

from curewindow.errors import InputFileError
from curewindow.nearest import did_you_mean

ModelT = TypeVar("ModelT", bound="FileModel")
ValueT = TypeVar("ValueT")
_PART = re.compile(r"([^.\[\]]+)(?:\[(\d+)\])?")
_HEADER = re.compile(r"^\s*(\[\[?)\s*([^\[\]]+?)\s*\]\]?\s*(?:#.*)?$")
_PAIR = re.compile(r"^\s*((?:[\w\-]+|\"[^\"]*\"|'[^']*')(?:\s*\.\s*[\w\-]+)*)\s*=")


class FileModel(BaseModel):
    """A table of a hand-written file: unknown keys are errors, values do not change later."""

    # Built when first used: most runs read one file of each kind and answer one thing.
    model_config = ConfigDict(
        extra="forbid", frozen=True, str_strip_whitespace=True, defer_build=True
    )


def without_numbers(key: str) -> str:
    """'job.step.rate' of 'job[2].step[1].rate'."""
    return re.sub(r"\[\d+\]", "", key)


def values_in(described: Any, kind: type[ValueT], key: str = "") -> Iterator[tuple[str, ValueT]]:
    """Every value of a kind in a model, with its dotted key; lists are counted from 1."""
    if isinstance(described, kind):
        yield key, described
    elif isinstance(described, BaseModel):
        for name, field in type(described).model_fields.items():
            called = field.alias or name
            yield from values_in(
                getattr(described, name), kind, f"{key}.{called}" if key else called
            )
    elif isinstance(described, list | tuple):
        for number, each in enumerate(described, 1):
            yield from values_in(each, kind, f"{key}[{number}]")


def read_toml(path: Path, error: type[InputFileError]) -> dict[str, Any]:
    """Read a TOML file.

    Parameters
    ----------
    path : Path
        The file.
    error : type
        The kind of error to raise.

    Returns
    -------
    dict
        Its content.

    Raises
    ------
    InputFileError
        It is not there, not text, or not TOML (with the line).
    """
    return _loaded(read_text(path, error), error, path)


def read_text(path: Path, error: type[InputFileError]) -> str:
    """The text of a hand-written file; see :func:`read_toml`."""
    try:
        return path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise error("there is no such file", file=path) from None
    except UnicodeDecodeError as bad:
        raise error(
            f"not UTF-8 text (byte {bad.start}); save it as UTF-8 in your editor", file=path
        ) from None
    except OSError as bad:
        raise error(f"cannot be read: {bad.strerror}", file=path) from None


def _loaded(text: str, error: type[InputFileError], path: Path | None) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as bad:
        raise error(f"not valid TOML: {bad}", file=path) from None
    except RecursionError:
        raise error("not valid TOML: brackets in brackets, too deep to read", file=path) from None
    except ValueError as bad:  # a number of thousands of digits, a date no calendar has
        raise error(f"not valid TOML: {str(bad).partition(';')[0]}", file=path) from None


def parse_file(path: Path, model: type[ModelT], error: type[InputFileError]) -> ModelT:
    """Read a TOML file into its model.

    Raises
    ------
    InputFileError
        With the file, the key and what would be right, for the first problem;
        the number of further ones is said.
    """
    with pointing_into(path):
        return parse_text(read_text(path, error), model, error, path)


# The same text is the same model, which nobody changes: one answer reads a file three times.
_READ: OrderedDict[tuple[str, type[BaseModel]], Any] = OrderedDict()
_READ_AT_MOST = 256


def parse_text(
    text: str, model: type[ModelT], error: type[InputFileError], path: Path | None
) -> ModelT:
    """Check the text of a TOML file that may not be written yet; see :func:`parse_file`."""
    key = (text, model)
    found: ModelT | None = _READ.pop(key, None)
    if found is None:
        found = parse_data(_loaded(text, error, path), model, error, path)
    _READ[key] = found
    while len(_READ) > _READ_AT_MOST:
        with suppress(KeyError):  # another thread of the service was quicker
            _READ.popitem(last=False)
    return found


@contextmanager
def pointing_into(path: Path) -> Iterator[None]:
    """Say of what is found wrong with a file, which line that is and in which job or space."""
    try:
        yield
    except InputFileError as bad:
        if bad.file == str(path) and bad.key is not None and not bad.place:
            with suppress(OSError, UnicodeDecodeError):
                bad.place = place_in(path.read_bytes().decode("utf-8-sig"), bad.key)
        raise


def place_in(text: str, key: str) -> str:
    """Where a key like 'job[3].step[2].sheet' stands in a TOML file, as people find it.

    Returns
    -------
    str
        "line 42, job 'chart table', step 2, sheet" or "line 9, applying.air.min"; the line of
        the table where the key is not there; the key itself where the text is no TOML.
    """
    wanted = [(name, int(number or 0)) for name, number in _PART.findall(key)]
    try:
        data: Any = tomllib.loads(text)
    except (ValueError, RecursionError):
        return key
    said: list[str] = []
    plain = False
    for name, number in wanted:
        data = data.get(name) if isinstance(data, dict) else None
        if number and isinstance(data, list):
            data = data[number - 1] if number <= len(data) else None
        called = data.get("name") if number and isinstance(data, dict) else None
        part = f"{name} '{called}'" if called else f"{name} {number}" if number else name
        table = bool(number) and isinstance(data, dict)
        if plain and not table:
            said[-1] += f".{part}"
        else:
            said.append(part)
        plain = not table
    line = _line_of(text, wanted)
    return ", ".join([*([f"line {line}"] if line else []), *said])


def _line_of(text: str, wanted: Sequence[tuple[str, int]]) -> int:
    """The line of the part of a key that is found deepest; 0 where none is."""
    table: list[tuple[str, int]] = []
    counts: dict[tuple[tuple[str, int], ...], int] = {}
    best, deepest = 0, 0
    for number, line in enumerate(text.splitlines(), 1):
        header = _HEADER.match(line)
        if header is not None:
            table = []
            parts = [part.strip().strip("\"'") for part in header[2].split(".")]
            for depth, part in enumerate(parts, 1):
                here = (*table, (part, 0))
                if depth == len(parts) and header[1] == "[[":
                    counts[here] = counts.get(here, 0) + 1
                table.append((part, counts.get(here, 0)))
            found = table
        else:
            pair = _PAIR.match(line)
            if pair is None:
                continue
            found = [*table, *((part.strip().strip("\"'"), 0) for part in pair[1].split("."))]
        depth = _in_common(found, wanted)
        if depth > deepest and depth == len(found):
            best, deepest = number, depth
    return best


def _in_common(found: Sequence[tuple[str, int]], wanted: Sequence[tuple[str, int]]) -> int:
    """How many parts of two keys agree from the beginning; a number in a list within a line too."""
    for depth, (one, other) in enumerate(zip(found, wanted, strict=False)):
        if one[0] != other[0] or (one[1] and one[1] != other[1]):
            return depth
    return min(len(found), len(wanted))


def parse_data(
    data: dict[str, Any], model: type[ModelT], error: type[InputFileError], path: Path | None
) -> ModelT:
    """Check already read data against its model; see :func:`parse_file`."""
    try:
        return model.model_validate(data)
    except ValidationError as bad:
        # Each unknown key may be why another is missing: all of them are named.
        first, *others = problems(bad, model)
        unknown = [each for each in others if each.unknown]
        left = len(others) - len(unknown)
        said = "; ".join([first.text, *(f"'{each.key}': {each.brief}" for each in unknown)])
        more = f" (and {left} more)" if left else ""
        raise error(said + more, file=path, key=first.key) from None


class KeyProblem(NamedTuple):
    """What is wrong with a key; an ``unknown`` one has a ``brief`` form beside others."""

    key: str
    text: str
    unknown: bool = False
    brief: str = ""


def problems(bad: ValidationError, model: type[BaseModel]) -> list[KeyProblem]:
    """Turn a validation error into what is wrong with each key, in plain words.

    Unknown keys come first, and of them those that are near a known one.
    """
    found: list[KeyProblem] = []
    near: list[KeyProblem] = []
    far: list[KeyProblem] = []
    for item in bad.errors():
        location = tuple(item["loc"])
        key = _dotted(location)
        kind = item["type"]
        if kind == "extra_forbidden":
            names = _field_names(model, location[:-1])
            if hint := did_you_mean(str(location[-1]), names):
                text = f"unknown key; {hint}"
                near.append(KeyProblem(key, text, unknown=True, brief=text))
            else:
                text = f"unknown key; known: {', '.join(sorted(names))}"
                far.append(KeyProblem(key, text, unknown=True, brief="unknown key"))
        elif kind == "missing":
            found.append(KeyProblem(key, "is missing"))
        elif kind in ("value_error", "assertion_error"):
            found.append(
                KeyProblem(key, str(item["ctx"]["error"]) if "ctx" in item else item["msg"])
            )
        elif kind == "enum" or kind == "literal_error":
            expected = str(item.get("ctx", {}).get("expected", ""))
            close = difflib.get_close_matches(
                str(item["input"]),
                [e.strip("' ") for e in expected.replace(" or ", ",").split(",")],
            )
            hint = f"did you mean '{close[0]}'? " if close else ""
            found.append(
                KeyProblem(key, f"'{item['input']}' is not known; {hint}one of {expected}")
            )
        elif kind == "string_too_short":
            found.append(KeyProblem(key, "is empty"))
        elif kind == "list_type" and isinstance(item["input"], dict):
            found.append(KeyProblem(key, f"may be there several times: begin each with [[{key}]]"))
        else:
            shown = repr(item["input"])
            shown = shown if len(shown) < 40 else shown[:37] + "..."
            said = item["msg"].replace("Input should be", "should be")
            found.append(KeyProblem(key, f"{said}, got {shown}"))
    return [*near, *far, *found]


def _dotted(location: tuple[int | str, ...]) -> str:
    text = ""
    for part in location:
        if isinstance(part, int):
            text += f"[{part + 1}]"
        elif not part.startswith("function-"):
            text += f".{part}" if text else part
    return text


def _field_names(model: type[BaseModel], location: tuple[int | str, ...]) -> list[str]:
    """Names allowed at a location: walks the model the way the error walked the data."""
    current: list[type[BaseModel]] = [model]
    for part in location:
        if isinstance(part, int):
            continue
        following: list[type[BaseModel]] = []
        for candidate in current:
            for name, field in candidate.model_fields.items():
                if part in (name, field.alias):
                    following += _models_in(field.annotation)
        if following:
            current = following
    return [field.alias or name for m in current for name, field in m.model_fields.items()]


def _models_in(annotation: Any) -> list[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return [annotation]
    if isinstance(annotation, UnionType) or get_args(annotation):
        return [m for argument in get_args(annotation) for m in _models_in(argument)]
    return []
