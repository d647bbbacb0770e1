"""How much of a product a coat takes."""

from __future__ import annotations

from curewindow.boat.schema import Job
from curewindow.sheets.schema import Sheet


def product_litres(sheet: Sheet, job: Job) -> float | None:
    """Product that one coat takes, litres; None where neither sheet nor job says.

    The job's ``amount``, else its area by the sheet's practical spreading rate, else
    by its wet film and loss.
    """
    if job.amount:
        return job.amount
    amounts = sheet.amounts
    if not job.area:
        return None
    area = coated_m2(sheet, job.area)
    if amounts.spreading_rate:
        return area / amounts.spreading_rate
    if amounts.wet_film:
        kept = 1.0 - min(amounts.loss or 0.0, 90.0) / 100.0
        return area * amounts.wet_film * 1e-3 / kept
    return None


def coated_m2(sheet: Sheet, area_m2: float) -> float:
    """What is coated of an area: of a joint with a contact adhesive both faces."""
    return 2.0 * area_m2 if sheet.amounts.both_faces else area_m2


def water_g_l(sheet: Sheet) -> float:
    """Water that a litre of a product gives off as it dries, g.

    What the sheet says; of a waterborne one that does not, all that is neither solids
    nor solvent, taken as heavy as water: estimate.
    """
    amounts = sheet.amounts
    if amounts.water is not None:
        return amounts.water
    if sheet.chemistry != "waterborne" or amounts.volume_solids is None:
        return 0.0
    return max(1000.0 * (1.0 - amounts.volume_solids / 100.0) - (amounts.solvent or 0.0), 0.0)
