"""What opens, closes and bars a start, in the trade's words."""

from __future__ import annotations

from curewindow.findings import Finding
from curewindow.voice.limits import broken_text, kept_text, margin_text, subject_of, value_text
from curewindow.voice.speaking import Said, full, listed, short, spoken_of
from curewindow.wording import Wording, span


@spoken_of("limit broken")
def _limit_broken(f: Finding, w: Wording) -> Said:
    text, brief = broken_text(f, w), broken_text(f, w, brief=True)
    at = f.moment("at")
    if at is None:
        value = value_text(f, w)
        return Said(brief, f"{text} ({value})" if value else text)
    tail = f" {w.when(at)}, while it still sets"
    if f.text("phase") != "setting":
        tail = f" from {w.when(at)}"
    return Said(f"{brief}{tail}", f"{text}{tail}")


@spoken_of("limit kept")
def _limit_kept(f: Finding, w: Wording) -> str:
    return kept_text(f, w)


@spoken_of("limit unknown")
def _limit_unknown(f: Finding, w: Wording) -> str:
    what = f"{subject_of(f.text('limit'))} is" if "limit" in f.about else "conditions are"
    at = f.moment("at")
    return f"{what} not known" + ("" if at is None else f" from {w.when(at)}")


@spoken_of("known again")
def _known_again(f: Finding, w: Wording) -> str:
    what = f"{subject_of(f.text('limit'))} is" if "limit" in f.about else "conditions are"
    return f"{what} known from then"


_PLAIN = {
    "open already": "open already",
    "waits over": "all that comes first is done",
    "recoat opens": "the coat below may be recoated",
    "recoat ends": "the recoat interval ends",
    "vapour at night": "a later film would give off vapour at night where someone sleeps",
    "rain": "rain",
    "dry": "no rain",
    "limits hold aired": "every limit holds with the vents open for the vapour",
    "time left too short": "what is left of the hours aboard is too short",
    "dark, wet or nobody aboard": "it is dark or wet, or nobody is aboard",
    "nobody to mix": "nobody is aboard to mix it: the mix has to stand before it goes on",
    "induction": "the mix has to stand before it goes on",
    "forecast ends": "the film would still be setting where the forecast ends",
    "beyond forecast": "the forecast does not reach that far",
    "nobody aboard at all": "nobody is aboard within the forecast",
    "drying unknown": "when the film would be dry is not known",
    "doubts together": "each limit alone holds, but in too many members of the forecast one breaks",
    "no further coat": "the sheet allows no further coat on the one below",
    "recoat unknown": "when the next coat may go on is not known yet",
    "recoat gap not sure": "on the safe side the recoat interval closes before it opens",
    "hot coat while tacky": "the sheet gives no end for a hot coat: only while the coat below is "
    "still tacky",
}


@spoken_of(*_PLAIN)
def _plain(f: Finding, w: Wording) -> str:
    return _PLAIN[f.kind]


@spoken_of("limit margin")
def _limit_margin(f: Finding, w: Wording) -> str:
    return margin_text(f, w)


@spoken_of("start then")
def _start_then(f: Finding, w: Wording) -> Said:
    text = f"yes, {w.when(f.time('at'))} is good; last start {w.when(f.time('last_start'))}"
    chance = f.maybe("chance")
    return Said(text if chance is None else f"{text}, {w.chance(chance)}")


@spoken_of("work then")
def _work_then(f: Finding, w: Wording) -> str:
    at, until = f.time("at"), f.time("until")
    same = w.local(at).date() == w.local(until).date()
    return f"yes, {w.when(at)} is good, until {w.clock(until) if same else w.when(until)}"


@spoken_of("no start then")
def _no_start_then(f: Finding, w: Wording) -> Said:
    begins, when = f.moment("begins"), w.when(f.time("at"))
    holds = [each for each in f.because if each.kind != "window once wiped"]
    then = [full(each, w) for each in f.because if each.kind == "window once wiped"]
    if begins is not None:
        then.append(f"next start {w.when(begins)}")
    ahead = "; else ".join(then) or "no window in the forecast"
    return Said(
        f"not {when}: {listed(holds, w, most=2)}; {ahead}",
        f"not {when}: {'; '.join(full(each, w) for each in holds)}; {ahead}",
    )


@spoken_of("aboard until", "daylight until")
def _there_until(f: Finding, w: Wording) -> str:
    until = f.moment("until")
    what = "someone is aboard" if f.kind == "aboard until" else "there is daylight"
    return what if until is None else f"{what} until {w.clock(until)}"


@spoken_of("over by then")
def _over_by_then(f: Finding, w: Wording) -> str:
    return f"over by then: {short(f.because[0], w)}"


@spoken_of("recoat interval")
def _recoat_interval(f: Finding, w: Wording) -> str:
    until = f.moment("until")
    if until is None:
        return "the coat below may be recoated"
    if f.text("state") == "over":
        sand = "; sand first" if f.text("after") == "sand" else ""
        return f"the recoat interval of the coat below ended {w.when(until)}{sand}"
    sand = ", then sand first" if f.text("after") == "sand" else ""
    return f"the coat below may be recoated until {w.when(until)}{sand}"


