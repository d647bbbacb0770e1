"""What an answer rests on, and what of it is to be doubted."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "job not in work list",
        "fact",
        "coats of a job in the record that work.toml does not have any more",
        needs=("other_job",),
    ),
    Kind(
        "sensor doubted",
        "news",
        "a sensor's last values are set aside; state 'all' or 'humidity'",
        needs=("thing", "space", "state", "note", "at"),
    ),
    Kind(
        "reading doubted",
        "news",
        "a value that was read is kept and not used; kind_of 'air', 'humidity' or 'surface'; "
        "state '°F as °C', 'swapped', 'sun', 'jump', 'stuck', 'carried', 'colder than around', "
        "'warmer than around' or 'too dry'; count: of so many the last; limit_value: expected",
        needs=("space", "kind_of", "state", "at", "count", "value", "unit"),
        may=("limit_value", "surface"),
    ),
)
