"""What opens, closes and bars a start."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

_LIMIT = ("limit", "bound", "limit_value", "unit")

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "limit broken",
        "fact",
        "a limit of the sheet is not kept; 'phase' and 'at' where a start runs into it later",
        needs=(*_LIMIT, "surface"),
        may=("value", "phase", "at", "frost", "begins"),
    ),
    Kind("limit kept", "fact", "a limit is kept from here on", needs=(*_LIMIT, "surface")),
    Kind(
        "limit unknown",
        "fact",
        "what a limit is held against is not known; without 'limit': nothing is",
        may=("limit", "at", "begins"),
    ),
    Kind("known again", "fact", "what a limit is held against is known from here", may=("limit",)),
    Kind(
        "limit margin",
        "fact",
        "a limit and by how much it is kept or broken",
        needs=(*_LIMIT, "surface", "by"),
        may=("value",),
    ),
    Kind(
        "start then",
        "act",
        "a start at the moment asked about is good",
        needs=("at", "last_start"),
        may=("chance",),
    ),
    Kind(
        "work then",
        "act",
        "work without a product may be begun at the moment asked about",
        needs=("at", "until"),
    ),
    Kind(
        "no start then",
        "fact",
        "no start at the moment asked about; 'begins': the next one; among the reasons the window "
        "there is sooner once the surface is wiped",
        needs=("at",),
        may=("begins",),
        because=True,
    ),
    Kind("aboard until", "fact", "someone is aboard for as long as the work takes", may=("until",)),
    Kind("daylight until", "fact", "it is light for as long as the work takes", may=("until",)),
    Kind("dry", "fact", "no rain"),
    Kind("over by then", "fact", "what it waited for is over by then", because=True),
    Kind("limits hold aired", "fact", "every limit holds with the space aired for the vapour"),
    Kind(
        "recoat interval",
        "fact",
        "the recoat interval of the coat below; state 'open' or 'over'; after 'sand': then sand",
        needs=("state",),
        may=("until", "after"),
    ),
    Kind("time left too short", "fact", "what is left of the hours aboard is too short"),
    Kind("open already", "fact", "the window is open at the moment asked about"),
    Kind("waits over", "fact", "what the job waits for is done"),
    Kind("recoat opens", "fact", "the coat below may be recoated from here on"),
    Kind("recoat ends", "fact", "the recoat interval of the coat below ends"),
    Kind("vapour at night", "fact", "the film would still give off vapour where someone sleeps"),
    Kind("aboard", "fact", "someone comes aboard", needs=("begins",), may=("at",)),
    Kind("daylight", "fact", "it gets light", needs=("begins",)),
    Kind("nobody aboard", "fact", "nobody is aboard", may=("begins",)),
    Kind("dark", "fact", "it is dark", may=("begins",)),
    Kind("rain", "fact", "it rains"),
    Kind(
        "hours too short", "fact", "the work takes longer than someone is aboard", needs=("until",)
    ),
    Kind("daylight too short", "fact", "the work takes longer than it is light", needs=("until",)),
    Kind("nobody to mix", "fact", "nobody is aboard when it has to be mixed"),
    Kind("induction", "fact", "it has to stand after mixing before it goes on"),
    Kind("not before", "fact", "no start counts before", needs=("at",)),
    Kind("too late", "fact", "no start counts after", because=True),
    Kind("forecast ends", "fact", "the film would still be setting where the forecast ends"),
    Kind("beyond forecast", "fact", "the moment lies beyond the forecast"),
    Kind("nobody aboard at all", "fact", "nobody is aboard within the forecast"),
    Kind(
        "aired",
        "fact",
        "what holds or breaks with the space aired for the coat's vapour",
        may=("at", "begins"),
        because=True,
    ),
    Kind(
        "own damp",
        "fact",
        "what holds or breaks with the water the coat itself gives off",
        may=("at", "begins"),
        because=True,
    ),
    Kind("drying unknown", "fact", "when the film would be dry is not known"),
    Kind("space unread", "fact", "a space goes by its readings and has none", needs=("space",)),
    Kind(
        "doubts together",
        "fact",
        "no limit alone is in doubt, but together they are in too many members",
        may=("chance",),
    ),
    Kind("no further coat", "fact", "the sheet allows no further coat on the one below"),
    Kind("recoat unknown", "fact", "when the next coat may go on is not known"),
    Kind(
        "recoat gap not sure",
        "fact",
        "on the safe side the recoat interval closes before it opens",
    ),
    Kind(
        "hot coat while tacky",
        "fact",
        "the sheet gives no end for a hot coat: only while the coat below is tacky",
    ),
    Kind(
        "sheet lost",
        "fact",
        "the sheet of the last coat is no longer on the shelf",
        needs=("sheet",),
    ),
    Kind(
        "isocyanate where someone sleeps",
        "danger",
        "a two-part urethane gives off isocyanate where someone sleeps, for a day and more",
        needs=("spaces",),
    ),
    Kind("dark, wet or nobody aboard", "fact", "outdoors work without a product has to stop"),
    # what is told with a window
    Kind("remark", "fact", "the sheet's or the owner's own words", needs=("note",)),
    Kind("sand first", "act", "the coat below has to be sanded first", may=("begins",)),
    Kind(
        "dew point unlimited",
        "fact",
        "the sheet says nothing of the dew point: judged by dew or frost alone",
    ),
    Kind("outside table", "fact", "times outside the sheet's own table", may=("kind_of",)),
    Kind("mix and wait", "act", "mix it so long before the first stroke", needs=("hours",)),
    Kind(
        "batches",
        "act",
        "so many batches, as it stays workable for so long; state 'in the pot' (a batch of 'value' "
        "kg) or 'open'",
        needs=("count", "hours", "temp_c"),
        may=("state", "value"),
    ),
    Kind(
        "workable",
        "fact",
        "it stays workable for so long; state and 'value' as in 'batches'",
        needs=("hours",),
        may=("state", "value"),
    ),
    Kind("goes off in the pot", "fact", "pot life ends before induction", needs=("temp_c",)),
    Kind("clamp", "act", "clamp the joint until", needs=("until",)),
)
