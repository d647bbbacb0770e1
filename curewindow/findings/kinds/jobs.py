"""What is to be said of a job's next step: when it may start, and what it waits for."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    # the verdict on a job
    Kind(
        "start today",
        "act",
        "the step may be started today; without 'begins' now; 'until' ends the work begun at "
        "'last_start', 'at' is the best start where that is a good while off",
        needs=("last_start", "until"),
        may=("begins", "at", "chance", "sand_first"),
        because=True,
    ),
    Kind(
        "hands on today",
        "act",
        "a step without a product may be worked on today; without 'begins' now",
        needs=("until",),
        may=("begins",),
    ),
    Kind(
        "window ahead",
        "fact",
        "the next window after today; 'until' ends the work begun at its last start",
        needs=("begins", "until"),
        may=("chance",),
    ),
    Kind(
        "window once wiped",
        "act",
        "the first window once the water that lies on the surface is wiped off and that is logged",
        needs=("begins", "until"),
        may=("chance",),
    ),
    Kind("waits", "fact", "the step waits; for what, and then when", because=True),
    Kind(
        "no window",
        "fact",
        "no start up to the end of the forecast",
        needs=("until",),
        because=True,
    ),
    Kind("refused", "danger", "the step may not be done like this", because=True),
    Kind("done", "fact", "the job is done"),
    # what has to come first
    Kind("after job", "fact", "another job has to be done first", needs=("other_job",)),
    Kind(
        "cure before covering",
        "fact",
        "the job below has to cure before it is covered; state 'not logged': its last coat is not "
        "in the record",
        needs=("other_job",),
        may=("until", "state"),
    ),
    Kind(
        "touch dry first",
        "fact",
        "the other job has to be touch dry",
        needs=("other_job",),
        may=("until",),
    ),
    Kind(
        "delivery awaited",
        "fact",
        "something has to arrive; state 'due today', 'overdue' or 'no date'",
        needs=("thing",),
        may=("until", "state"),
    ),
    Kind("recoat not yet", "fact", "the coat below may not be recoated yet", may=("until",)),
    Kind(
        "last coat soft",
        "fact",
        "the last coat is too soft for the step",
        needs=("do",),
        may=("until",),
        because=True,
    ),
    Kind(
        "vapour of another coat",
        "fact",
        "with that of coats still wet near, more outside air than anybody can make keeps the "
        "vapour below a tenth of what burns; until when, where it is known",
        needs=("other_job", "flow_m3_h"),
        may=("until",),
    ),
    Kind(
        "dust on wet coat",
        "fact",
        "dust would settle in a wet coat",
        needs=("other_job",),
        may=("until",),
    ),
    Kind(
        "film of other job soft",
        "fact",
        "the film of another job it goes on does not bear it yet",
        needs=("other_job",),
        may=("until",),
    ),
    Kind("sheet to put back", "fact", "the sheet of the last coat is missing", needs=("sheet",)),
    # what is done to what is below
    Kind(
        "first done to it",
        "act",
        "what is done to what is below before the product goes on, and the hands-on time of it",
        needs=("do_first", "hours"),
        may=("film",),
    ),
    Kind(
        "test patch first",
        "act",
        "whether it holds on what is below is not sure; without 'known' neither its sheet nor the "
        "table speaks of the pair",
        needs=("product", "hours"),
        may=("film", "known"),
    ),
    Kind(
        "no times for pair",
        "act",
        "the sheet of the film below has no times for 'sheet': state 'self' (those for another "
        "coat of it are taken) or 'none'",
        needs=("sheet", "state"),
    ),
    Kind("below not told", "fact", "the work list does not say what the job goes on"),
    Kind("sandable taken", "fact", "the sheet has no time for sanding", needs=("sheet",)),
    # what is told with a job
    Kind(
        "times with vents open",
        "fact",
        "times and limits hold with so much outside air through the space, and with it shut",
        needs=("flow_m3_h", "space"),
        may=("known",),
    ),
    Kind(
        "times with space shut",
        "fact",
        "times and limits hold for the space shut: aired it is nearer to the outside air",
        needs=("space",),
    ),
    Kind("own water counted", "fact", "the water the coat gives off itself is counted"),
    Kind("wipe and log", "act", "wipe the surface dry, then log it", needs=("job",)),
    Kind(
        "bring tin in",
        "act",
        "the tin has to stand where the work is from 'at' on, to be warm enough for the start; "
        "it is kept in 'space', or state 'home' or 'deck'",
        needs=("at",),
        may=("space", "state"),
    ),
    Kind(
        "carry tin warm",
        "act",
        "keep the tin somewhere warm ('temp_c') and carry it aboard right before the start: it "
        "stays warm enough for 'hours'; without 'known' that is not how it is kept now",
        needs=("temp_c",),
        may=("hours", "known"),
    ),
    Kind(
        "hands-on time assumed",
        "fact",
        "a usual hands-on time is taken, for the area where one is given",
        needs=("hours",),
        may=("area_m2",),
    ),
    Kind(
        "steps not logged",
        "fact",
        "earlier steps are not in the record but a later one is, so they count as done",
        needs=("names",),
    ),
    Kind(
        "steps renumbered",
        "fact",
        "the record has a coat of 'sheet' in step 'count', work.toml has something else there",
        needs=("sheet", "count"),
        may=("do", "thing"),
    ),
    Kind("step before not possible", "fact", "the step before it is not possible now"),
    Kind(
        "plan out of date",
        "news",
        "why the kept order may not hold: state 'files' (they were changed), 'done otherwise' "
        "('other_job'), 'spoilt' (a coat of 'other_job' since), 'weather' (made 'at', for the "
        "weather stated then)",
        needs=("state",),
        may=("other_job", "at"),
    ),
    Kind(
        "waits in plan",
        "fact",
        "a planned step waits; because: for what",
        needs=("until",),
        because=True,
    ),
    Kind("last start", "fact", "the last start of the window it is in", needs=("last_start",)),
    Kind("one pair of hands", "fact", "jobs are judged each by itself: two may not fit one person"),
    Kind("no jobs", "act", "there is no job in work.toml yet"),
)
