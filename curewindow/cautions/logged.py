"""What is to be taken care of once something has been written down."""

from __future__ import annotations

from curewindow.boat.schema import Boat, Job
from curewindow.cautions.alone import lit_alone
from curewindow.cautions.gather import cautions_for
from curewindow.cautions.grade import gravest_first
from curewindow.cautions.spaces import heater_cautions
from curewindow.cautions.unflued import unflued_alight
from curewindow.findings import Finding
from curewindow.record.entries import Coat, Heat
from curewindow.rules.unflued import against, unflued_for
from curewindow.sheets.schema import Sheet
from curewindow.voice.cautions import topic


def lit_cautions(boat: Boat, heat: Heat) -> list[Finding]:
    """Dangers of a heater that was lit; none for one that was put out.

    Parameters
    ----------
    boat : Boat
    heat : Heat
        As logged.

    Returns
    -------
    list of Finding
        Gravest first.
    """
    space = boat.find_space(heat.space)
    if space is None or heat.setpoint_c is None:
        return []
    said = list(heater_cautions(space, boat, None))
    unflued = unflued_for(boat, space)
    if unflued is None:
        return gravest_first([*lit_alone(boat, space, heat.at, heat.until), *said])
    reasons = against(boat, unflued, heat.at, heat.until, heat.ventilation)
    if not reasons:
        return said
    alight = unflued_alight(unflued, reasons)
    return [alight, *(each for each in said if topic(each) != topic(alight))]


def coat_on_cautions(boat: Boat, job: Job, coat: Coat, sheet: Sheet) -> list[Finding]:
    """Dangers that hold while a coat that is on dries.

    Parameters
    ----------
    boat : Boat
    job : Job
    coat : Coat
    sheet : Sheet
        The product it was put on with.

    Returns
    -------
    list of Finding
        Gravest first.
    """
    space = None if job.space is None else boat.find_space(job.space)
    step = job.step[coat.step - 1] if 1 <= coat.step <= len(job.step) else None
    return cautions_for([sheet], job, space, boat, step=step)
