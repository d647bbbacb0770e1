"""The record of one finding."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any, Final, Literal

from pydantic import BaseModel, ConfigDict, Field, field_validator

from curewindow.findings.kinds import KINDS
from curewindow.findings.parameters import PARAMETERS, PYTHON, Value

Weight = Literal["danger", "deadline", "act", "news", "fact"]
WEIGHTS: Final[tuple[Weight, ...]] = ("danger", "deadline", "act", "news", "fact")
"""Heaviest first."""


class Finding(BaseModel):
    """Something worth telling: what it is and its figures, never a sentence.

    What a kind needs is in :data:`curewindow.findings.KINDS`, what a parameter means in
    :data:`curewindow.findings.parameters.PARAMETERS`. Made by :func:`finding`.
    """

    model_config = ConfigDict(extra="forbid", frozen=True, defer_build=True)

    kind: str = Field(description="one of a closed list: 'curewindow schema --findings'")
    weight: Weight = Field(description="'danger' is never left out by anything that tells")
    about: dict[str, Value] = Field(
        default_factory=dict, description="its parameters; times in UTC, temperatures in °C"
    )
    because: tuple[Finding, ...] = Field((), description="what it follows from")

    @field_validator("kind")
    @classmethod
    def _known(cls, kind: str) -> str:
        if kind not in KINDS:
            raise ValueError(f"no kind of finding is called '{kind}'")
        return kind

    @field_validator("about", mode="before")
    @classmethod
    def _sorted_out(cls, about: object) -> object:
        """Times and lists as JSON has them, each by what its parameter is."""
        if not isinstance(about, Mapping):
            return about
        return {name: _value(str(name), value) for name, value in about.items()}

    def __hash__(self) -> int:
        return hash((self.kind, tuple(sorted(self.about)), self.because))

    def changed(self, **about: Value | None) -> Finding:
        """The same with some parameters given anew; those that are None stay as they are."""
        given = {name: value for name, value in about.items() if value is not None}
        return self.model_copy(
            update={"about": {**self.about, **{n: _value(n, v) for n, v in given.items()}}}
        )

    def text(self, name: str, default: str = "") -> str:
        """A parameter that is text; ``default`` where it is not given."""
        return str(self.about.get(name, default))

    def texts(self, name: str) -> tuple[str, ...]:
        """A parameter that is a list of texts; empty where it is not given."""
        found = self.about.get(name, ())
        return found if isinstance(found, tuple) else (str(found),)

    def number(self, name: str) -> float:
        """A parameter that is a number.

        Raises
        ------
        KeyError
            It is not given.
        """
        found = self.about[name]
        assert isinstance(found, int | float)
        return float(found)

    def maybe(self, name: str) -> float | None:
        """A parameter that is a number; None where it is not given."""
        return self.number(name) if name in self.about else None

    def time(self, name: str) -> datetime:
        """A parameter that is a time, aware.

        Raises
        ------
        KeyError
            It is not given.
        """
        found = self.about[name]
        assert isinstance(found, datetime)
        return found

    def moment(self, name: str) -> datetime | None:
        """A parameter that is a time, aware; None where it is not given."""
        return self.time(name) if name in self.about else None

    def flag(self, name: str) -> bool:
        """A parameter that is true or false; False where it is not given."""
        return bool(self.about.get(name, False))


def finding(kind: str, *, because: Iterable[Finding] = (), **about: Value | None) -> Finding:
    """Make a finding.

    Parameters
    ----------
    kind : str
        One of :data:`curewindow.findings.KINDS`; brings its weight along.
    because : iterable of Finding
        What it follows from.
    **about
        Its parameters; those that are None are left out.

    Raises
    ------
    ValueError
        No such kind, a parameter it needs is missing, or one it does not know is given.
    """
    known = KINDS.get(kind)
    if known is None:
        raise ValueError(f"no kind of finding is called '{kind}'")
    given = {name: _value(name, value) for name, value in about.items() if value is not None}
    if missing := [name for name in known.needs if name not in given]:
        raise ValueError(f"'{kind}' needs {', '.join(missing)}")
    if strange := [name for name in given if name not in known.needs + known.may]:
        raise ValueError(f"'{kind}' is not about {', '.join(strange)}")
    return Finding(kind=kind, weight=known.weight, about=given, because=tuple(because))


def _value(name: str, value: Any) -> Any:
    """A value as its parameter wants it."""
    parameter = PARAMETERS.get(name)
    if parameter is None:
        raise ValueError(f"no parameter of findings is called '{name}'")
    if parameter.sort == "time" and isinstance(value, str):
        value = datetime.fromisoformat(value)
    if parameter.sort == "texts" and isinstance(value, list):
        value = tuple(value)
    if parameter.sort == "time" and isinstance(value, datetime) and value.tzinfo is None:
        raise ValueError(f"'{name}' must be aware of its time zone")
    fits = isinstance(value, PYTHON[parameter.sort])
    if not fits or (parameter.sort == "number" and isinstance(value, bool)):
        raise ValueError(f"'{name}' is a {parameter.sort}, not {value!r}")
    return value
