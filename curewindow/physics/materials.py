"""What hulls, decks and linings are made of: conductivity, density, heat capacity.

Sources, short: 'ISO 10456' is ISO 10456:2007, tables 3 and 4 (design values);
'ISO 10077-2' is EN ISO 10077-2:2003, table A.1; 'CIBSE A' is CIBSE Guide A,
tables 3.36 to 3.38. 'typical of the kind' has no single source. A product's own
declared value is always better.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Material:
    """A layer's material.

    Attributes
    ----------
    conductivity_w_mk : float
        Thermal conductivity, W/m K.
    density_kg_m3 : float
        Density, kg/m³.
    heat_capacity_j_kgk : float
        Specific heat capacity, J/kg K.
    source : str
        Where the values come from.
    """

    conductivity_w_mk: float
    density_kg_m3: float
    heat_capacity_j_kgk: float
    source: str


_MEMORY = "ISO 10456 (from memory)"
_BOTH = "ISO 10077-2; heat capacity ISO 10456"
_TYPICAL = "typical of the kind, no single source"

MATERIALS: dict[str, Material] = {
    # metals
    "steel": Material(50.0, 7800.0, 450.0, _BOTH),
    "stainless steel": Material(17.0, 7900.0, 460.0, _BOTH),
    "aluminium": Material(160.0, 2800.0, 880.0, _BOTH),
    # plastics and glass
    "solid GRP": Material(0.40, 1900.0, 1200.0, "ISO 10077-2; heat capacity typical of the kind"),
    "polyester resin": Material(0.19, 1400.0, 1200.0, "ISO 10077-2; heat capacity ISO 10456"),
    "epoxy resin": Material(0.20, 1200.0, 1400.0, _MEMORY),
    "rigid PVC": Material(0.17, 1390.0, 900.0, _BOTH),
    "acrylic": Material(0.18, 1180.0, 1500.0, _BOTH),
    "polycarbonate": Material(0.20, 1200.0, 1200.0, _BOTH),
    "glass": Material(1.0, 2500.0, 750.0, _BOTH),
    # wood
    "plywood": Material(0.17, 700.0, 1600.0, _MEMORY),
    "light plywood": Material(0.13, 500.0, 1600.0, _MEMORY),
    "oak": Material(0.18, 700.0, 1600.0, "ISO 10077-2, hardwood; heat capacity ISO 10456"),
    "teak": Material(0.18, 700.0, 1600.0, "ISO 10077-2, hardwood; heat capacity ISO 10456"),
    "mahogany": Material(0.18, 700.0, 1600.0, "ISO 10077-2, hardwood; heat capacity ISO 10456"),
    "pine": Material(0.13, 500.0, 1600.0, "ISO 10077-2, softwood; heat capacity ISO 10456"),
    "balsa core": Material(0.052, 150.0, 1600.0, _TYPICAL),
    "cork": Material(0.065, 200.0, 1560.0, _MEMORY),
    # foams and insulation
    "PVC foam": Material(0.035, 80.0, 1470.0, "CIBSE A; density typical of structural core"),
    "PU foam": Material(0.030, 35.0, 1400.0, "CIBSE A, aged; heat capacity ISO 10456"),
    "XPS foam": Material(0.034, 33.0, 1450.0, _TYPICAL + "; heat capacity ISO 10456"),
    "EPS foam": Material(0.038, 20.0, 1450.0, _TYPICAL + "; heat capacity ISO 10456"),
    "elastomeric foam": Material(
        0.040, 60.0, 1500.0, "closed-cell sheet: " + _TYPICAL + "; ISO 10077-2 has 0.05 for strip"
    ),
    "mineral wool": Material(0.040, 30.0, 1030.0, _TYPICAL + "; heat capacity ISO 10456"),
    # linings and the rest
    "carpet lining": Material(0.06, 200.0, 1300.0, _MEMORY),
    "rubber": Material(0.17, 1200.0, 1400.0, _MEMORY),
    "bitumen": Material(0.17, 1050.0, 1000.0, _MEMORY),
    "water": Material(0.60, 1000.0, 4190.0, _MEMORY),
    # Depends on the gap's thickness: see panel.air_gap_resistance. This is 25 mm.
    "air gap": Material(0.139, 1.23, 1008.0, "ISO 6946, unventilated 25 mm gap, heat sideways"),
}
"""Materials by name."""
