"""The known name that was most likely meant, for an error that names one nobody knows."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from typing import Final

_ALIKE: Final = 0.5
"""Names less alike than this are not taken for a slip of the pen. Estimate, no source."""


def did_you_mean(name: str, known: Iterable[str]) -> str:
    """ "did you mean 'saloon'?" of the known name most like it; '' where none is alike."""
    close = difflib.get_close_matches(name, list(known), n=1, cutoff=_ALIKE)
    return f"did you mean '{close[0]}'?" if close else ""


def nearest_or_all(name: str, known: Iterable[str], all_are: str = "known") -> str:
    """The same, else all there are: 'known: saloon, forepeak'."""
    names = list(known)
    return did_you_mean(name, names) or f"{all_are}: {', '.join(names) or 'none'}"
