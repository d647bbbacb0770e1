"""How a sheet's product hardens at a surface: its tables and its chemistry on a series.

Each time a sheet gives becomes a :class:`Law`: a rate that is 1 over the time it
takes, so that a milestone is reached when the rate has added up to 1.

- Oxidation, epoxy amine, two-part urethane, peroxide and solvent release run by the
  sheet's table and the temperature of the film, which is the surface's.
- Waterborne products run by the table times the drying power of the air over the
  film, relative to the humidity the table was measured at.
- Moisture-curing products run by the table times the water vapour in the air,
  relative to the table's; 'closed up' and 'full cure' also wait for the depth of
  the bead, which grows with the square root of the vapour it has seen.

'Slow' is never ahead of the truth: between two grid points it takes the colder,
wetter (or drier, where water is what hardens it) end of everything, the sheet's
band, and stands still below the stopping temperature. 'Quick' never lags behind:
the other ends, and only a stop the sheet states outright.
"""

from curewindow.curing.laws import (
    Law,
    RecoatRule,
    basis_of,
    milestone_laws,
    recoat_bounds,
    recoat_law,
    stop_below,
)
from curewindow.curing.model import CureModel, IntArray, Unknown
from curewindow.curing.rates import STANDARD_RH_PCT, step_rates

__all__ = [
    "STANDARD_RH_PCT",
    "CureModel",
    "IntArray",
    "Law",
    "RecoatRule",
    "Unknown",
    "basis_of",
    "milestone_laws",
    "recoat_bounds",
    "recoat_law",
    "step_rates",
    "stop_below",
]
