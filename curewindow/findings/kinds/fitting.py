"""What a fit of a space to its readings is worth."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind("fit by description", "fact", "likely ranges hold as far as the description does"),
    Kind("fit by routine", "fact", "the heater is taken to have run by its routine and the log"),
    Kind("readings without weather", "fact", "so many are left out", needs=("count",)),
    Kind(
        "readings off in time",
        "act",
        "the fit is much better with the readings so much later than they say; negative: earlier",
        needs=("hours",),
    ),
    Kind("fit does worse", "act", "on readings held out the fit does worse than the description"),
    Kind("fit not tested", "fact", "too few readings to hold some out"),
)
