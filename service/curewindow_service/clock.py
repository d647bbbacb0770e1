"""The service's clock: handed in everywhere, so that a test or a played week can bring its own."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

Clock = Callable[[], datetime]


def system_clock() -> datetime:
    """The machine's clock, aware UTC, whole seconds."""
    return datetime.now(UTC).replace(microsecond=0)
