"""Heat that opens a start: the heater run, what it rests on, and what else would do."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

_FUEL = ("fuel", "fuel_amount", "fuel_unit")

KINDS: Final[tuple[Kind, ...]] = (
    # the verdict
    Kind(
        "heater run",
        "act",
        "light the heater ('light_by' at the latest), hold 'temp_c' 'until' then; the coat begins "
        "at 'begins'; 'share' of the heat is the routine's anyway; the air falls to 'other_temp_c' "
        "at full power, while the space is aired or else",
        needs=("space", "light_at", "light_by", "temp_c", "begins", "until", "vents", *_FUEL),
        may=("chance", "cost", "share", "other_temp_c", "aired"),
    ),
    Kind(
        "heat hardens",
        "act",
        "light the heater as for a run: a film that is on hardens sooner, and the step that waits "
        "for it begins at 'begins' instead of 'otherwise' (not within the forecast, where that is "
        "lacking); state: what it is waited for with, 'recoat', 'sand', 'work', 'cover', 'touch "
        "dry' or 'dust'; coat: of 'other_job', where that is not the job's own",
        needs=(
            "space",
            "light_at",
            "light_by",
            "temp_c",
            "until",
            "coat",
            "state",
            "begins",
            *_FUEL,
        ),
        may=("other_job", "otherwise", "chance", "cost", "share"),
    ),
    Kind("no heater", "fact", "no heater is described in the space", needs=("space",)),
    Kind(
        "no attended heat opens",
        "fact",
        "heat opens no start while someone is with the heater, and would if it were left alone; "
        "state: what boat.toml says of that, 'never' or 'asleep aboard'",
        needs=("heater", "space", "until", "state"),
    ),
    Kind(
        "no heat opens",
        "fact",
        "no run of this heater opens a start 'until' then, so far was looked; because: the limit "
        "no heat cures; 'power_w' of heat would do where there are 'other_power_w', or so much "
        "foam",
        needs=("until",),
        may=("power_w", "other_power_w", "thickness_mm", "surface", "outdoors", "u_value"),
        because=True,
    ),
    Kind("heat not needed", "fact", "the next step needs no heat", needs=("do",)),
    Kind("nothing to heat for", "fact", "the job is done"),
    Kind("only a tent", "fact", "outdoors only a tent could be heated"),
    Kind("space not described", "fact", "no weather or no description to reckon a run by"),
    Kind("no heat wanted", "fact", "every job that could go on has a start today, or waits"),
    Kind("each heated alone", "fact", "jobs are planned each by itself"),
    # what a run rests on
    Kind(
        "limits with spare",
        "fact",
        "every limit is kept with so much to spare, from the first stroke to the milestone; "
        "'known': in every member",
        needs=("difference_k", "rh_pct"),
        may=("known",),
    ),
    Kind("bring the tin", "act", "the tin stands there from lighting on and lags behind the air"),
    Kind(
        "not held throughout",
        "fact",
        "the heater gives all it has and the air falls so low between first stroke and milestone",
        needs=("temp_c",),
    ),
    Kind(
        "nobody to close up",
        "act",
        "nobody is aboard when the airing ends 'at': it is worked out as shut from then on",
        needs=("at",),
    ),
    Kind(
        "nobody to turn it down",
        "act",
        "nobody is aboard when the heat may go off 'at'; the next is aboard 'until' then",
        needs=("at",),
        may=("until",),
    ),
    Kind("efficiency assumed", "fact", "a usual efficiency is taken", needs=("fuel", "share")),
    Kind("no fuel price", "fact", "a price for a unit would give the cost", needs=("fuel_unit",)),
    Kind("stove to tend", "danger", "a stove holds no temperature by itself"),
    Kind(
        "heater cycles",
        "fact",
        "on the mean less is needed than the heater burns at least",
        needs=("power_w", "other_power_w"),
    ),
    Kind("routine goes on", "fact", "the heater's routine goes on before, after and where higher"),
    Kind("flame's water counted", "fact", "the water its flame gives off is counted"),
    Kind("joinery lags", "fact", "held to the joinery, which warms slower than the air"),
    Kind("doors shut", "act", "doors to other spaces stay shut: it is worked out so"),
    Kind("airing counted", "fact", "outside air for the vapour is counted", needs=("flow_m3_h",)),
    Kind("dry heat assumed", "fact", "power for a heater that burns nothing inside"),
    Kind(
        "start without heat", "fact", "as things stand the step may be started", needs=("begins",)
    ),
    # what if
    Kind(
        "heater goes out",
        "fact",
        "the heater goes out at night; because: the limit that breaks, at 'begins'; 'until': set "
        "by then without heat",
        needs=("at",),
        may=("hours", "begins", "until"),
        because=True,
    ),
    Kind(
        "one more coat",
        "fact",
        "one more coat behind this one; state 'beyond' the forecast, 'no start' that keeps its "
        "limits, 'no flue' to be held on so long, 'on': put on at 'begins', heat held 'until'",
        needs=("state",),
        may=("begins", "until", "hours", "after", *_FUEL),
    ),
    Kind(
        "other way",
        "fact",
        "another way to a start; kind_of 'later start', 'smaller space', 'dehumidifier', 'more "
        "power' or 'insulation'; 'works': it does",
        needs=("kind_of", "works"),
        may=(
            *("light_at", "temp_c", "begins", "until", "power_w", "other_power_w", "volume_m3"),
            *("thickness_mm", "surface", "outdoors", "u_value", "litres", "aired", *_FUEL, "cost"),
        ),
    ),
)
