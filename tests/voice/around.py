"""What the voice says around findings: its functions called with made-up figures, to be read."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date, datetime, timedelta
from types import ModuleType, UnionType
from typing import Any, Final, Literal, Union, get_args, get_origin, get_type_hints
from zoneinfo import ZoneInfo

from curewindow.answers import (
    After,
    AllDone,
    Clock,
    Daylight,
    Dewfall,
    Margin,
    NextStep,
    Obstacle,
    SpaceNow,
    Wait,
    Window,
)
from curewindow.findings import Finding, finding
from curewindow.findings.sample import NOW, samples
from curewindow.voice import (
    calendar,
    day,
    fleet,
    learned,
    paper,
    picture,
    season,
    supplies,
    verification,
)
from curewindow.voice import whatif as change
from curewindow.wording import Wording

MODULES: Final = (
    *(calendar, day, fleet, learned, paper, picture, season, supplies, verification, change),
)
KEPT: Final = (calendar, paper)
"""What these say is kept for days: no 'today' in it."""
_ZONE = ZoneInfo("Europe/Amsterdam")
WORDS: Final = Wording(_ZONE, NOW)
DATED: Final = Wording(_ZONE, NOW, days="date")


def _at(hours: float) -> datetime:
    return NOW + timedelta(hours=hours)


_BROKEN = samples("limit broken")[1]
_MARGIN = Margin(
    limit="surface above dew point",
    phase="setting",
    bound="min",
    value=3.6,
    limit_value=3.0,
    by=0.6,
    unit="K",
    where="cabin, hull side",
    at=_at(9),
)
_WINDOW = Window(
    opens=_at(2),
    closes=_at(5),
    opens_because=finding("daylight", begins=_at(2)),
    closes_because=_BROKEN,
    tightest=_MARGIN,
    best_start=_at(3),
    confidence=0.63,
    stated=0.82,
    after=After(
        start=_at(3),
        applied=_at(4),
        touch_dry=_at(9),
        recoat_from=_at(26),
        recoat_until=_at(60),
        recoat_after="sand",
    ),
)
_CLOCK = Clock(
    job="hatch rim",
    step=2,
    coat=2,
    of_coats=3,
    sheet="oil-varnish",
    applied=_at(-20),
    state="recoat open",
    touch_dry=_at(-12),
    recoat_from=_at(-2),
    recoat_until=_at(30),
    recoat_after="sand",
    closed_up=None,
    full_cure=None,
    next_deadline=_at(30),
    deadline_for="recoat",
    measured_share=0.5,
    extrapolated=True,
    basis=samples("hours counted")[0],
    to_check=[_MARGIN.model_copy(update={"value": -0.5, "by": -3.5})],
)
# By what a parameter is called, whatever it belongs to.
_NAMED: Final[dict[str, Any]] = {
    "ahead": NextStep(
        step=2,
        of_steps=3,
        do="coat",
        sheet="oil-varnish",
        product="Oil varnish, gloss",
        coat=2,
        of_coats=3,
        hands_on_h=1.0,
        sand_first=True,
    ),
    "run": samples("heater run")[0],
    "milestone": "touch dry",
    "job": "hatch rim",
    "title": "hatch rim: coat 2 of 3",
    "space": "cabin",
    "where": "outdoors",
    "panel": "hull side",
    "surface": "hull side",
    "what": "coat 2 of 3",
    "do": "coat",
    "product": "Oil varnish, gloss",
    "name": "Oil varnish, gloss (one-part)",
    "note": "rub it down when it is hard",
    "key": "heat_loss",
    "told": "in part",
    "why": "sun",
    "moment": "cooling",
    "read": "31 °C",
    "expected": "19 °C",
    "tells": "air change",
    "when": "now until 09:10",
    "unit": "°C",
    "against": "analysis",
    "without": "bad weather",
    "boat": "Heron",
    "typed": "curewindow learn cabin --keep",
    "heat": (19.0, _at(2), _at(12)),
    "coat": (2, 3),
    "part": (1, 2),
    "pairs": {"air": (0.31, 0.5), "dew point": (0.4, 0.4)},
    "by_range": {"5 °C to 35 °C": ["air", "hull side"], "": ["no rain"]},
    "ahead_spans": [(_at(-1), _at(3)), (_at(20), _at(24))],
    "most": (41.0, date(2027, 3, 8)),
    "change": samples("change")[0],
    "frost": (250.0, 0.0),
    "water": (390.0, 12.0),
    "spans": ["Thu 10:20 until 13:40", "Fri 09:00 until 11:00"],
    "missing": ["2019: no answer", "2018: no answer", "2017: no answer", "2016: no answer"],
    "temp_c": 19.0,
    "confidence": 0.63,
    "factor": 1.4,
    "megabytes": 0.4,
}
_ONE: Final[dict[Any, Any]] = {
    str: "larch slats",
    int: 3,
    bool: True,
    date: date(2027, 3, 20),
    Window: _WINDOW,
    Clock: _CLOCK,
    Margin: _MARGIN,
    Finding: _BROKEN,
    Dewfall: Dewfall(at=_at(9), frost=False),
    Daylight: Daylight(sunrise=_at(0), sunset=_at(8)),
    Obstacle: Obstacle(why=_BROKEN, margin=None, ends=_at(4)),
    SpaceNow: SpaceNow(where="cabin", heater_until=_at(8), heater_c=19.0),
    AllDone: AllDone(
        middle=date(2027, 3, 1),
        late=date(2027, 3, 29),
        done_by=date(2027, 3, 20),
        chance_pct=72.0,
        until=date(2027, 5, 24),
        years=20,
        seasons=120,
    ),
    Wait: Wait(why=samples("after job")[0], about="locker floor", kind="job"),
}
# Where a name means something else than elsewhere.
_OWN: Final[dict[tuple[str, str], Any]] = {
    ("picture", "ahead"): _NAMED["ahead_spans"],
    ("season", "what"): "Oil varnish, cabin",
    ("season", "why"): "nobody is aboard",
    ("learned", "what"): "air",
    ("picture", "what"): "frost",
    ("season", "kind"): "conditions",
    ("season", "sure"): date(2027, 4, 5),
    ("season", "until"): date(2027, 5, 24),
    ("season", "least"): (20.0, date(2027, 1, 4)),
}


def functions(module: ModuleType) -> Iterator[tuple[str, Callable[..., Any]]]:
    """The functions a face may call."""
    for name, found in vars(module).items():
        own = inspect.isfunction(found) and found.__module__ == module.__name__
        if own and not name.startswith("_"):
            yield name, found


def texts(module: ModuleType) -> Iterator[str]:
    """Its fixed sentences."""
    for name, found in vars(module).items():
        if isinstance(found, str) and name.isupper() and not name.startswith("_"):
            yield found


def said_by(module: ModuleType, function: Callable[..., Any]) -> list[str]:
    """What a function says of the made-up figures, line by line."""
    hints = get_type_hints(function)
    words = DATED if module in KEPT else WORDS
    given: dict[str, Any] = {}
    times = iter(range(2, 40, 5))
    for name in inspect.signature(function).parameters:
        given[name] = _value(module.__name__.rpartition(".")[2], name, hints[name], words, times)
    got = function(**given)
    lines = [got] if isinstance(got, str) else list(got)
    return [line for line in lines if line]


def _value(module: str, name: str, hint: Any, words: Wording, times: Iterator[int]) -> Any:
    if hint is Wording:
        return words
    options = get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)
    kinds = [each for each in options if each is not type(None)]
    kind = kinds[0]
    if kind is datetime:
        return _at(40) if name == "right" else _at(next(times))
    for known in (_OWN.get((module, name)), _NAMED.get(name)):
        # the name alone does not say it: 'space' is a name here, what is known of one there
        fits = not isinstance(kind, type) or isinstance(known, kind)
        if known is not None and (fits if get_origin(kind) is None else not isinstance(known, str)):
            return known
    if kind is float:
        shares = ("low", "high", "narrows", "within", "share")
        return 0.63 if "chance" in name or name in shares else 2.5
    origin = get_origin(kind)
    if origin is Literal:
        return get_args(kind)[-1]
    if kind in (Sequence[str], list[str]):
        return ["larch slats", "hatch rim"]
    if origin in (Sequence, list):
        return [_value(module, "", get_args(kind)[0], words, times)]
    if origin in (Mapping, dict):
        return {"stuck": 3, "odd": 1}
    return _ONE[kind]


def page() -> list[str]:
    """All of it, for a person's eye."""
    lines = ["", "", "What stands around findings, by module and function."]
    for module in MODULES:
        lines += ["", module.__name__.rpartition(".")[2]]
        lines += [f"    {text}" for text in texts(module)]
        for name, function in functions(module):
            lines.append(f"  {name}")
            lines += [f"    {line}" for line in dict.fromkeys(said_by(module, function))]
    return lines
