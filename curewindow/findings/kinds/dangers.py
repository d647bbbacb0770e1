"""What can hurt someone, gravest first: whatever tells of a step or heat names its dangers.

The hazards of a sheet keep the names its schema has for them.
"""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

_PRODUCT: Final = ("product",)
_FIRE: Final = ("heater", "space")

KINDS: Final[tuple[Kind, ...]] = (
    # fire
    Kind(
        "ignition over vapour",
        "danger",
        "a heater lights the vapour of 'products'; it stands in 'space', or there, joined to "
        "'other_space'; state 'open flame', 'glowing', 'stove' or 'no flue'",
        needs=("products", "heater", "space", "state", "refuses"),
        may=("other_space",),
    ),
    Kind(
        "flame over vapour",
        "danger",
        "the flame of 'thing', no heater, lights the vapour of 'products'; it stands in 'space', "
        "or there, joined to 'other_space'; state 'by itself' or 'when used': how it is lit",
        needs=("products", "thing", "space", "state", "refuses"),
        may=("other_space",),
    ),
    Kind(
        "spark over vapour",
        "danger",
        "'thing' sparks near the vapour of 'products': off before the tin is opened; place and "
        "state as of 'flame over vapour'; refuses where the airflow cannot be worked out",
        needs=("products", "thing", "space", "state"),
        may=("other_space", "refuses"),
    ),
    Kind(
        "flammable vapour",
        "danger",
        "'products' give off flammable vapour; 'heater': one burns in a space it reaches; "
        "outdoors: one without a flue is aboard",
        needs=("products",),
        may=("outdoors", "heater"),
    ),
    # carbon monoxide
    Kind(
        "no flue, refused",
        "danger",
        "an order to light a heater without a flue; 'against' lists sleepers, vents, night, nobody "
        "aboard; 'spaces' are those slept in",
        needs=(*_FIRE, "against", "refuses"),
        may=("spaces",),
    ),
    Kind(
        "no flue, no run short enough",
        "danger",
        "by day, attended and aired, no run of a heater without a flue keeps the coat's limits",
        needs=(*_FIRE, "refuses"),
    ),
    Kind(
        "no flue, alight",
        "danger",
        "a heater without a flue is lit by the log against what 'against' lists",
        needs=(*_FIRE, "against"),
        may=("spaces",),
    ),
    Kind("no flue, not planned", "danger", "the plan lights no heater without a flue", needs=_FIRE),
    Kind(
        "not left alone, not planned",
        "danger",
        "the plan lights a heater that is not left alone only for what sets in hours aboard",
        needs=_FIRE,
    ),
    Kind(
        "no flue",
        "danger",
        "a heater burns without a flue; 'area_cm2' of openings all that burns there asks for",
        needs=_FIRE,
        may=("area_cm2",),
    ),
    # hazards of a sheet that are a danger wherever it is used, gravest first
    Kind(
        "isocyanate",
        "danger",
        "its vapour or spray gives asthma; state 'bead' or 'spray', else by brush or roller; "
        "refuses: sprayed without air-fed breathing apparatus",
        needs=_PRODUCT,
        may=("state", "refuses"),
    ),
    Kind(
        "spray mist",
        "danger",
        "what is sprayed hangs in the air: it is breathed, and burns colder than in the tin",
        needs=_PRODUCT,
        may=("outdoors",),
    ),
    Kind(
        "styrene", "danger", "its vapour numbs and gathers low", needs=_PRODUCT, may=("outdoors",)
    ),
    Kind("epoxy sensitiser", "danger", "uncured it gives a lasting allergy", needs=_PRODUCT),
    Kind("peroxide", "danger", "its catalyst blinds", needs=_PRODUCT),
    Kind("heat in the pot", "danger", "a full pot heats itself", needs=_PRODUCT),
    Kind("self-heating rags", "danger", "its rags light themselves", needs=_PRODUCT),
    Kind("methanol or oxime vapour", "danger", "given off while it cures", needs=_PRODUCT),
    Kind("biocide", "danger", "its dust is poison", needs=_PRODUCT),
    Kind("skin irritant", "danger", "it irritates skin and eyes", needs=_PRODUCT),
    # what is breathed
    Kind(
        "airflow out of reach",
        "danger",
        "more outside air than anybody can make keeps the vapour below a tenth of what burns",
        needs=("product", "space", "flow_m3_h", "refuses"),
        may=("air_changes_h",),
    ),
    Kind(
        "confined space",
        "danger",
        "a space so small that vapour gathers in it and nobody gets out in time",
        needs=("space", "volume_m3"),
    ),
    Kind(
        "airflow for vapour",
        "danger",
        "outside air that keeps the vapour of 'thing', and of films of 'products' that are on, "
        "below a tenth of what burns; without 'flow_m3_h' it cannot be worked out",
        needs=("product", "space"),
        may=("flow_m3_h", "air_changes_h", "thing", "products", "known"),
    ),
    Kind(
        "nobody sleeps here tonight",
        "danger",
        "at bedtime films of 'products' will still give off what nobody sleeps over, in 'space' or "
        "where its air gets to; without a space: anywhere aboard; until when, where it is known",
        needs=("products",),
        may=("space", "until"),
    ),
    Kind(
        "sleepers over vapour",
        "danger",
        "someone sleeps where the vapour of 'products' gets to",
        needs=("products", "spaces"),
    ),
    Kind(
        "sleepers apart from vapour",
        "danger",
        "someone sleeps aboard, in no space joined to it",
        needs=("products",),
    ),
    Kind(
        "sleepers not known",
        "danger",
        "boat.toml does not say where someone sleeps, and 'products' give off what nobody sleeps "
        "over",
        needs=("products",),
    ),
    Kind("sanding dust", "danger", "dust harms the lungs"),
    Kind(
        "fresh film sanded",
        "danger",
        "what is sanded has not cured: state 'epoxy' or 'isocyanate'",
        needs=("product", "state"),
    ),
    Kind("oily dust", "danger", "dust of a film of drying oil heats itself", needs=("film",)),
    Kind("antifouling sanded", "danger", "what is sanded is antifouling, whose dust is poison"),
    Kind("old paint", "danger", "an old film may hold lead or antifouling poison"),
    # heaters left alone
    Kind(
        "heater burns",
        "danger",
        "a heater with a flue burns aboard: alarm, flue, inlet; 'area_cm2' of openings to the "
        "outside where it draws its air from the cabin",
        may=("area_cm2",),
    ),
    Kind("heater at night", "danger", "a heater is set to run through the night", needs=_FIRE),
    Kind(
        "electric heater at night",
        "danger",
        "an electric heater is set to run through the night where someone sleeps",
        needs=("space",),
    ),
    Kind("heat unattended", "danger", "an order heats while nobody is aboard or awake"),
    Kind("never left alone", "danger", "an order lights a heater that is never left", needs=_FIRE),
    Kind(
        "left alone",
        "danger",
        "a heater runs, or is to run, alone against what boat.toml says; 'against' lists nobody "
        "aboard, night; state 'routine', 'log' or 'order'",
        needs=(*_FIRE, "against", "state"),
        may=("refuses",),
    ),
    Kind(
        "drier over vapour",
        "danger",
        "a dehumidifier may spark, and lets no air in; refuses where the airflow is not known",
        may=("refuses",),
    ),
    Kind(
        "too little air for vapour",
        "danger",
        "a change leaves less outside air than the coat's vapour needs",
        needs=("job",),
        may=("flow_m3_h",),
    ),
    # what is below
    Kind(
        "does not go on",
        "danger",
        "the product does not go on 'film', that of 'other_job' where it is one's; 'cure' 'fresh': "
        "on none that has not cured; state: why, of a closed list; 'count': number of a "
        "later step",
        needs=("product", "film", "refuses"),
        may=("cure", "other_job", "state", "count"),
    ),
    Kind(
        "launch before immersion",
        "danger",
        "a coat below the waterline will not be fit for water by the launch, at 'at'; 'until': "
        "when it will, where that is known",
        needs=("job", "product", "at"),
        may=("until",),
    ),
    # tins
    Kind(
        "tin frozen", "danger", "frost was where its tin is", needs=("product", "space", "temp_c")
    ),
    Kind("tin past life", "danger", "its tin is past its shelf life", needs=("product", "at")),
    Kind(
        "tin will freeze",
        "danger",
        "frost comes where its tin is",
        needs=("product", "space", "temp_c"),
    ),
    Kind(
        "tin too cold",
        "danger",
        "its tin is colder than it is to be kept, 'other_temp_c'",
        needs=("product", "space", "temp_c", "other_temp_c"),
    ),
    Kind("goes on what is below", "act", "another product: does it go on what is below?"),
)
