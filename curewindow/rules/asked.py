"""How a sheet asks for a limit: between two figures, at least, at most, or by allowing it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, Protocol

from curewindow.sheets.schema import Limits

Phase = Literal["applying", "setting"]
Bound = Literal["min", "max"]
PHASES: Final[tuple[Phase, ...]] = ("applying", "setting")


@dataclass(frozen=True, slots=True)
class Ask:
    """One bound; ``strict``: the bound itself is broken."""

    bound: Bound
    limit: float
    strict: bool = False


class Form(Protocol):
    """Reads what a sheet's table of limits asks for.

    Attributes
    ----------
    field : str
        Key in [applying] and [setting]; '' where no sheet has to ask for it.
    """

    @property
    def field(self) -> str: ...

    def asks(self, limits: Limits, phase: Phase) -> tuple[Ask, ...]:
        """What is asked for in a phase."""
        ...


@dataclass(frozen=True, slots=True)
class Between:
    """A table with ``min`` and ``max``, either of which may be missing."""

    field: str

    def asks(self, limits: Limits, phase: Phase) -> tuple[Ask, ...]:
        """As :meth:`Form.asks`."""
        span = getattr(limits, self.field)
        bounds: tuple[tuple[Bound, float | None], ...] = (("min", span.min), ("max", span.max))
        return tuple(Ask(bound, limit) for bound, limit in bounds if limit is not None)


@dataclass(frozen=True, slots=True)
class AtLeast:
    """One least figure.

    ``unsaid`` is what the trade wants while applying where the sheet says nothing: more
    than that. None: nothing.
    """

    field: str
    unsaid: float | None = None

    def asks(self, limits: Limits, phase: Phase) -> tuple[Ask, ...]:
        """As :meth:`Form.asks`."""
        limit: float | None = getattr(limits, self.field)
        if limit is not None:
            return (Ask("min", limit),)
        if self.unsaid is not None and phase == "applying":
            return (Ask("min", self.unsaid, strict=True),)
        return ()


@dataclass(frozen=True, slots=True)
class AtMost:
    """One highest figure."""

    field: str

    def asks(self, limits: Limits, phase: Phase) -> tuple[Ask, ...]:
        """As :meth:`Form.asks`."""
        limit: float | None = getattr(limits, self.field)
        return () if limit is None else (Ask("max", limit),)


@dataclass(frozen=True, slots=True)
class Unless:
    """Yes or no: where the sheet does not allow it, there may be no more than ``most``."""

    field: str
    most: float

    def asks(self, limits: Limits, phase: Phase) -> tuple[Ask, ...]:
        """As :meth:`Form.asks`."""
        return () if getattr(limits, self.field) else (Ask("max", self.most),)


@dataclass(frozen=True, slots=True)
class Always:
    """Wanted of every sheet, which need not say so."""

    most: float
    field: str = ""

    def asks(self, limits: Limits, phase: Phase) -> tuple[Ask, ...]:
        """As :meth:`Form.asks`."""
        return (Ask("max", self.most),)
