"""One made-up finding of each kind, for reading every sentence aloud."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from typing import Any, Final

from curewindow.findings.finding import Finding, finding
from curewindow.findings.kinds import KINDS
from curewindow.findings.parameters import PARAMETERS, Value

NOW: Final = datetime(2026, 11, 25, 8, 0, tzinfo=UTC)
_TIMES: Final = (
    "begins",
    "at",
    "light_at",
    "last_start",
    "until",
    "light_by",
    "otherwise",
)  # in this order
_GIVEN: Final[dict[str, Value]] = {
    "job": "hatch rim",
    "other_job": "locker floor",
    "part": "'hatch rim' coat 2",
    "other_part": "'hatch rim' coat 1",
    "do": "sand",
    "coat": 2,
    "of_coats": 3,
    "space": "cabin",
    "spaces": ("cabin", "fore cabin"),
    "surface": "hull side",
    "sheet": "oil-varnish",
    "product": "Oil varnish, gloss",
    "thing": "larch slats",
    "names": ("1 (sand)", "2 (coat)"),
    "note": "rub it down when it is hard",
    "film": "epoxy",
    "cure": "fresh",
    "do_first": "wash",
    "limit": "surface temperature",
    "phase": "setting",
    "bound": "min",
    "value": 6.5,
    "limit_value": 8.0,
    "by": -1.5,
    "unit": "°C",
    "milestone": "touch dry",
    "vents": "ajar",
    "after": "sand",
    "heater": "diesel",
    "products": ("Oil varnish, gloss", "Etch primer"),
    "other_space": "fore cabin",
    "against": ("sleepers", "vents", "night"),
    "frost": True,
    "count": 3,
    "days": 4,
    "year": "2021",
    "service": "the weather service",
    "chance": 0.63,
    "other_chance": 0.94,
    "fuel": "diesel",
    "fuel_amount": 3.4,
    "fuel_unit": "L",
    "share": 0.2,
    "power_w": 900.0,
    "other_power_w": 500.0,
    "thickness_mm": 30.0,
    "volume_m3": 4.0,
    "temp_c": 19.0,
    "other_temp_c": 14.5,
}
_BY_SORT: Final[dict[str, Value]] = {
    "text": "so",
    "number": 2.5,
    "flag": True,
    "texts": ("one", "two"),
}


_EACH: Final[dict[str, tuple[str, tuple[str, ...]]]] = {
    "air change taken": ("vents", ("shut", "ajar")),
    "amount reckoned": ("state", ("job", "spread", "wet film", "dry film")),
    "amount unknown": ("state", ("no area", "no figures")),
    "batches": ("state", ("in the pot", "open")),
    "bring tin in": ("state", ("home", "deck")),
    "clock wrong": ("state", ("ahead", "behind")),
    "isocyanate": ("state", ("bead", "spray")),
    "flame over vapour": ("state", ("by itself", "when used")),
    "spark over vapour": ("state", ("by itself", "when used")),
    "delivery awaited": ("state", ("due today", "overdue", "no date")),
    "door then": ("state", ("open", "shut")),
    "doors assumed": ("state", ("open", "shut")),
    "first done to it": (
        "do_first",
        ("scrape", "wash", "degrease", "sand", "prime", "tie coat", "clean again", "take off"),
    ),
    "does not go on": (
        "state",
        (
            "lifts",
            "saponifies",
            "soft below",
            "oil below",
            "cure stopped",
            "nothing holds",
            "weak below",
            "rigid over flexible",
            "bleeds",
            "needs bare steel",
            "does not soak in",
            "copper on metal",
        ),
    ),
    "heat hardens": ("state", ("recoat", "sand", "work", "cover", "touch dry", "dust")),
    "fresh film sanded": ("state", ("epoxy", "isocyanate")),
    "no times for pair": ("state", ("self", "none")),
    "last coat soft": ("do", ("prepare", "coat", "sand", "bond", "seal", "fit")),
    "members made": ("state", ("percentiles",)),
    "place difference": ("kind_of", ("temperature", "dew point")),
    "reading doubted": (
        "state",
        (
            "°F as °C",
            "swapped",
            "sun",
            "jump",
            "stuck",
            "carried",
            "colder than around",
            "warmer than around",
            "too dry",
        ),
    ),
    "skill": ("state", ("some", "none")),
    "awaited": (
        "state",
        (
            "hardens",
            "done",
            "before",
            "hands",
            "delivery",
            "cured",
            "touch dry",
            "dust",
            "drying",
            "recoat",
            "pinned",
            "choice",
            "conditions",
        ),
    ),
    "begins when": ("state", ("at once", "ends then", "ended before", "choice", "any time")),
    "delivery in plan": ("state", ("no date", "week after", "overdue")),
    "not allowed then": ("state", ("sheet", "aboard", "nothing")),
    "part after part": ("state", ("soonest", "hot coat", "cured", "late", "row")),
    "sets end": ("state", ("waits", "hardens")),
    "order now": ("state", ("late", "overdue")),
    "variation": (
        "kind_of",
        ("day", "evening", "delivery", "heater at once", "heater", "home", "product"),
    ),
    "weather figure missing": ("kind_of", ("wind", "cloud", "sun")),
}
"""What a parameter may be, where the words are others for each."""


_WAITS: Final = (
    "begins when",
    "sets end",
    "part not before",
    "part waits",
    "never begun",
    "waits in plan",
)
"""What follows from something that is waited for."""


def samples(kind: str) -> list[Finding]:
    """Made-up findings of a kind: with all there can be, and with no more than it needs.

    Where one parameter makes the words others, one for each it may be.

    Raises
    ------
    KeyError
        No such kind.
    """
    known = KINDS[kind]
    because = [_reason(kind)] if known.because else []
    whole = _made(kind, known.needs + known.may, because)
    bare = _made(kind, known.needs, because)
    name, values = _EACH.get(kind, ("", ()))
    if values and name in known.needs:
        bare = bare.changed(**{name: values[-1]})
    if values:
        return [*(whole.changed(**{name: value}) for value in values), bare]
    return [whole] if whole == bare else [whole, bare]


def _reason(kind: str) -> Finding:
    if kind in _WAITS:
        return finding("awaited", state="hardens", part=_GIVEN["part"])
    other = "limit broken" if kind != "limit broken" else "nobody aboard"
    return _made(other, KINDS[other].needs, [])


def _made(kind: str, names: tuple[str, ...], because: list[Finding]) -> Finding:
    about: dict[str, Any] = {name: _value(name) for name in names}
    return finding(kind, because=because, **about)


def _value(name: str) -> Value:
    if name in _TIMES:
        return NOW + timedelta(hours=3 * (_TIMES.index(name) + 1))
    return _GIVEN.get(name, _BY_SORT.get(PARAMETERS[name].sort, "so"))
