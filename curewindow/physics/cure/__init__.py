"""How fast a coat hardens, how far it has got, and when it gets to a milestone."""

from curewindow.physics.cure.progress import (
    cumulative,
    milestone_index,
    milestone_index_from,
)
from curewindow.physics.cure.rates import (
    ACTIVATION_ENERGIES,
    BANDS,
    EXTRAPOLATED_BAND,
    ActivationEnergy,
    AmongRows,
    Basis,
    RateTable,
    Side,
    banded_rate,
    equivalent_age,
    rate_among,
    rate_factor,
    table_hours,
    table_rate,
)
from curewindow.physics.cure.water import (
    cure_depth_mm,
    drying_factor,
    exposure_for_depth_h,
    moisture_factor,
)

__all__ = [
    "ACTIVATION_ENERGIES",
    "BANDS",
    "EXTRAPOLATED_BAND",
    "ActivationEnergy",
    "AmongRows",
    "Basis",
    "RateTable",
    "Side",
    "banded_rate",
    "cumulative",
    "cure_depth_mm",
    "drying_factor",
    "equivalent_age",
    "exposure_for_depth_h",
    "milestone_index",
    "milestone_index_from",
    "moisture_factor",
    "rate_among",
    "rate_factor",
    "table_hours",
    "table_rate",
]
