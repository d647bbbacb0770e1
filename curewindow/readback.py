"""Reading back what the program itself kept as JSON: all of it makes sense, or none is used.

Such files and cells are written by one model and read back by the same. What a disk, an older
version or a hand made of them since is told apart here, once, so that nothing of it goes on.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any, TypeVar

from pydantic import BaseModel, ValidationError

ModelT = TypeVar("ModelT", bound=BaseModel)

_YEARS = range(1900, 2300)
# More of anything is a slip: hours, metres, joules, and numbers of rows.
_LARGEST = 1e12


class OtherFormError(ValueError):
    """JSON, but not of the form asked for: an older version's, it may be. One line says where."""


def read_back(text: str | bytes, form: type[ModelT]) -> ModelT:
    """Read what was kept.

    Parameters
    ----------
    text : str or bytes
        JSON, as it was written.
    form : type
        The model it was written by.

    Raises
    ------
    ValueError
        It is not JSON of that form (``OtherFormError`` where it is JSON of another), or holds a
        number or a time that nothing could have written; what is wrong with it, in one line.
    """
    return of_form(loaded(text), form)


def loaded(text: str | bytes) -> Any:
    """JSON by its standard, which knows no NaN, and no deeper than anything is written."""
    try:
        return json.loads(text, parse_constant=_no_number)
    except RecursionError:
        raise ValueError("lists within lists without end") from None


def of_form(data: Any, form: type[ModelT]) -> ModelT:
    """The same of JSON that was loaded already.

    Raises
    ------
    ValueError
        As for :func:`read_back`.
    """
    try:
        found = form.model_validate(data)
    except ValidationError as bad:  # whose own words fill many lines
        first = bad.errors()[0]
        place = ".".join(map(str, first["loc"]))
        raise OtherFormError(f"{place}: {first['msg']}" if place else first["msg"]) from None
    _check(found)
    return found


def _no_number(constant: str) -> Any:
    raise ValueError(f"{constant} is no number")


def _check(value: Any) -> None:
    """Every number and every time in it can be counted with."""
    if isinstance(value, datetime):
        if value.utcoffset() is None or value.year not in _YEARS:
            raise ValueError(f"{value} is no time with a zone that is meant")
    elif isinstance(value, float | int):
        if not math.isfinite(value) or abs(value) > _LARGEST:
            raise ValueError(f"{value:g} is out of all bounds")
    elif isinstance(value, timedelta):
        _check(value.total_seconds())
    elif isinstance(value, BaseModel):
        for _, each in value:
            _check(each)
    elif isinstance(value, dict):
        for each in value.values():
            _check(each)
    elif isinstance(value, Iterable) and not isinstance(value, str | bytes):
        for each in value:
            _check(each)
