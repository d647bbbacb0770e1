"""How much outside air a coat's solvent asks for."""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.boat.amount import product_litres
from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Space, Step
from curewindow.findings import Finding, finding
from curewindow.physics.vapour import SOLVENTS, dilution_airflow
from curewindow.sheets.schema import Sheet

# Where someone works in the space; see physics.vapour.
_SHARE_OF_LEL = 0.1
# Air in a boat goes past corners and bilges: 3 to 10 is common practice, no source.
_MIXING = 5.0
# Sheets give solvent by mass. The lightest usual solvent (naphtha, 0.74 kg/L; US 29
# CFR 1910.94 table G-11, from memory) makes the most litres of it: the safe side.
_SOLVENT_KG_L = 0.74
_SHORTEST_H = 0.25


def solvent_airflow_m3_h(sheet: Sheet, job: Job, step: Step | None) -> float | None:
    """Outside air that keeps a coat's vapour at a tenth of the lower explosive limit.

    Parameters
    ----------
    sheet : Sheet
        The product.
    job : Job
        For area and amount.
    step : Step or None
        For the hands-on time, in which all solvent is taken to leave: the safe side.

    Returns
    -------
    float or None
        m³/h; None where sheet or job lack a figure for it.
    """
    litres = product_litres(sheet, job)
    content = sheet.amounts.solvent
    solvent = sheet.solvent
    if litres is None or not content or solvent is None:
        return None
    vapour = solvent.vapour_per_litre
    if vapour is None:
        known = SOLVENTS.get(solvent.name.strip().lower())
        if known is None:
            return None
        vapour = known.vapour_m3_per_l
    hours = max(hands_on_h(step, job) if step is not None else 1.0, _SHORTEST_H)
    rate = litres * content / 1000.0 / _SOLVENT_KG_L / hours
    return dilution_airflow(rate, vapour, solvent.lower_explosive_limit, _SHARE_OF_LEL, _MIXING)


def vapour_cautions(
    sheet: Sheet, job: Job, space: Space | None, step: Step | None
) -> Iterator[Finding]:
    """What to say about the air that a solvent-borne product needs indoors."""
    if space is None or "flammable solvent" not in sheet.hazards:
        return
    flow = solvent_airflow_m3_h(sheet, job, step)
    changes = flow / space.volume if flow is not None and space.volume else None
    yield finding(
        "airflow for vapour",
        product=sheet.name,
        space=space.name,
        flow_m3_h=None if flow is None else _rounded_up(flow),
        air_changes_h=changes,
        thing=None if flow is None or sheet.solvent is None else sheet.solvent.name,
    )


def _rounded_up(flow: float) -> float:
    """Two figures are all the estimate is good for, rounded to more air."""
    step = 1.0
    while flow / step > 100.0:
        step *= 10.0
    return -(-flow // step) * step
