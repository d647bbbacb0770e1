"""A heater without a flue is not thought of where it must not burn."""

from __future__ import annotations

from datetime import datetime

import numpy as np

from curewindow.boat.schema import Space, Ventilation
from curewindow.cautions.unflued import unflued_refused
from curewindow.conditions.model import AIR_CHANGE_H
from curewindow.errors import CurewindowError
from curewindow.explain.change import Intervention
from curewindow.rules.unflued import against, unflued_for
from curewindow.situation import Situation
from curewindow.voice import full


def refuse_unflued(facts: Situation, space: Space, change: Intervention, until: datetime) -> None:
    """Refuse a change that has one alight vents shut, overnight, unattended or near sleepers.

    Raises
    ------
    CurewindowError
        It would be.
    """
    unflued = unflued_for(facts.boat, space)
    if unflued is None:
        return
    own = AIR_CHANGE_H if space.air_change is None else space.air_change
    less = change.air_changes_h is not None and change.air_changes_h < own
    vents: Ventilation = "closed" if less or change.vent == "closed" else "normal"
    if not _warms(space, change, vents):
        return
    reasons = against(facts.boat, unflued, change.start, until, vents)
    if reasons:
        refusal = unflued_refused(unflued, reasons)
        raise CurewindowError(full(refusal, facts.words))


def _warms(space: Space, change: Intervention, vents: Ventilation) -> bool:
    """Is the heater to burn: by the change, or with vents shut on its routine or what is logged?"""
    if change.setpoint_c is not None:
        return not np.isnan(change.setpoint_c)
    heating = space.heating
    by_itself = heating is not None and bool(heating.routine or heating.held)
    return change.power_w is not None or (by_itself and vents == "closed")
