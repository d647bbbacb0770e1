"""What was taken for granted of a space, its air and its surfaces."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "space assumed",
        "fact",
        "figures of a space that boat.toml does not give",
        needs=("space",),
        may=("air_changes_h", "heat_kj_k", "moisture_g_h"),
    ),
    Kind(
        "heater assumed",
        "fact",
        "how a heater is taken to run: state 'routine' or 'off'; 'known': the log says otherwise "
        "for a time",
        needs=("space", "state"),
        may=("known",),
    ),
    Kind(
        "dehumidifier assumed",
        "fact",
        "how a dehumidifier is taken to run; without 'rh_pct' it is off",
        needs=("space",),
        may=("rh_pct",),
    ),
    Kind(
        "heater out of order",
        "fact",
        "a heater cannot be used for a time, by boat.toml",
        needs=("space", "begins", "until"),
    ),
    Kind(
        "heater read to be out",
        "news",
        "the log has the heater lit, but so little was read that it is taken as out",
        needs=("space", "temp_c"),
    ),
    Kind(
        "heater by the log",
        "fact",
        "how the log has a heater stand; without 'temp_c' it is off",
        needs=("space", "until"),
        may=("temp_c", "vents"),
    ),
    Kind(
        "doors assumed",
        "fact",
        "doors taken as open or shut; 'space' to 'spaces', state 'open' or 'shut'",
        needs=("space", "spaces", "state"),
    ),
    Kind("weather has holes", "fact", "conditions in holes of the weather are not known"),
    Kind(
        "weather figure missing",
        "fact",
        "no figures for 'thing' part of the time: kind_of 'wind', 'cloud' or 'sun'",
        needs=("kind_of",),
    ),
    Kind(
        "past weather missing",
        "fact",
        "little past weather is known: the start is worked out from the forecast's first day",
    ),
    Kind(
        "water estimated",
        "fact",
        "how warm the water is taken to be, give or take 'difference_k'; state: from what",
        needs=("temp_c", "difference_k", "state"),
    ),
    Kind("space never read", "fact", "no reading from a space: worked out", needs=("space",)),
    Kind("space read long ago", "fact", "the last reading from a space", needs=("space", "hours")),
    Kind(
        "space unknown unread", "fact", "nothing is known of it without readings", needs=("space",)
    ),
    Kind(
        "space by readings alone",
        "fact",
        "known from readings alone, the last so long ago; let go within 'other_hours'",
        needs=("space", "hours", "other_hours"),
    ),
    Kind(
        "surface never read",
        "fact",
        "a surface taken as cold as a bare skin between the air inside and outside",
        needs=("space", "surface"),
    ),
    Kind(
        "surface by its readings",
        "fact",
        "a surface is taken as far below the air as it was ever read; state 'follows outside': "
        "further where it is colder outside; 'no contrast': no warmer than a bare skin",
        needs=("space", "surface", "difference_k", "state"),
    ),
    Kind("deck in the open", "fact", "outdoors: a light surface, level, open to the whole sky"),
    Kind("wood thickness assumed", "fact", "how thick bare wood is taken", needs=("thickness_mm",)),
    Kind("wood never read", "act", "wood moisture is worked out, never read"),
    Kind("wood read long ago", "act", "wood moisture was read so long ago", needs=("hours",)),
    Kind(
        "fit left aside",
        "act",
        "a space is described otherwise than when it was fitted",
        needs=("space", "at"),
    ),
    Kind(
        "space fitted",
        "fact",
        "a space fitted to its readings; 'hours' where that is long ago",
        needs=("space", "count", "at", "difference_k"),
        may=("hours",),
    ),
)