@spoken_of("aboard")
def _aboard(f: Finding, w: Wording) -> str:
    begins = w.clock(f.time("begins"))
    if "at" in f.about:
        return f"aboard and mixed from {begins}"
    return f"aboard from {begins}"


@spoken_of("daylight")
def _daylight(f: Finding, w: Wording) -> str:
    return f"daylight from {w.clock(f.time('begins'))}"


@spoken_of("nobody aboard")
def _nobody(f: Finding, w: Wording) -> str:
    begins = f.moment("begins")
    return "nobody aboard" if begins is None else f"nobody aboard after {w.clock(begins)}"


@spoken_of("dark")
def _dark(f: Finding, w: Wording) -> str:
    begins = f.moment("begins")
    return "it is dark" if begins is None else f"it is dark after {w.clock(begins)}"


@spoken_of("hours too short")
def _hours_short(f: Finding, w: Wording) -> str:
    return f"time too short: aboard until {w.clock(f.time('until'))} only"


@spoken_of("daylight too short")
def _light_short(f: Finding, w: Wording) -> str:
    return f"time too short: light until {w.clock(f.time('until'))} only"


@spoken_of("not before")
def _not_before(f: Finding, w: Wording) -> str:
    return f"not before {w.when(f.time('at'))}"


@spoken_of("too late")
def _too_late(f: Finding, w: Wording) -> str:
    return f"too late: {short(f.because[0], w)}" if f.because else "too late"


@spoken_of("aired")
def _aired(f: Finding, w: Wording) -> Said:
    return _with_lead("vents open for the vapour", f, w)


@spoken_of("own damp")
def _own_damp(f: Finding, w: Wording) -> Said:
    return _with_lead("damp from the coat itself", f, w)


def _with_lead(lead: str, f: Finding, w: Wording) -> Said:
    at = f.moment("at")
    tail = "" if at is None else f" from {w.when(at)}"
    why = f.because[0]
    return Said(f"{lead}: {short(why, w)}{tail}", f"{lead}: {full(why, w)}{tail}")


@spoken_of("space unread")
def _unread(f: Finding, w: Wording) -> Said:
    text = f"nothing is known of the {f.text('space')}: log a reading"
    return Said(text, act=f"log a reading of the {f.text('space')}")


@spoken_of("sheet lost")
def _lost(f: Finding, w: Wording) -> str:
    return f"the sheet of its last coat, '{f.text('sheet')}', is no longer on the shelf"


@spoken_of("isocyanate where someone sleeps")
def _isocyanate_near_bunks(f: Finding, w: Wording) -> Said:
    bunks = " and ".join(f.texts("spaces"))
    return Said(
        f"isocyanate reaches the {bunks}, where someone sleeps",
        f"isocyanate from a two-part urethane reaches the {bunks}, where someone sleeps: sleep off "
        "the boat until it is hard and aired through, and take slept_in out of boat.toml for so "
        "long",
    )


@spoken_of("remark")
def _remark(f: Finding, w: Wording) -> str:
    return f.text("note")


@spoken_of("sand first")
def _sand_first(f: Finding, w: Wording) -> Said:
    begins = f.moment("begins")
    if begins is None:
        return Said("sand first", "sand first: the recoat interval of the coat below is over")
    text = f"from {w.near(begins)} sand first"
    return Said(text, f"{text}: the recoat interval of the coat below ends then")


@spoken_of("dew point unlimited")
def _no_dew_limit(f: Finding, w: Wording) -> Said:
    text = "the sheet says nothing of the dew point: judged by dew or frost on the surface alone"
    return Said(text, f"{text}; {w.limit(3.0, 'K')} above the dew point is usual (ISO 8502-4)")


@spoken_of("outside table")
def _outside(f: Finding, w: Wording) -> str:
    what = "working times" if f.text("kind_of") == "working" else "times"
    return f"{what} outside the sheet's own table are less certain"


@spoken_of("mix and wait")
def _mix(f: Finding, w: Wording) -> Said:
    wait = span(f.number("hours"))
    return Said(f"mix, wait {wait}", act=f"mix it {wait} before the first stroke")


@spoken_of("batches")
def _batches(f: Finding, w: Wording) -> Said:
    count = round(f.number("count"))
    text = f"work in {count} batches"
    return Said(text, f"{text}: {_lasts(f)} at {w.temp(f.number('temp_c'))}", act=text)


@spoken_of("workable")
def _workable(f: Finding, w: Wording) -> str:
    return _lasts(f)


def _lasts(f: Finding) -> str:
    hours, batch = span(f.number("hours")), f.maybe("value")
    if f.text("state") == "open":
        return f"the open time is {hours}"
    of = "" if batch is None else f" of {batch:g} kg"
    return f"a mixed batch{of} can be worked for {hours}"


@spoken_of("goes off in the pot")
def _goes_off(f: Finding, w: Wording) -> str:
    return f"at {w.temp(f.number('temp_c'))} the mix goes off in the pot before it may be put on"


@spoken_of("clamp")
def _clamp(f: Finding, w: Wording) -> str:
    return f"keep the joint clamped until {w.when(f.time('until'))}"
