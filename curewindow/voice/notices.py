"""Notices in the trade's words: the act first, then time, chance and reason."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from curewindow.findings import Finding
from curewindow.rules.chance import worth_saying
from curewindow.voice.speaking import act, full, short, spoken_of
from curewindow.wording import Wording, span

_MOST_NAMED = 3
# Titles that begin with the name of a job, a space or a thing, as its owner writes it.
_NAMED_FIRST = frozenset(
    (
        *("window opens", "last start soon", "time for coat", "coat may be covered"),
        *("coat cured through", "heater down", "limit left", "limit to be left", "reading due"),
        *("delivery due", "shelf life near", "cold for tins", "recoat sooner", "plan changed"),
    )
)


def title_of(found: Finding, words: Wording) -> str:
    """A notice's title: one line of a phone; a name at its beginning stays as it is written."""
    text = short(found, words)
    return text if found.kind in _NAMED_FIRST else _upfirst(text)


def lines_of(found: Iterable[Finding], words: Wording) -> list[str]:
    """A notice's body, a sentence a line."""
    return [_sentence(full(each, words)) for each in found]


def names_text(names: Sequence[str], most: int | None = None) -> str:
    """'a', 'a and b', 'a, b and c', 'a, b, c and 2 more'."""
    each = list(dict.fromkeys(names))
    more = 0 if most is None else len(each) - most
    if more > 0:
        return f"{', '.join(each[:most])} and {more} more"
    if len(each) < 2:
        return "".join(each)
    return f"{', '.join(each[:-1])} and {each[-1]}"


def _sentence(text: str) -> str:
    return f"{_upfirst(text)}."


def _upfirst(text: str) -> str:
    return text[:1].upper() + text[1:]


def _what(f: Finding) -> str:
    """'coat 4 of 5', 'coat 4', 'bond'."""
    if f.text("do") != "coat" or "coat" not in f.about:
        return f.text("do")
    of = f" of {f.number('of_coats'):.0f}" if "of_coats" in f.about else ""
    return f"coat {f.number('coat'):.0f}{of}"


