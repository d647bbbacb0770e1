"""What is to be taken care of once something has been written down."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta

from curewindow.boat.joined import joined_spaces
from curewindow.boat.schema import Boat, Job, Space
from curewindow.cautions.airflow import WetFilm, films_airflow_m3_h
from curewindow.cautions.alone import lit_alone
from curewindow.cautions.fire import fire_cautions, flammable
from curewindow.cautions.gather import cautions_for
from curewindow.cautions.grade import gravest_first
from curewindow.cautions.spaces import heater_cautions
from curewindow.cautions.unflued import unflued_alight
from curewindow.findings import Finding
from curewindow.record.entries import Coat, Heat
from curewindow.rules.milestones import HARD, SKINNED, Milestones
from curewindow.rules.sleep import least_breathed
from curewindow.rules.unflued import against, unflued_for
from curewindow.rules.vapour import TOUCH_DRY_TIMES
from curewindow.sheets.schema import Sheet
from curewindow.voice.cautions import topic


@dataclass(frozen=True, slots=True)
class Recorded:
    """A coat of the record with its sheet, and its job where that is known.

    Without one nobody knows where it is, nor how much of it: it may be anywhere.
    """

    coat: Coat
    job: Job | None
    sheet: Sheet

    def burns(self, now: datetime) -> bool:
        """May it still give off vapour that a flame lights? By the slowest time on its sheet."""
        if not flammable(self.sheet) or now < self.coat.start:
            return False
        return now < self.gone

    @property
    def gone(self) -> datetime:
        """From when on it gives off no solvent to speak of, in the slowest column of its sheet."""
        return self.coat.end + timedelta(hours=slowest_vapour_h(self.sheet))

    @property
    def hard(self) -> datetime:
        """From when on nobody minds sleeping over it, its solvent apart; the same way."""
        slowest = timedelta(hours=slowest_h(self.sheet, HARD) or 0.0)
        return self.coat.end + max(slowest, least_breathed(self.sheet))


def slowest_vapour_h(sheet: Sheet) -> float:
    """Hours a film gives off solvent at the longest, in the slowest column of its sheet."""
    skinned = slowest_h(sheet, SKINNED)
    return (slowest_h(sheet, HARD) or 0.0) if skinned is None else skinned * TOUCH_DRY_TIMES


def slowest_h(sheet: Sheet, names: Milestones) -> float | None:
    """Hours to the first of some milestones the sheet has times for, in its slowest column."""
    return next((max(hours) for name in names if (hours := sheet.cure.hours(name))), None)


def over_recorded(
    boat: Boat, space: Space, coats: Iterable[Recorded], now: datetime
) -> list[Finding]:
    """Dangers of lighting a space's heater over coats that are on there, or where air gets to.

    What the conditions have been is not looked at: each is taken as slow as its sheet has it.
    """
    near = {each.name for each in joined_spaces(boat, space)}
    films = [
        WetFilm(each.sheet, each.job)
        for each in coats
        if (each.job is None or each.job.space in near) and each.burns(now)
    ]
    known = films_airflow_m3_h(films) is not None
    sheets = [each.sheet for each in films]
    return list(fire_cautions(sheets, space, boat, space.heating, airflow_known=known))


def lit_cautions(boat: Boat, heat: Heat, coats: Iterable[Recorded] = ()) -> list[Finding]:
    """Dangers of a heater that was lit; none for one that was put out.

    Parameters
    ----------
    boat : Boat
    heat : Heat
        As logged.
    coats : iterable of Recorded
        Those of the record: it may have been lit over their vapour.

    Returns
    -------
    list of Finding
        Gravest first.
    """
    space = boat.find_space(heat.space)
    if space is None or heat.setpoint_c is None:
        return []
    said = [*over_recorded(boat, space, coats, heat.at), *heater_cautions(space, boat, None)]
    unflued = unflued_for(boat, space)
    if unflued is None:
        return gravest_first([*lit_alone(boat, space, heat.at, heat.until), *said])
    reasons = against(boat, unflued, heat.at, heat.until, heat.ventilation)
    if not reasons:
        return gravest_first(said)
    alight = unflued_alight(unflued, reasons)
    return gravest_first([alight, *(each for each in said if topic(each) != topic(alight))])


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
