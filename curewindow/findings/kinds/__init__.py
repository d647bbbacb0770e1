"""The closed list of what can be found, a file a subject.

A new kind is one row here and one template in :mod:`curewindow.voice`; a test holds the
two lists against each other and reads every template aloud.
"""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds import (
    basis,
    cabin,
    changes,
    coats,
    dangers,
    fitting,
    heat,
    jobs,
    notices,
    order,
    starts,
    supplies,
    variations,
    verification,
    weather,
    whatif,
)
from curewindow.findings.kinds.kind import Kind

_SUBJECTS: Final = (
    dangers,
    starts,
    jobs,
    coats,
    changes,
    basis,
    weather,
    cabin,
    heat,
    notices,
    verification,
    fitting,
    whatif,
    supplies,
    variations,
    order,
)


def _all() -> dict[str, Kind]:
    found: dict[str, Kind] = {}
    for subject in _SUBJECTS:
        for kind in subject.KINDS:
            if kind.name in found:
                raise ValueError(f"two kinds of finding are called '{kind.name}'")
            found[kind.name] = kind
    return found


KINDS: Final[dict[str, Kind]] = _all()
"""By name."""

__all__ = ["KINDS", "Kind"]
