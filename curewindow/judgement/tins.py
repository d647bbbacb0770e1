"""Tins that frost has spoilt, or will: what the sheet bears against where they are kept."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import numpy as np

from curewindow.conditions.course import utc64
from curewindow.findings import Finding, finding
from curewindow.rules.tins import good_until
from curewindow.sheets.schema import Sheet
from curewindow.situation import Situation

_FREEZES_C = 0.0
_AHEAD = timedelta(days=2)


def tin_cautions(facts: Situation, stem: str, sheet: Sheet) -> Iterator[Finding]:
    """Cautions for the tin a job's next product comes out of.

    Tins that stand in boat.toml (``[[tin]]``) with the space they are kept in; of the past
    days the air there as read or worked out, and two days ahead, in the middle member.
    """
    for tin in facts.boat.tin:
        if tin.sheet != stem or tin.used_up:
            continue
        end = good_until(tin, sheet.storage)
        if end is not None and end < facts.words.local(facts.now).date():
            noon = datetime.combine(end, time(12), facts.words.zone).astimezone(UTC)
            yield finding("tin past life", product=sheet.name, at=noon)
        if tin.aboard_in is None:
            continue
        conditions = facts.conditions.get(tin.aboard_in)
        if conditions is None:
            continue
        now = utc64(facts.now)
        since = conditions.times[0] if tin.bought is None else np.datetime64(tin.bought, "s")
        air = np.median(conditions.air_c, axis=0)
        past = (conditions.times <= now) & (conditions.times >= since)
        ahead = (conditions.times > now) & (conditions.times <= utc64(facts.now + _AHEAD))
        been, comes = _least(air[past]), _least(air[ahead])
        lowest = sheet.storage.min
        name, kept = sheet.name, tin.aboard_in
        spoils = sheet.storage.frost_spoils
        if spoils and been is not None and been < _FREEZES_C:
            yield finding("tin frozen", product=name, space=kept, temp_c=been)
        elif spoils and comes is not None and comes < _FREEZES_C:
            yield finding("tin will freeze", product=name, space=kept, temp_c=comes)
        elif (
            lowest is not None
            and (coldest := _coldest(been, comes)) is not None
            and coldest < lowest
        ):
            yield finding(
                "tin too cold", product=name, space=kept, temp_c=coldest, other_temp_c=lowest
            )


def _coldest(*values: float | None) -> float | None:
    return min((value for value in values if value is not None), default=None)


def _least(values: np.ndarray) -> float | None:
    known = values[np.isfinite(values)]
    return float(known.min()) if known.size else None