_LOST = {
    "never": "no further coat may go on: it would have to come off",
    "sand": "sand it first",
    "as is": "as it is",
}
_PLAIN = {
    "few readings": "readings are few: try the coat by hand first",
    "log heater lit": "log the heater once it is lit: windows and clocks then go by it",
    "log held longer": "log it if it is held longer: windows and clocks go by it",
    "worked out": "worked out, not measured: a reading tells more",
    "none newer": "no newer forecast can be had; all that is told rests on this one",
    "write arrived": "once delivered, write arrived = true in work.toml",
    "typical sheets": "sheets typical of the kind: check your tin",
    "use up or try": "use it up before, or try it on a scrap",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


# ---- starts ---------------------------------------------------------------------------------


@spoken_of("window opens")
def _window_opens(f: Finding, w: Wording) -> str:
    chance = f.maybe("chance")
    sure = "" if chance is None or not worth_saying(chance) else f", {w.chance(chance)}"
    return f"{f.text('job')}: {_what(f)} from {w.when(f.time('begins'))}{sure}"


@spoken_of("work until")
def _work_until(f: Finding, w: Wording) -> str:
    until, last = f.time("until"), f.time("last_start")
    same = w.local(until).date() == w.local(last).date()
    return f"until {w.when(until)}, last start {w.clock(last) if same else w.when(last)}"


@spoken_of("opened by")
def _opened_by(f: Finding, w: Wording) -> str:
    return f"opens then: {_why(f, w)}"


@spoken_of("closed by")
def _closed_by(f: Finding, w: Wording) -> str:
    return f"closes then: {_why(f, w)}"


@spoken_of("last start soon")
def _last_start(f: Finding, w: Wording) -> str:
    return f"{f.text('job')}, {_what(f)}: last start {w.when(f.time('last_start'))}"


@spoken_of("next start")
def _next_start(f: Finding, w: Wording) -> str:
    begins = f.moment("begins")
    if begins is None:
        return "no window after it in the forecast"
    return f"the next window opens {w.when(begins)}"


def _why(f: Finding, w: Wording) -> str:
    return "; ".join(full(each, w) for each in f.because)


# ---- coats that are on ----------------------------------------------------------------------


@spoken_of("time for coat")
def _time_for(f: Finding, w: Wording) -> str:
    sanding = "sanding, then " if f.flag("sand_first") else ""
    return f"{f.text('job')}: time for {sanding}{_what(f)}"


@spoken_of("ready since")
def _ready(f: Finding, w: Wording) -> str:
    return f"the coat below is ready from {w.when(f.time('begins'))}, by its clock"


@spoken_of("recoat interval until")
def _interval(f: Finding, w: Wording) -> str:
    return f"recoat by {w.when(f.time('until'))}; after that {_LOST[f.text('after')]}"


@spoken_of("recoat deadline")
def _deadline(f: Finding, w: Wording) -> str:
    step, until = f"{f.text('job')}, {_what(f)}", w.when(f.time("until"))
    if f.text("state") == "no start":
        return f"{step}: no window before {until}, when the recoat interval ends"
    if f.text("state") == "last":
        return f"last call: {step} by {until}"
    return f"{step} by {until}"


@spoken_of("interval missed")
def _missed(f: Finding, w: Wording) -> str:
    return f"after that {_LOST[f.text('after')]}"


@spoken_of("stands now")
def _stands(f: Finding, w: Wording) -> str:
    return f"as things stand: {_why(f, w)}"


@spoken_of("coat may be covered")
def _covered(f: Finding, w: Wording) -> str:
    return f"{f.text('job')}: may be covered"


@spoken_of("cured since")
def _cured(f: Finding, w: Wording) -> str:
    names = f.texts("names")
    follows = f": {names_text(names)} need not wait for this coat any more" if names else ""
    return f"cured for closing up since {w.when(f.time('at'))}{follows}"


@spoken_of("coat cured through")
def _through(f: Finding, w: Wording) -> str:
    return f"{f.text('job')}: cured through"


@spoken_of("cured by clock")
def _by_clock(f: Finding, w: Wording) -> str:
    return f"cured since {w.when(f.time('at'))}, by its clock; the product's own sheet comes first"


# ---- heat -----------------------------------------------------------------------------------


@spoken_of("heater to light")
def _to_light(f: Finding, w: Wording) -> str:
    return f"light the heater by {w.when(f.time('light_at'))}: {f.text('space')}"


@spoken_of("coat then")
def _coat_then(f: Finding, w: Wording) -> str:
    return f"then {f.text('job')} can be started {w.when(f.time('begins'))}"


@spoken_of("heater down")
def _down(f: Finding, w: Wording) -> str:
    return f"{f.text('space')}: the heater may be turned down"


@spoken_of("coat has set")
def _has_set(f: Finding, w: Wording) -> str:
    return f"the coat on {f.text('job')} has set {w.when(f.time('at'))}, by its clock"


@spoken_of("heater held until")
def _held(f: Finding, w: Wording) -> str:
    return f"logged as held until {w.when(f.time('until'))}; nothing there is setting"


# ---- limits while a coat sets ---------------------------------------------------------------


def _space(f: Finding) -> str:
    out = "is the heater out? " if f.flag("known") else ""
    return f"{f.text('space')}: {out}"


@spoken_of("limit left")
def _left(f: Finding, w: Wording) -> str:
    unit = f.text("unit")
    moving = f" and {f.text('state')}" if f.text("state") else ""
    value = w.amount(f.number("value"), unit)
    return f"{_space(f)}{value}{moving}, limit {w.limit(f.number('limit_value'), unit)}"


@spoken_of("limit to be left")
def _to_be_left(f: Finding, w: Wording) -> str:
    begins = f.moment("begins")
    since = "now" if begins is None else f"from {w.when(begins)}"
    return f"{_space(f)}{_why(f, w)} {since}"


@spoken_of("not set until")
def _not_set(f: Finding, w: Wording) -> str:
    return f"not set until {w.when(f.time('until'))}: {names_text(f.texts('names'))}"


_HELP = {"heat": "heat it, or cover it", "cover": "cover it", "air alone": "air it"}


@spoken_of("help wet coat")
def _help(f: Finding, w: Wording) -> str:
    return _HELP.get(f.text("kind_of"), "air or heat, whichever helps")


@spoken_of("read at")
def _read_at(f: Finding, w: Wording) -> str:
    return f"read {w.when(f.time('at'))}"


# ---- what is missing to know ----------------------------------------------------------------


@spoken_of("reading due")
def _reading_due(f: Finding, w: Wording) -> str:
    return f"{f.text('space')}: log a reading"


@spoken_of("last read")
def _last_read(f: Finding, w: Wording) -> str:
    at = f.moment("at")
    return "no reading yet" if at is None else f"the last reading is of {w.when(at)}"


@spoken_of("clocks go by it")
def _clocks(f: Finding, w: Wording) -> str:
    return f"the clocks of {names_text(f.texts('names'))} go by it; else they are worked out"


@spoken_of("forecast old")
def _old(f: Finding, w: Wording) -> str:
    return f"the forecast is {span(f.number('hours'))} old"


# ---- things ---------------------------------------------------------------------------------


@spoken_of("delivery due")
def _delivery(f: Finding, w: Wording) -> str:
    day = w.day(f.time("at"))
    what = f"due {day}" if f.text("state") == "due" else f"should have come {day}"
    return f"{f.text('thing')}: {what}"


@spoken_of("waited for")
def _waited(f: Finding, w: Wording) -> str:
    return f"needed for {names_text(f.texts('names'))}"


@spoken_of("shelf life near")
def _shelf_life(f: Finding, w: Wording) -> str:
    day = w.date(f.time("at"))
    over = f.text("state") == "over"
    return f"{f.text('product')}: shelf life {f'over since {day}' if over else f'ends {day}'}"


@spoken_of("by the sheet")
def _by_sheet(f: Finding, w: Wording) -> str:
    how = "unopened" if f.text("state") == "unopened" else "once opened"
    return f"by the sheet, {how}; a date on the tin comes first"


@spoken_of("cold for tins")
def _cold(f: Finding, w: Wording) -> str:
    what = "frost" if f.flag("frost") else "too cold for tins"
    return f"{f.text('space')}: {what} {w.when(f.time('at'))}"


@spoken_of("tins it hurts")
def _hurts(f: Finding, w: Wording) -> str:
    how = "frost spoils" if f.flag("frost") else "below its storage limit:"
    return f"down to {w.temp(f.number('temp_c'))}; {how} {names_text(f.texts('names'))}"


@spoken_of("move tins")
def _move(f: Finding, w: Wording) -> str:
    return f"move the tins {'to a warmer place' if f.flag('known') else 'if they are kept there'}"


# ---- a plan that holds no more --------------------------------------------------------------


@spoken_of("recoat sooner")
def _sooner(f: Finding, w: Wording) -> str:
    return f"{f.text('job')}: recoat sooner, by {w.when(f.time('until'))}"


@spoken_of("plan changed")
def _changed(f: Finding, w: Wording) -> str:
    return f"{f.text('job')}: {'; '.join(short(each, w) for each in f.because)}"


@spoken_of("moved by")
def _moved_by(f: Finding, w: Wording) -> str:
    return _why(f, w)


# ---- the morning ----------------------------------------------------------------------------


@spoken_of("day ahead")
def _day_ahead(f: Finding, w: Wording) -> str:
    names = f.texts("names")
    said = names_text(names, _MOST_NAMED) if names else "nothing can start"
    return f"{w.date(f.time('at'))}: {said}"


@spoken_of("deadline ahead")
def _ahead(f: Finding, w: Wording) -> str:
    by = w.when(f.time("until"))
    return f"! {f.text('job')}, {_what(f)} by {by}, after that {_LOST[f.text('after')]}"


@spoken_of("coat to check")
def _to_check(f: Finding, w: Wording) -> str:
    return f"! {f.text('job')}: check the coat"


@spoken_of("planned now")
def _planned(f: Finding, w: Wording) -> str:
    return f"planned {f.text('thing')}: {f.text('note')}"


@spoken_of("plan to renew")
def _renew(f: Finding, w: Wording) -> str:
    return f"{full(f.because[0], w)}: 'curewindow plan' makes it anew"


@spoken_of("go today")
def _go(f: Finding, w: Wording) -> str:
    return f"✓ {f.text('job')}, {_what(f)}: {_brief(f, w)}"


@spoken_of("go once wiped")
def _go_once_wiped(f: Finding, w: Wording) -> str:
    return f"{f.text('job')}, {_what(f)}: {_brief(f, w)}"


@spoken_of("heat for job")
def _heat_for(f: Finding, w: Wording) -> str:
    return f"for {f.text('job')}: {_brief(f, w)}"


@spoken_of("no start today")
def _no_start(f: Finding, w: Wording) -> str:
    return f"✗ {f.text('job')}: {_brief(f, w)}"


@spoken_of("news of job")
def _news(f: Finding, w: Wording) -> str:
    return f"news, {f.text('job')}: {_brief(f, w)}"


@spoken_of("more of these")
def _more(f: Finding, w: Wording) -> str:
    return f"and {f.number('count'):.0f} more {f.text('kind_of')}"


def _brief(f: Finding, w: Wording) -> str:
    return "; ".join(short(each, w) for each in f.because)


__all__ = ["act", "lines_of", "names_text", "title_of"]
