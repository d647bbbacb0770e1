"""What is no longer as it was told."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "window new",
        "news",
        "a window where none was told",
        needs=("begins", "until"),
        may=("chance",),
        because=True,
    ),
    Kind(
        "window lost",
        "news",
        "a window that was told is none any more; why, and the next one",
        needs=("begins", "until"),
        because=True,
    ),
    Kind(
        "window moved",
        "news",
        "a window opens ('begins', by 'hours') or has its last start (by 'other_hours') at "
        "another time; negative: earlier",
        may=("begins", "hours", "last_start", "other_hours"),
        because=True,
    ),
    Kind(
        "window doubted",
        "news",
        "a window is less, or more, likely than was told",
        needs=("begins", "until", "chance", "other_chance"),
    ),
)
