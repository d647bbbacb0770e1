"""What came of past forecasts and stated windows, in words."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Final

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, spoken_of
from curewindow.wording import Wording, counted

_PLAIN = {
    "no window judged": "no stated window is past and seen yet: nothing can be said of confidence",
    "held as stated": "no group of windows is off by more than chance explains",
    "no correction needed": "nothing is clearly enough off to be corrected: chances are shown as "
    "stated",
    "place never read": "no readings outdoors beside a kept forecast: nothing is learned of the "
    "place",
    "place correction off": "the forecast could be corrected for this place: local_correction = "
    "false in boat.toml turns that off",
    "forecasts not kept": "keep_forecasts = false in boat.toml: nothing new is kept",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


def _both(f: Finding, w: Wording) -> tuple[str, str]:
    return w.chance(f.number("chance")), w.chance(f.number("other_chance"))


@spoken_of("windows held")
def _held(f: Finding, w: Wording) -> str:
    stated, held = _both(f, w)
    windows = counted(f.number("count"), "window")
    was = "was" if f.number("count") == 1 else "were"
    return (
        f"{windows} on {counted(f.number('days'), 'day')} {was} stated with {stated} on average; "
        f"{held} held"
    )


@spoken_of("too few days")
def _few(f: Finding, w: Wording) -> str:
    days = counted(f.number("days"), "day")
    are = "is" if f.number("days") == 1 else "are"
    return (
        f"{days} {are} too few to tell luck from skill: chances stay as stated until "
        f"{f.number('count'):.0f} days with windows are past"
    )


@spoken_of("held otherwise")
def _otherwise(f: Finding, w: Wording) -> str:
    stated, held = _both(f, w)
    less = f.number("other_chance") < f.number("chance")
    if stated == held:
        held = "somewhat fewer" if less else "somewhat more"
    often = "less often than stated" if less else "more often than stated"
    return f"of windows stated with {stated}, {held} held: {often}, and hardly by chance"


@spoken_of("correction used")
def _used(f: Finding, w: Wording) -> str:
    stated, then = _both(f, w)
    means = f"{stated} a day ahead becomes {then}"
    if stated == then:
        means = "at some lead times it is lowered"
    later = "" if f.flag("known") else "; nothing is raised before many more days are past"
    return f"what is shown is corrected by this: {means}{later}"


@spoken_of("skill")
def _skill(f: Finding, w: Wording) -> str:
    if f.text("state") == "some":
        return "good starts are told from bad ones better than by always stating the usual share"
    return "this is no better than always stating the usual share: take the chances lightly"


@spoken_of("place too far off")
def _far_off(f: Finding, w: Wording) -> Said:
    text = (
        f"readings outdoors lie more than {w.difference(f.number('difference_k'))} from the "
        f"forecast {f.text('state')}"
    )
    return Said(
        text,
        f"{text}: look where the sensor hangs; nothing is corrected",
        act="look where the sensor hangs",
    )


@spoken_of("place unproven")
def _unproven(f: Finding, w: Wording) -> str:
    readings = counted(f.number("count"), "reading")
    show = "shows" if f.number("count") == 1 else "show"
    return (
        f"{readings} outdoors {show} nothing of the place that is beyond doubt: the forecast stays "
        "as it is"
    )


@spoken_of("past unseen")
def _unseen(f: Finding, w: Wording) -> str:
    return f"hours that no forecast saw stay unknown: {f.text('note')}"


# ---- what stands around it ------------------------------------------------------------------

NONE_KEPT: Final = (
    "No forecast is kept yet. Each one that 'curewindow today' or 'windows' uses is kept, and each "
    "window stated; come back when some of them are past."
)
ONLY_LOOKED: Final = "Looked at for another time than now: nothing of it is used."
BRIER: Final = "Brier score: 0 is perfect, less is better."
BRIER_PARTS: Final = (
    f"{BRIER} It is rel (how far stated and held lie apart) less res (how well good and bad starts "
    "are told apart) plus unc (how mixed they are)."
)


def kept_text(boat: str, count: int, since: datetime, megabytes: float, words: Wording) -> str:
    """'Heron: 12 forecasts kept since Wed 25 Nov 2026, 0.4 MB'."""
    kept = counted(count, "forecast")
    return f"{boat}: {kept} kept since {words.date(since)}, {megabytes:.1f} MB"


def waiting_text(count: int) -> str:
    """Windows that are past and cannot be judged."""
    are = "is" if count == 1 else "are"
    were = "was" if count == 1 else "were"
    return f"{counted(count, 'stated window')} {are} past but {were} not seen whole: not judged"


def basis_text(by_readings: int) -> str:
    """What windows were judged by."""
    return f"judged by readings taken there: {by_readings}; the others by analyses of the weather"


def against_text(against: str) -> str:
    """What a table of errors compares."""
    what = "the weather seen" if against == "analysis" else "your readings outdoors"
    return f"Forecast less {what}:"


def left_out_text(why: Mapping[str, int]) -> str:
    """Readings that were set aside, and why."""
    return f"Readings outdoors left out: {', '.join(f'{n} {each}' for each, n in why.items())}"
