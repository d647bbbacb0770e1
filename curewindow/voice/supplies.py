"""What is to be had in hand, in words."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from typing import Final

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, spoken_of
from curewindow.wording import MONTHS, Wording, counted, figure, span

_PLAIN = {
    "keep from frost": "frost spoils it: keep it where it does not freeze, also on the way home",
    "typical figures": "figures typical of the kind: the tin and its data sheet come first",
    "nothing to buy": "all work in work.toml is done: nothing to buy",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


# ---- how much -------------------------------------------------------------------------------


@spoken_of("amount reckoned")
def _reckoned(f: Finding, w: Wording) -> str:
    state, value, area = f.text("state"), f.maybe("value") or 0.0, f.maybe("area_m2")
    if "value" not in f.about and state != "job":
        return "by the sheet"
    if state == "job":
        return f"{f.maybe('litres') or 0.0:g} L a coat, as the job says"
    surface = "" if area is None else f"{area:g} m²"
    if state == "spread":
        return f"{surface} at {value:g} m²/L"
    lost = f.maybe("share")
    loss = (
        f" and {100.0 * lost:.0f} % lost" if lost else ", no loss on the sheet: take a little more"
    )
    if state == "wet film":
        return f"{surface}, {value:g} µm wet{loss}"
    return f"{surface}, {value:g} µm dry of {f.maybe('solids_pct') or 0.0:g} % solids{loss}"


@spoken_of("amount unknown")
def _unknown(f: Finding, w: Wording) -> str:
    if f.text("state") == "no area":
        return "give the job its amount or area, then the amount can be told"
    return "the sheet gives neither spread nor film: give the job its amount"


@spoken_of("spread too thin")
def _thin(f: Finding, w: Wording) -> str:
    return (
        f"spread so far ({f.number('value'):g} m²/L) it dries thinner than "
        f"{f.number('limit_value'):g} µm: buy more, or count on one more coat"
    )


# ---- how it keeps ---------------------------------------------------------------------------


def _long(hours: float) -> str:
    """A shelf life: '2 years', '6 months', '10 days'."""
    days = hours / 24.0
    for noun, length in (("year", 365.0), ("month", 30.4)):
        count = round(days / length)
        if count >= 1 and abs(days / length - count) < 0.05:
            return counted(count, noun)
    return f"{days:.0f} days" if days >= 2.0 else f"{hours:.0f} hours"


@spoken_of("keep between")
def _between(f: Finding, w: Wording) -> str:
    low, high = f.maybe("temp_c"), f.maybe("other_temp_c")
    if low is not None and high is not None:
        return f"keep it between {w.temp(low)} and {w.temp(high)}"
    if low is not None:
        return f"keep it above {w.temp(low)}"
    return "keep it as its sheet says" if high is None else f"keep it below {w.temp(high)}"


@spoken_of("keeps unopened")
def _unopened(f: Finding, w: Wording) -> str:
    return f"unopened it keeps {_long(f.number('hours'))}: look at the date on the tin"


@spoken_of("too old by then")
def _too_old(f: Finding, w: Wording) -> str:
    return (
        f"unopened it keeps only {_long(f.number('hours'))}: bought now it is too old for "
        f"{w.day(f.time('at'))}, buy later"
    )


@spoken_of("two tins")
def _two(f: Finding, w: Wording) -> str:
    keeps = _long(f.number("hours"))
    return f"once opened it keeps {keeps}, and the last coat is later: buy it in two tins"


def _where(f: Finding) -> str:
    return f"in the {f.text('space')}" if "space" in f.about else "not aboard"


@spoken_of("tin there")
def _tin(f: Finding, w: Wording) -> Said:
    until = f.moment("until")
    text = f"there is a tin already ({_where(f)})"
    if until is None:
        return Said(text, f"{text}: see how much is left in it and how old it is")
    return Said(text, f"{text}, good until {w.date(until)}: see what is left in it")


@spoken_of("tin too old")
def _old_tin(f: Finding, w: Wording) -> str:
    ends = w.date(f.time("at"))
    return f"the tin there is ({_where(f)}) is past its time from {ends} on: do not count on it"


# ---- of the whole list ----------------------------------------------------------------------


@spoken_of("by job for want of a plan")
def _no_plan(f: Finding, w: Wording) -> str:
    makes = w.by_command("; 'curewindow plan' makes one")
    return f"there is no plan yet, so this is by job{makes}"


@spoken_of("by the plan")
def _by_plan(f: Finding, w: Wording) -> str:
    return f"by the plan made {w.when(f.time('at'))}"


@spoken_of("planned and not logged")
def _missed(f: Finding, w: Wording) -> str:
    names = ", ".join(f.texts("names"))
    return f"planned for earlier and not in the record: {names}; plan again"


ABRASIVE: Final = "abrasive sheet"
FINE: Final = "fine abrasive sheet for between coats"
BRUSH: Final = "brush or roller"
POT: Final = "mixing pot and stick"
GLOVES: Final = "pair of gloves"
DUST_MASK: Final = "fine dust mask (P3)"
FILTERS: Final = "pair of mask filters for organic vapour and dust, as the data sheets name them"
AIR_FED: Final = "air-fed mask for isocyanate, as its data sheet names it: a filter is not enough"
MANY: Final = {
    ABRASIVE: "abrasive sheets",
    FINE: "fine abrasive sheets for between coats",
    BRUSH: "brushes or rollers",
    POT: "mixing pots and sticks",
    GLOVES: "pairs of gloves",
    DUST_MASK: "fine dust masks (P3)",
    FILTERS: "pairs of mask filters for organic vapour and dust, as the data sheets name them",
    AIR_FED: "air-fed masks for isocyanate, as its data sheet names it: a filter is not enough",
}
BASIS: Final = {
    ABRASIVE: "one a m²",
    FINE: "one for 2 m² a coat",
    BRUSH: "one a coat of two parts, else one a product",
    POT: "one a batch",
    GLOVES: "one a coat",
    DUST_MASK: "one each time something is sanded",
    FILTERS: "one for eight hours with the tin open",
    AIR_FED: "one, of the right size",
}
UNPLANNED: Final = "not in the plan"
BY_WEEKS: Final = "beyond the forecast, by the week"
COMMON_PRACTICE: Final = "counts of small things are common practice, no source"


def head_text(boat: str, as_of: datetime, words: Wording) -> str:
    """'Heron, to buy as of today 09:00'."""
    return f"{boat}, to buy as of {words.when(as_of)}"


def week_title(away: int, week: date) -> str:
    """'next week, from Mon 30 Nov'."""
    named = {0: "this week", 1: "next week"}.get(away, f"in {away} weeks")
    return f"{named}, from Mon {week.day} {MONTHS[week.month - 1]}"


def later_text(name: str, start: datetime, words: Wording) -> str:
    """A product that only a later week needs."""
    return f"{name}, from {words.day(start)}"


def thinner_text(chemistry: str) -> str:
    """What it is thinned with."""
    return "clean water" if chemistry == "waterborne" else "the thinner its sheet names"


def product_text(name: str, coats: int, litres: float | None, *, incomplete: bool) -> str:
    """'Oil varnish: 1.5 L, 3 coats'."""
    if litres is None:
        return f"{name}, {counted(coats, 'coat')}: amount not known"
    return f"{name}: {litres:g} L{' and more' if incomplete else ''}, {counted(coats, 'coat')}"


def mix_text(ratio: str, by: str, amounts: Sequence[str]) -> str:
    """'mixed 2:1 by volume: 0.67 L + 0.34 L'."""
    return f"mixed {ratio} by {by}{': ' if amounts else ''}{' + '.join(amounts)}"


def thin_text(litres: float, thinner: str) -> str:
    """How much thinner at most."""
    return f"at most {litres:g} L of {thinner}"


def share_text(job: str, litres: float | None, how: str) -> str:
    """What a job takes of it, and how that was reckoned."""
    return f"{job}: {'' if litres is None else f'{litres:.2f} L, '}{how}"


def needed_by_text(at: datetime, words: Wording) -> str:
    """'needed by Fri 10:00'; where that is over it is needed now."""
    if at <= words.now:
        return f"needed now: it was planned for {words.when(at)}"
    return f"needed by {words.when(at)}"


def needed_weeks_text(first: date, last: date) -> str:
    """'needed in the week of 14 Dec', 'needed from the week of 14 Dec until that of 4 Jan'."""
    begins = f"{first.day} {MONTHS[first.month - 1]}"
    if first == last:
        return f"needed in the week of {begins}"
    return f"needed from the week of {begins} until that of {last.day} {MONTHS[last.month - 1]}"


def needed_text(job: str, first: datetime, words: Wording) -> str:
    """When it is first needed."""
    return f"{job}: first needed {words.when(first)}"


def batch_text(
    job: str,
    life_h: float,
    temp_c: float,
    batches: int | None,
    litres: float | None,
    area_m2: float | None,
    words: Wording,
) -> str:
    """In how many batches a coat is mixed, so that none sets in the pot."""
    life = f"a mixed batch sets in {span(life_h)} at {words.temp(temp_c)}"
    if batches is None:
        return f"{job}: {life}, too soon to be put on: read its sheet"
    if batches == 1:
        return f"{job}: one batch a coat; {life}"
    size = f"{litres:.2f} L" if litres else "what fits"
    area = "" if area_m2 is None else f", for {figure(area_m2)} m²"
    return f"{job}: {batches} batches a coat, {size} at most{area}; {life}"
