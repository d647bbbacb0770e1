"""Reading hand-written TOML files: one clear line for whatever is wrong with one."""

from __future__ import annotations

import difflib
import tomllib
from pathlib import Path
from types import UnionType
from typing import Any, TypeVar, get_args

from pydantic import BaseModel, ConfigDict, ValidationError

from curewindow.errors import InputFileError

ModelT = TypeVar("ModelT", bound="FileModel")


class FileModel(BaseModel):
    """A table of a hand-written file: unknown keys are errors, values do not change later."""

    # Built when first used: most runs read one file of each kind and answer one thing.
    model_config = ConfigDict(
        extra="forbid", frozen=True, str_strip_whitespace=True, defer_build=True
    )


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
    try:
        text = path.read_bytes().decode("utf-8-sig")
    except FileNotFoundError:
        raise error("there is no such file", file=path) from None
    except UnicodeDecodeError as bad:
        raise error(
            f"not UTF-8 text (byte {bad.start}); save it as UTF-8 in your editor", file=path
        ) from None
    except OSError as bad:
        raise error(f"cannot be read: {bad.strerror}", file=path) from None
    return _loaded(text, error, path)


def _loaded(text: str, error: type[InputFileError], path: Path | None) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as bad:
        raise error(f"not valid TOML: {bad}", file=path) from None


def parse_file(path: Path, model: type[ModelT], error: type[InputFileError]) -> ModelT:
    """Read a TOML file into its model.

    Raises
    ------
    InputFileError
        With the file, the key and what would be right, for the first problem;
        the number of further ones is said.
    """
    return parse_data(read_toml(path, error), model, error, path)


def parse_text(
    text: str, model: type[ModelT], error: type[InputFileError], path: Path | None
) -> ModelT:
    """Check the text of a TOML file that may not be written yet; see :func:`parse_file`."""
    return parse_data(_loaded(text, error, path), model, error, path)


def parse_data(
    data: dict[str, Any], model: type[ModelT], error: type[InputFileError], path: Path | None
) -> ModelT:
    """Check already read data against its model; see :func:`parse_file`."""
    try:
        return model.model_validate(data)
    except ValidationError as bad:
        lines = problems(bad, model)
        key, text = lines[0]
        more = f" (and {len(lines) - 1} more)" if len(lines) > 1 else ""
        raise error(text + more, file=path, key=key) from None


def problems(bad: ValidationError, model: type[BaseModel]) -> list[tuple[str, str]]:
    """Turn a validation error into (key, what is wrong) pairs in plain words."""
    found: list[tuple[str, str]] = []
    for item in bad.errors():
        location = tuple(item["loc"])
        key = _dotted(location)
        kind = item["type"]
        if kind == "extra_forbidden":
            names = _field_names(model, location[:-1])
            close = difflib.get_close_matches(str(location[-1]), names, n=1, cutoff=0.5)
            hint = f"did you mean '{close[0]}'?" if close else f"known: {', '.join(sorted(names))}"
            found.append((key, f"unknown key; {hint}"))
        elif kind == "missing":
            found.append((key, "is missing"))
        elif kind in ("value_error", "assertion_error"):
            found.append((key, str(item["ctx"]["error"]) if "ctx" in item else item["msg"]))
        elif kind == "enum" or kind == "literal_error":
            expected = str(item.get("ctx", {}).get("expected", ""))
            close = difflib.get_close_matches(
                str(item["input"]),
                [e.strip("' ") for e in expected.replace(" or ", ",").split(",")],
            )
            hint = f"did you mean '{close[0]}'? " if close else ""
            found.append((key, f"'{item['input']}' is not known; {hint}one of {expected}"))
        elif kind == "string_too_short":
            found.append((key, "is empty"))
        elif kind == "list_type" and isinstance(item["input"], dict):
            found.append((key, f"may be there several times: begin each with [[{key}]]"))
        else:
            shown = repr(item["input"])
            shown = shown if len(shown) < 40 else shown[:37] + "..."
            said = item["msg"].replace("Input should be", "should be")
            found.append((key, f"{said}, got {shown}"))
    return found


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
