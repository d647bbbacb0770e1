"""Readings that are not used, and sensors: said, since the sheet does without them."""

from __future__ import annotations

from datetime import timedelta
from typing import Final

from curewindow.boat.folder import RECORD_FILE
from curewindow.findings import Finding, finding
from curewindow.record.doubted import doubted_in
from curewindow.record.marking import marks_said
from curewindow.situation import Situation

_LATELY: Final = timedelta(hours=6)


def set_aside(facts: Situation) -> list[Finding]:
    """What to tell of readings of the last day that are not used, and of sensors.

    Raises
    ------
    RecordError
        The record cannot be read.
    """
    return [*marks_said(facts.marks), *_sensors(facts)]


def _sensors(facts: Situation) -> list[Finding]:
    """What to tell of each sensor whose last values were set aside."""
    if not facts.boat.sensor:
        return []
    lately = doubted_in(facts.folder / RECORD_FILE, facts.now - _LATELY)
    notes = []
    for sensor in facts.boat.sensor:
        own = [
            item
            for item in lately
            if item.reading.source == sensor.name and item.reading.at <= facts.now
        ]
        if not own:
            continue
        last = own[-1]
        # of a drifting hygrometer the temperature goes on being kept
        temp_aside = last.reading.air_c is not None or last.reading.surface_c is not None
        kept = [reading.at for reading in facts.readings if reading.source == sensor.name]
        if temp_aside and kept and kept[-1] >= last.reading.at:
            continue  # believed again
        notes.append(
            finding(
                "sensor doubted",
                thing=sensor.name,
                space=sensor.space,
                state="all" if temp_aside else "humidity",
                note=last.why,
                at=last.reading.at,
            )
        )
    return notes
