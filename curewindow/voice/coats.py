"""Where coats that are on stand, in the trade's words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.speaking import Said, short, spoken_of
from curewindow.wording import Wording, span


@spoken_of("hours counted")
def _counted(f: Finding, w: Wording) -> str:
    total, read, dark = f.number("hours"), f.number("read_h"), f.number("unknown_h")
    hours = span(total)
    if total <= 0.0:
        return "not begun"
    if dark >= total:
        return f"nothing is known of the {hours} so far"
    if dark > 0.0:
        return (
            f"readings for {span(read)} of {hours}, {span(f.number('model_h'))} from the model, "
            f"nothing known of {span(dark)}"
        )
    if read >= total:
        return f"readings for all of {hours}"
    if read <= 0.0:
        return f"the model for all of {hours}, no readings"
    return f"readings for {span(read)} of {hours}, the rest from the model"


@spoken_of("hours unknown")
def _unknown(f: Finding, w: Wording) -> str:
    return (
        f"nothing is known of {span(f.number('hours'))}: counted as no cure for what opens, as the "
        "fastest for what closes"
    )


_PLAIN = {
    "recoat not on sheet": "the sheet does not say when the next coat may go on: once cured, and "
    "sanded",
    "sanded anyway": "the coat is sanded before the next one in any case",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


@spoken_of("coat spoilt")
def _spoilt(f: Finding, w: Wording) -> Said:
    off = f.moment("until")
    text = f"found spoilt {w.when(f.time('at'))}"
    if off is not None:
        return Said(f"{text}, taken off {w.when(off)}")
    then = w.by_command("; 'curewindow log sand' says it is off")
    return Said(
        f"{text}: it comes off",
        f"{text}: it does not count; sand it back once it is hard enough, or scrape it off, and "
        f"put it on again{then}",
    )


@spoken_of("sanded")
def _sanded(f: Finding, w: Wording) -> str:
    return f"sanded {w.when(f.time('at'))}"


@spoken_of("interval passes waiting")
def _passes(f: Finding, w: Wording) -> str:
    what = short(f.because[0], w)
    return f"the next coat waits for {what}: its interval ends before, {w.when(f.time('at'))}"


@spoken_of("test by hand")
def _test(f: Finding, w: Wording) -> Said:
    text = "on the safe side the recoat interval closes before it opens"
    return Said(
        text, f"{text}: test by hand whether the coat is ready", act="test the coat by hand"
    )


@spoken_of("limit was broken")
def _was_broken(f: Finding, w: Wording) -> Said:
    text = f"{short(f.because[0], w)} for {span(f.number('hours'))} while {f.text('phase')}"
    worst = w.amount(f.number("value"), f.text("unit"))
    return Said(text, f"{text} (worst {worst}, {w.when(f.time('at'))})")


@spoken_of("limit will break")
def _will_break(f: Finding, w: Wording) -> str:
    what = short(f.because[0], w)
    return f"expected while still {f.text('phase')}: {what} from {w.when(f.time('begins'))}"


@spoken_of("covering not on sheet")
def _not_on_sheet(f: Finding, w: Wording) -> str:
    return f"'{f.text('other_job')}': the sheet does not say when it may be closed up"


@spoken_of("covering beyond")
def _beyond(f: Finding, w: Wording) -> str:
    return f"'{f.text('other_job')}' waits: not cured for closing up within the forecast"


@spoken_of("may be covered")
def _may_cover(f: Finding, w: Wording) -> str:
    begins = f.moment("begins")
    return f"'{f.text('other_job')}' may close it up" + (
        "" if begins is None else f" from {w.when(begins)}"
    )


@spoken_of("cover waits for coat below")
def _cover_waits(f: Finding, w: Wording) -> str:
    return f"'{f.text('other_job')}' waits: a coat under it is not cured for it yet"
