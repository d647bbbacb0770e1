"""Where coats that are on stand, and what they went through."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "hours counted",
        "fact",
        "what the hours of a coat so far go by: of 'hours', by readings, by the model, unknown",
        needs=("hours", "read_h", "model_h", "unknown_h"),
    ),
    Kind(
        "hours unknown",
        "fact",
        "nothing is known of so many hours: no cure for what opens, the fastest for what closes",
        needs=("hours",),
    ),
    Kind("recoat not on sheet", "fact", "the sheet does not say when the next coat may go on"),
    Kind("test by hand", "act", "on the safe side the recoat interval closes before it opens"),
    Kind(
        "limit was broken",
        "fact",
        "a limit was broken for so long; 'value' the worst, 'at' when",
        needs=("hours", "phase", "value", "unit", "at"),
        because=True,
    ),
    Kind(
        "limit will break",
        "fact",
        "a limit is expected to be broken while the coat still sets",
        needs=("phase", "begins"),
        because=True,
    ),
    Kind("covering not on sheet", "fact", "no time for closing up", needs=("other_job",)),
    Kind(
        "covering beyond", "fact", "not cured for closing up in the forecast", needs=("other_job",)
    ),
    Kind(
        "may be covered",
        "fact",
        "another job may close it up, from 'begins' where that is to come",
        needs=("other_job",),
        may=("begins",),
    ),
    Kind(
        "cover waits for coat below", "fact", "a coat under it is not cured", needs=("other_job",)
    ),
    # what is asked about a coat that is written down
    Kind("coat took long", "act", "it took longer than anybody is at one coat", needs=("hours",)),
    Kind("coat long ago", "act", "it was put on long before it is written down", needs=("days",)),
    Kind(
        "coat on part",
        "act",
        "it was put on a part of the job's area alone",
        needs=("area_m2", "share"),
    ),
    Kind(
        "coat too soon",
        "act",
        "it was put on 'hours' after the last, which wants 'other_hours' even at 'temp_c'",
        needs=("hours", "other_hours", "temp_c"),
    ),
    Kind("sanded", "fact", "it was sanded for the next coat", needs=("at",)),
    Kind(
        "coat spoilt",
        "act",
        "it was found spoilt, at 'at', and no longer counts; 'until': when it was taken off",
        needs=("at",),
        may=("until",),
    ),
    Kind("sanded anyway", "fact", "the coat is sanded before the next one in any case"),
    Kind(
        "interval passes waiting",
        "fact",
        "the recoat interval is over, at 'at', before what the next coat waits for",
        needs=("at",),
        because=True,
    ),
)
