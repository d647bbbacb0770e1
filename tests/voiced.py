"""Findings as the tests read them: in full, on a clock far from any odd hour."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import UTC, datetime
from typing import overload
from zoneinfo import ZoneInfo

from curewindow.findings import Finding
from curewindow.voice import full
from curewindow.wording import Wording

WORDS = Wording(ZoneInfo("Europe/Amsterdam"), datetime(2026, 11, 25, 8, tzinfo=UTC))


@overload
def said(found: Finding, words: Wording | None = None) -> str: ...
@overload
def said(found: Iterable[Finding], words: Wording | None = None) -> list[str]: ...
def said(found: Finding | Iterable[Finding], words: Wording | None = None) -> str | list[str]:
    """A finding in full, or each of several."""
    words = words or WORDS
    if isinstance(found, Finding):
        return full(found, words)
    return [full(each, words) for each in found]
