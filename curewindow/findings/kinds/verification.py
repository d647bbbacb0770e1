"""What came of past forecasts and stated windows."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

_STATED_HELD = ("chance", "other_chance")

KINDS: Final[tuple[Kind, ...]] = (
    # of windows
    Kind("no window judged", "fact", "no stated window is past and seen yet"),
    Kind(
        "windows held",
        "fact",
        "'count' windows on so many 'days' were stated with 'chance' on average; 'other_chance' "
        "of them held",
        needs=("count", "days", *_STATED_HELD),
    ),
    Kind(
        "too few days",
        "fact",
        "so many days are too few to tell luck from skill: 'count' are needed",
        needs=("days", "count"),
    ),
    Kind(
        "held otherwise",
        "fact",
        "of those stated with 'chance' the share 'other_chance' held: more than chance explains",
        needs=_STATED_HELD,
    ),
    Kind("held as stated", "fact", "no group of windows is off by more than chance explains"),
    Kind(
        "correction used",
        "fact",
        "'chance' a day ahead becomes 'other_chance'; 'known': so many cases that it may be raised",
        needs=_STATED_HELD,
        may=("known",),
    ),
    Kind("no correction needed", "fact", "not clearly enough off: shown as stated"),
    Kind("skill", "fact", "state 'some' or 'none' over always stating the usual share", ("state",)),
    # of the place
    Kind("place never read", "fact", "no readings outdoors beside a kept forecast"),
    Kind(
        "place too far off",
        "act",
        "readings outdoors lie so far from the forecast that the sensor is to be looked at; state "
        "as in 'place difference'",
        needs=("difference_k", "state"),
    ),
    Kind("place unproven", "fact", "so many readings show nothing beyond doubt", needs=("count",)),
    Kind("place correction off", "fact", "boat.toml turns the correction off"),
    # of the keeping
    Kind("forecasts not kept", "fact", "boat.toml keeps no forecasts"),
    Kind("past unseen", "fact", "hours that no forecast saw stay unknown; 'note': why", ("note",)),
)
