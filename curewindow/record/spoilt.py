"""Coats that were found spoilt: they stay in the record and no longer count."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from datetime import datetime

from curewindow.record.entries import Coat, Done, Inspection


def with_spoilt(coats: Iterable[Coat], inspections: Iterable[Inspection]) -> list[Coat]:
    """Coats with when they were found spoilt.

    What lies on a spoilt coat comes off with it; a coat that was begun afterwards is another,
    though it has the same number.
    """
    found: dict[str, list[Inspection]] = {}
    for each in inspections:
        if each.found == "spoilt":
            found.setdefault(each.job, []).append(each)
    return [
        replace(coat, spoilt=_spoilt_at(coat, found[coat.job])) if coat.job in found else coat
        for coat in coats
    ]


def _spoilt_at(coat: Coat, found: Iterable[Inspection]) -> datetime | None:
    return min(
        (
            each.at
            for each in found
            if coat.start <= each.at and (each.step, each.coat) <= (coat.step, coat.coat)
        ),
        default=None,
    )


def counting(coats: Iterable[Coat]) -> list[Coat]:
    """Coats that are not spoilt."""
    return [coat for coat in coats if coat.spoilt is None]


def still_done(coats: Iterable[Coat], dones: Iterable[Done]) -> list[Done]:
    """Steps that count as done: not those done on a coat that was found spoilt after them."""
    spoilt = [(coat, coat.spoilt) for coat in coats if coat.spoilt is not None]
    return [
        done
        for done in dones
        if not any(
            coat.job == done.job and done.step > coat.step and coat.start <= done.at <= at
            for coat, at in spoilt
        )
    ]
