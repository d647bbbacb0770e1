"""What has to be said of the weather an answer rests on."""

from __future__ import annotations

from typing import Final

from curewindow.findings.kinds.kind import Kind

KINDS: Final[tuple[Kind, ...]] = (
    # how new it is, and who gave it
    Kind(
        "kept forecast",
        "fact",
        "an earlier forecast stands in; 'note': what went wrong, offline without; 'until': not "
        "asked again before",
        needs=("hours",),
        may=("note", "until"),
    ),
    Kind("service without forecast", "fact", "a service asked before gave none", needs=("note",)),
    Kind("forecast not renewed", "fact", "made so long ago", needs=("service", "hours")),
    Kind("forecast undated", "fact", "the service does not say when", needs=("service",)),
    Kind(
        "clock wrong",
        "act",
        "this machine's clock is so far from a service's; state 'ahead' or 'behind'",
        needs=("service", "hours", "state"),
    ),
    Kind("feed ending", "act", "the service will end what is asked of it", needs=("service",)),
    # what it is
    Kind(
        "weather by hand",
        "fact",
        "highs and lows of days, written by the owner so long ago",
        needs=("service",),
        may=("hours",),
    ),
    Kind(
        "weather goes on",
        "fact",
        "the weather of so many readings carried on, the latest so old",
        needs=("count", "hours"),
    ),
    Kind("past weather", "fact", "what was, from a reanalysis", needs=("service",)),
    Kind("past years", "fact", "what was in so many years", needs=("count",)),
    Kind(
        "usual weather",
        "fact",
        "a file of one 'year', or of a typical one",
        needs=("service",),
        may=("year",),
    ),
    Kind(
        "typical weather from",
        "fact",
        "beyond the forecast: that of a past 'year', the most usual of 'count', or else the "
        "forecast's last 'days' over again",
        needs=("at",),
        may=("year", "count", "days"),
    ),
    # what is missing
    Kind("weather begins late", "fact", "nothing is known before", needs=("at",)),
    Kind("weather hole", "fact", "nothing is known for so long", needs=("begins", "hours")),
    Kind("more weather holes", "fact", "so many more", needs=("count",)),
    Kind("weather lacks", "fact", "what a source never has", needs=("service", "names")),
    Kind("values left out", "fact", "beyond anything measured", needs=("count", "thing")),
    Kind("sun estimated", "fact", "sunshine by the cloud cover"),
    Kind("dew point by low", "fact", "no dew point is written: the day's low is taken"),
    Kind("rain not written", "fact", "no rain is written for part of it"),
    Kind(
        "past hours forecast", "fact", "known only from forecasts so long before", needs=("hours",)
    ),
    # what is done to it
    Kind(
        "place corrected",
        "fact",
        "corrected by so many readings outdoors; because: each 'place difference'",
        needs=("count",),
        because=True,
    ),
    Kind(
        "place difference",
        "fact",
        "how the place differs from the forecast; state 'by day', 'on clear nights' or 'on dull "
        "nights', kind_of 'temperature' or 'dew point'",
        needs=("state", "kind_of", "difference_k", "uncertainty_k"),
    ),
    Kind(
        "confidence corrected",
        "fact",
        "by 'count' earlier windows on so many 'days': 'chance' a day ahead becomes 'other_chance'",
        needs=("count", "days", "chance", "other_chance"),
    ),
    Kind(
        "members made",
        "fact",
        "ensemble members made from one forecast; state 'percentiles': from the service's own; "
        "because: how far off it is taken to be; with 'hours' and 'share' how errors correlate in "
        "time and between temperature and dew point",
        needs=("count",),
        may=("state", "hours", "share"),
        because=True,
    ),
    Kind("error taken", "fact", "a forecast's error so far ahead", needs=("hours", "difference_k")),
)
