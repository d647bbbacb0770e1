"""What a check finds."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class CheckResult:
    """One thing that is wrong (error) or doubtful (warning) in a sheet.

    ``key`` is where it stands, dotted as in the file; ``text`` is one line that
    says what is wrong and what would be right.
    """

    level: Literal["error", "warning"]
    key: str
    text: str


def error(key: str, text: str) -> CheckResult:
    """Something that makes the sheet unusable."""
    return CheckResult("error", key, text)


def warning(key: str, text: str) -> CheckResult:
    """Something doubtful or missing that can be lived with."""
    return CheckResult("warning", key, text)
