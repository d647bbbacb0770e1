"""A change that is only thought of: what it is, and what was taken for granted of it."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    Kind(
        "change",
        "fact",
        "what would be otherwise in a space: 'temp_c' held, or state 'heater off'; a heater of "
        "'power_w'; 'vents' or 'air_changes_h'; kind_of 'off', 'on' or that of a dehumidifier of "
        "'litres' a day; because: each 'door then'",
        needs=("space",),
        may=("temp_c", "state", "power_w", "vents", "air_changes_h", "kind_of", "litres"),
        because=True,
    ),
    Kind("door then", "fact", "state 'open' or 'shut'", needs=("other_space", "state")),
    Kind("as forecast alone", "fact", "one member of the forecast, so far", needs=("until",)),
    Kind(
        "heater too weak",
        "fact",
        "the air gets to 'temp_c' at most where 'other_temp_c' is wanted",
        needs=("temp_c", "other_temp_c"),
    ),
    Kind("drier in the cold", "fact", "a condensing dehumidifier takes out little"),
    Kind("water runs down", "fact", "more than some 100 g/m² does not stay"),
    Kind("heater brought", "fact", "taken as electric, without a glowing element"),
    Kind(
        "door size taken",
        "fact",
        "a door nobody described",
        needs=("other_space", "width_m", "height_m"),
    ),
    Kind(
        "air change taken",
        "fact",
        "of vents 'shut' or 'ajar'",
        needs=("vents", "air_changes_h"),
    ),
)
