"""What the order of work hangs on: what a step waits for, and what cannot all be kept."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "awaited",
        "fact",
        "what a step waits for, by its state: 'hardens', 'done', 'before' and 'hands' of another "
        "'part'; 'delivery' of a 'thing'; 'cured', 'touch dry' and 'dust' of the film of "
        "'other_job'; 'drying' and 'recoat' of its own film below; 'conditions'; 'pinned' by the "
        "plan; 'choice': nothing",
        needs=("state",),
        may=("part", "thing", "other_job"),
    ),
    Kind(
        "begins when",
        "fact",
        "why a planned step begins then: 'at once', as what it waits for 'ends then' or 'ended "
        "before', by 'choice' and not sooner for what it waits for, or by choice at 'any time'; "
        "because: what it waits for, over at 'at'",
        needs=("state",),
        may=("at",),
        because=True,
    ),
    Kind(
        "sets end",
        "fact",
        "a link of what sets the end: a part 'waits', because: for what; or 'hardens'",
        needs=("part", "state"),
        because=True,
    ),
    Kind("held in plan", "fact", "a part is held by the owner where it is", needs=("part", "at")),
    Kind(
        "part not before",
        "fact",
        "a part cannot be begun before; because: what it waits for longest",
        needs=("part", "at"),
        because=True,
    ),
    Kind(
        "not allowed then",
        "fact",
        "a part is held where it cannot be: its 'sheet' or the dark does not allow it, nobody is "
        "'aboard', or 'nothing' allows it; 'otherwise': the nearest start",
        needs=("part", "at", "state"),
        may=("otherwise",),
    ),
    Kind(
        "part waits",
        "fact",
        "a part waits, because: for what, until 'at'; without: later than looked at",
        needs=("part",),
        may=("at",),
        because=True,
    ),
    Kind(
        "no start looked at", "fact", "a part has no start in the time looked at", needs=("part",)
    ),
    Kind(
        "part after part",
        "fact",
        "a part comes after 'other_part': 'row': that alone; 'soonest': not before 'at'; 'hot "
        "coat': while that is tacky; 'cured': that does not cure in time; 'late': not in the "
        "time looked at",
        needs=("part", "other_part", "state"),
        may=("at",),
    ),
    Kind("hours too few", "fact", "the hours aboard until then are not enough", needs=("until",)),
    Kind(
        "never begun",
        "fact",
        "why a job is not in the plan: its 'part' waits, because: for what, or without: has no "
        "start, within the time looked at",
        needs=("part",),
        because=True,
    ),
    Kind(
        "never hard enough",
        "fact",
        "why a job is not in the plan: 'other_part' does not harden enough for 'part'",
        needs=("part", "other_part"),
    ),
    Kind(
        "delivery in plan",
        "fact",
        "how a plan takes a delivery: 'no date', it cannot be dated; 'week after' its first day; "
        "'overdue': taken to arrive at 'at'",
        needs=("thing", "state"),
        may=("at",),
    ),
)
