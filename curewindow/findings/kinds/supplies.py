"""What is to be had in hand for the work left, and how it keeps."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    # how much
    Kind(
        "amount reckoned",
        "fact",
        "by what: state 'job' (of 'litres' a coat), 'spread' (of 'value' m²/L), 'wet film' (of "
        "'value' µm), 'dry film' (of 'value' µm and 'solids_pct'); of films with the 'share' lost",
        needs=("state",),
        may=("litres", "area_m2", "value", "solids_pct", "share"),
    ),
    Kind(
        "amount unknown",
        "act",
        "state 'no area': the job has neither amount nor area; 'no figures': its sheet has none",
        needs=("state",),
    ),
    Kind(
        "spread too thin",
        "act",
        "spread so far ('value' m²/L) it dries thinner than 'limit_value' µm",
        needs=("value", "limit_value"),
    ),
    # how it keeps
    Kind("keep from frost", "act", "frost spoils it"),
    Kind(
        "keep between",
        "fact",
        "'temp_c' and above, 'other_temp_c' and below",
        (),
        ("temp_c", "other_temp_c"),
    ),
    Kind("keeps unopened", "fact", "a shelf life", needs=("hours",)),
    Kind("too old by then", "act", "bought now it is too old", needs=("hours", "at")),
    Kind("two tins", "act", "once opened it does not keep until the last coat", needs=("hours",)),
    Kind("tin there", "act", "a tin, good 'until' then", may=("space", "until")),
    Kind("tin too old", "act", "a tin past its time", needs=("at",), may=("space",)),
    # of the whole list
    Kind("by job for want of a plan", "act", "there is no plan to buy by"),
    Kind("by the plan", "fact", "the plan the weeks come from", needs=("at",)),
    Kind("planned and not logged", "act", "jobs with steps planned for earlier", needs=("names",)),
    Kind("typical figures", "act", "of sheets that are typical of their kind"),
    Kind("nothing to buy", "fact", "all work is done"),
)
