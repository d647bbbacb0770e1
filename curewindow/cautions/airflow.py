"""How much outside air a coat's solvent asks for."""

from __future__ import annotations

from collections.abc import Iterator

from curewindow.boat.amount import product_litres
from curewindow.boat.effort import hands_on_h
from curewindow.boat.schema import Job, Space, Step
from curewindow.cautions.caution import Caution, warning
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
_STAYS = (
    "This holds down the danger of fire only: people are harmed by far less, vapour is heavier "
    "than air and gathers low, so draw air out of the lowest place, let fresh air in opposite, "
    "use a fan that cannot spark, and wear the mask the data sheet names."
)


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
) -> Iterator[Caution]:
    """What to say about the air that a solvent-borne product needs indoors."""
    if space is None or "flammable solvent" not in sheet.hazards:
        return
    flow = solvent_airflow_m3_h(sheet, job, step)
    if flow is None:
        yield warning(
            "vapour",
            f"air it needs is not known: a strong draught through the {space.name}",
            f"{sheet.name}: how much air its vapour needs cannot be worked out here (the sheet or "
            f"the job lacks solvent content, solvent figures, area or amount): keep a strong "
            f"draught through the {space.name} while it is put on and until it is dry. {_STAYS}",
        )
        return
    changes = f", {flow / space.volume:.0f} times its air every hour" if space.volume else ""
    yield warning(
        "vapour",
        f"at least {_rounded_up(flow):.0f} m³/h of outside air through the {space.name} until dry",
        f"{sheet.name}: at least {_rounded_up(flow):.0f} m³/h of outside air through the "
        f"{space.name}{changes}, from opening the tin until it is dry, to stay below a tenth of "
        f"the lower explosive limit ({sheet.solvent.name if sheet.solvent else ''}). {_STAYS}",
    )


def _rounded_up(flow: float) -> float:
    """Two figures are all the estimate is good for, rounded to more air."""
    step = 1.0
    while flow / step > 100.0:
        step *= 10.0
    return -(-flow // step) * step
