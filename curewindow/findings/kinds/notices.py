"""What a notice tells: a step that may be done, a moment not to be missed, a thing to see to."""

from __future__ import annotations

from typing import Final, Literal

from curewindow.findings.kinds.kind import Kind

NoticeKind = Literal[
    "morning",
    "light heater",
    "turn down heater",
    "window opens",
    "window closes",
    "recoat opens",
    "recoat closes",
    "limits",
    "reading overdue",
    "delivery",
    "milestone",
    "plan changed",
    "shelf life",
    "frost",
    "sleep",
    "weather old",
    "trouble",
]
"""The closed list of notices, by the piece of news each is."""

_STEP = ("job", "do")
_COAT = ("coat", "of_coats")

KINDS: Final[tuple[Kind, ...]] = (
    # starts
    Kind(
        "window opens",
        "act",
        "a step may be started from 'begins' on, in a window the morning knew of",
        needs=(*_STEP, "begins"),
        may=(*_COAT, "chance"),
    ),
    Kind("work until", "fact", "the work is over by 'until'", needs=("until", "last_start")),
    Kind("opened by", "fact", "what opens a window", because=True),
    Kind("closed by", "fact", "what closes a window", because=True),
    Kind(
        "last start soon",
        "deadline",
        "the last start of a window, with no other soon after it",
        needs=(*_STEP, "last_start"),
        may=_COAT,
    ),
    Kind("next start", "fact", "the next window after it; none is known without", may=("begins",)),
    # coats that are on
    Kind(
        "time for coat",
        "act",
        "the coat below is ready, and someone is there to put on the next",
        needs=_STEP,
        may=(*_COAT, "sand_first"),
    ),
    Kind("ready since", "fact", "the coat below is ready from 'begins' on", needs=("begins",)),
    Kind(
        "recoat interval until",
        "deadline",
        "the recoat interval ends; 'after': what comes then",
        needs=("until", "after"),
    ),
    Kind(
        "recoat deadline",
        "deadline",
        "the next coat has to go on by 'until'; state 'last': the last moment to begin, 'no "
        "start': there is no window before it ends",
        needs=(*_STEP, "until"),
        may=(*_COAT, "state"),
    ),
    Kind("interval missed", "fact", "what a missed recoat interval costs", needs=("after",)),
    Kind("stands now", "fact", "how the job stands", because=True),
    Kind("coat may be covered", "act", "cured for closing up", needs=("job",)),
    Kind("cured since", "fact", "cured for closing up; 'names' wait for it", needs=("at", "names")),
    Kind("coat cured through", "news", "fully cured by its clock", needs=("job",)),
    Kind("cured by clock", "fact", "the clock's full cure", needs=("at",)),
    Kind("few readings", "act", "its clock rests on few readings"),
    # heat
    Kind(
        "heater to light",
        "act",
        "a heater is to be lit by 'light_at'",
        needs=("space", "light_at"),
    ),
    Kind("coat then", "fact", "what the heat is for", needs=("job", "begins")),
    Kind("log heater lit", "act", "write down that it is lit"),
    Kind("heater down", "act", "a heater that is lit may be turned down", needs=("space",)),
    Kind("coat has set", "fact", "the coat it was lit for has set", needs=("job", "at")),
    Kind("heater held until", "fact", "the log has it held so long", needs=("until",)),
    Kind("log held longer", "act", "write down that it is held longer"),
    # limits while a coat sets
    Kind(
        "limit left",
        "danger",
        "a reading of a space is beyond, or nearing, what its wet coats need; state 'falling', "
        "'rising'; 'known': a heater is there and may be out",
        needs=("space", "value", "limit_value", "unit"),
        may=("state", "known"),
    ),
    Kind(
        "limit to be left",
        "danger",
        "as forecast a space leaves what its wet coats need, from 'begins' on",
        needs=("space",),
        may=("begins", "known"),
        because=True,
    ),
    Kind("not set until", "fact", "coats that are not set", needs=("names", "until")),
    Kind(
        "help wet coat",
        "act",
        "kind_of 'heat': too cold; 'cover': so too, and not to be heated; 'air': too damp or warm; "
        "'air alone': so too, and not to be heated",
        needs=("kind_of",),
    ),
    Kind("read at", "fact", "when it was read", needs=("at",)),
    Kind("worked out", "fact", "worked out, not measured"),
    # what is missing to know
    Kind("reading due", "act", "a reading of a space is due", needs=("space",)),
    Kind("last read", "fact", "the last reading; none at all without", may=("at",)),
    Kind("clocks go by it", "fact", "clocks that need it", needs=("names",)),
    Kind("forecast old", "news", "the forecast was not renewed", needs=("hours",)),
    Kind("none newer", "fact", "all that is told rests on an old forecast"),
    # things
    Kind(
        "delivery due",
        "news",
        "something ordered; state 'due' or 'overdue', 'at' its last day",
        needs=("thing", "state", "at"),
    ),
    Kind("waited for", "fact", "jobs that wait for it", needs=("names",)),
    Kind("write arrived", "act", "arrived = true in work.toml"),
    Kind(
        "shelf life near",
        "news",
        "of a tin; state 'near' or 'over'",
        needs=("product", "at", "state"),
    ),
    Kind("by the sheet", "fact", "state 'unopened' or 'opened'", needs=("state",)),
    Kind("use up or try", "act", "use it before, or try it on a scrap"),
    Kind(
        "cold for tins",
        "news",
        "frost, or cold below a storage limit, where tins stand",
        needs=("space", "at"),
        may=("frost",),
    ),
    Kind("tins it hurts", "fact", "how cold, and which", needs=("temp_c", "names"), may=("frost",)),
    Kind("move tins", "act", "'known': they are listed as kept there", may=("known",)),
    # a plan that holds no more
    Kind("recoat sooner", "deadline", "sooner than was told", needs=("job", "until")),
    Kind("plan changed", "news", "a window that is another one", needs=("job",), because=True),
    Kind("moved by", "fact", "what moves it", because=True),
    # the morning
    Kind("day ahead", "act", "jobs that can start today", needs=("at",), may=("names",)),
    Kind(
        "deadline ahead",
        "deadline",
        "the next coat has to go on by 'until'; 'after': what comes then",
        needs=(*_STEP, "until", "after"),
        may=_COAT,
    ),
    Kind("coat to check", "act", "a coat went through something nobody looked at", needs=("job",)),
    Kind("planned now", "act", "a line of the kept order of work", needs=("thing", "note")),
    Kind("plan to renew", "act", "why the kept order of work may not hold", because=True),
    Kind("go today", "act", "a job that can start today", needs=_STEP, may=_COAT, because=True),
    Kind(
        "go once wiped",
        "act",
        "a job that can start today once its surface is wiped dry",
        needs=_STEP,
        may=_COAT,
        because=True,
    ),
    Kind("heat for job", "act", "heat that opens a start of a job", needs=("job",), because=True),
    Kind("no start today", "fact", "why a job has none", needs=("job",), because=True),
    Kind("news of job", "news", "what is no longer as it was told", needs=("job",), because=True),
    Kind(
        "more of these",
        "fact",
        "lines left out; kind_of 'steps planned', 'jobs without a start' or 'changes'",
        needs=("count", "kind_of"),
    ),
    Kind("typical sheets", "act", "sheets typical of the kind: check the tin"),
)
