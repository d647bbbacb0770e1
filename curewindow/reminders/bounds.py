"""Between which values a space's air has to stay while something in it sets."""

from __future__ import annotations

from curewindow.daysheet.models import DaySheet
from curewindow.judgement.clocks import clocks_of
from curewindow.reminders.known import Known
from curewindow.reminders.models import SettingBounds
from curewindow.reminders.wet import bounds_of, still_setting
from curewindow.rules.limits import AIR, HUMIDITY
from curewindow.situation import Situation


def setting_bounds(facts: Situation, sheet: DaySheet) -> list[SettingBounds]:
    """What readings to come are held against between two looks, one a coat that is not set.

    The same limits as those that :func:`curewindow.reminders.wet.wet_reminders` tells by.
    """
    found = []
    for setting in still_setting(Known(facts, sheet, clocks_of(facts))):
        lows, highs = bounds_of([setting], AIR)
        damp_lows, damp_highs = bounds_of([setting], HUMIDITY)
        found.append(
            SettingBounds(
                space=setting.job.space or "outdoors",
                until=setting.until,
                air_low_c=max(lows, default=None),
                air_high_c=min(highs, default=None),
                rh_low_pct=max(damp_lows, default=None),
                rh_high_pct=min(damp_highs, default=None),
            )
        )
    return found
