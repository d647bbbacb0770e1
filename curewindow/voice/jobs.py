"""The verdict on a job and what it waits for, in the trade's words."""

from __future__ import annotations

from datetime import datetime

from curewindow.findings import Finding
from curewindow.rules.chance import worth_saying
from curewindow.voice.speaking import Said, full, in_full, listed, short, spoken_of
from curewindow.wording import Wording, span


def chance_text(f: Finding, w: Wording) -> str:
    """', 6 in 10'; '' where it is so sure that it goes without saying."""
    chance = f.maybe("chance")
    return "" if chance is None or not worth_saying(chance) else f", {w.chance(chance)}"


@spoken_of("start today")
def _start_today(f: Finding, w: Wording) -> Said:
    begins = f.moment("begins")
    opens = "now" if begins is None else f"from {w.near(begins)}"
    parts = [
        f"{opens} until {w.clock(f.time('until'))}, last start {w.clock(f.time('last_start'))}"
    ]
    best = f.moment("at")
    if best is not None:
        parts.append(f"best start {w.clock(best)}")
    chance = f.maybe("chance")
    if chance is not None and worth_saying(chance):
        parts.append(w.chance(chance))
    parts += [short(each, w) for each in f.because]
    return Said("; ".join(parts))


@spoken_of("hands on today")
def _hands_today(f: Finding, w: Wording) -> str:
    begins = f.moment("begins")
    opens = "now" if begins is None else f"from {w.near(begins)}"
    return f"{opens} until {w.clock(f.time('until'))}"


@spoken_of("window ahead")
def _window_ahead(f: Finding, w: Wording) -> str:
    return f"{_range(f, w)}{chance_text(f, w)}"


@spoken_of("window once wiped")
def _once_wiped(f: Finding, w: Wording) -> Said:
    return Said(f"once wiped dry and logged: {_range(f, w)}{chance_text(f, w)}")


def _range(f: Finding, w: Wording) -> str:
    return w.from_to(f.time("begins"), f.time("until"))


_AHEAD = (
    "window ahead",
    "window once wiped",
    "first done to it",
    "test patch first",
    "no times for pair",
)
_A_DAY_H = 24.0


@spoken_of("waits")
def _waits(f: Finding, w: Wording) -> Said:
    holds = [each for each in f.because if each.kind not in _AHEAD]
    ahead = [short(each, w) for each in f.because if each.kind in _AHEAD]
    why = in_full(holds, w)
    if not ahead:
        return Said(listed(holds, w), why)
    return Said("; ".join(ahead), "; ".join([*ahead, *([f"until then {why}"] if why else [])]))


@spoken_of("no window")
def _no_window(f: Finding, w: Wording) -> Said:
    ends = f"no window in the forecast (ends {w.day(f.time('until'))})"
    why = "; ".join(full(each, w) for each in f.because) or "nobody aboard"
    return Said(listed(f.because, w) or "nobody aboard", f"{ends}: {why}")


@spoken_of("refused")
def _refused(f: Finding, w: Wording) -> Said:
    return Said(
        "not like this: " + "; ".join(short(each, w) for each in f.because),
        "not like this: " + "; ".join(full(each, w) for each in f.because),
    )


@spoken_of("done")
def _done(f: Finding, w: Wording) -> str:
    return "done"


def _until(at: datetime | None, w: Wording, lead: str = "until") -> str:
    return "" if at is None else f" {lead} {w.when(at)}"


@spoken_of("after job")
def _after_job(f: Finding, w: Wording) -> Said:
    other = f.text("other_job")
    return Said(f"after {other}", f"'{other}' comes first")


@spoken_of("cure before covering")
def _cure_first(f: Finding, w: Wording) -> Said:
    other, until = f.text("other_job"), _until(f.moment("until"), w)
    then = f"'{other}' cures{until}, then it may be covered"
    if f.text("state") == "not logged":
        log = w.by_command("'curewindow log coat'", "log it")
        return Said(
            f"{other}: last coat not logged",
            f"the last coat of '{other}' is not in the record: {log} with the time it was put on",
        )
    return Said(
        f"{other} cures{until}", then if until else f"'{other}' has to cure before it is covered"
    )


@spoken_of("touch dry first")
def _touch_dry_first(f: Finding, w: Wording) -> str:
    until = f.moment("until")
    when = "has to be touch dry" if until is None else f"is touch dry from {w.when(until)}"
    return f"'{f.text('other_job')}' {when}"


@spoken_of("delivery awaited")
def _delivery(f: Finding, w: Wording) -> Said:
    thing, state = f.text("thing"), f.text("state")
    if state == "no date":
        return Said(f"{thing} to arrive", f"{thing} to arrive, no latest date given")
    if state:
        due = f"due {w.day(w.now)}" if state == "due today" else state
        return Said(f"{thing} {due}", f"{thing} {due}: once delivered, write arrived = true")
    return Said(f"{thing} due{_until(f.moment('until'), w, 'by')}")


@spoken_of("recoat not yet")
def _recoat_not_yet(f: Finding, w: Wording) -> str:
    return f"the coat below is not ready{_until(f.moment('until'), w)}"


_TOO_SOFT = {
    "sand": "to sand",
    "coat": "to coat over",
    "bond": "to bond on",
    "seal": "to seal over",
    "fit": "to fit anything to",
}


@spoken_of("last coat soft")
def _soft(f: Finding, w: Wording) -> Said:
    what = _TOO_SOFT.get(f.text("do"), "to work on")
    text = f"the last coat is too soft {what}{_until(f.moment('until'), w)}"
    return Said(text, "; ".join([text, *(full(each, w) for each in f.because)]))


@spoken_of("vapour of another coat")
def _two_vapours(f: Finding, w: Wording) -> Said:
    job, until = f.text("other_job"), f.moment("until")
    over = "" if until is None else f" ({w.when(until)})"
    return Said(
        f"vapour of '{job}' first{over}",
        f"the vapour of both this and '{job}' wants {f.number('flow_m3_h'):.0f} m³/h of outside "
        f"air, more than any fan makes: wait until '{job}' is touch dry{over}",
    )


@spoken_of("dust on wet coat")
def _dust(f: Finding, w: Wording) -> str:
    until = f.moment("until")
    wet = "" if until is None else f", wet until {w.when(until)}"
    return f"dust would settle in '{f.text('other_job')}'{wet}"


@spoken_of("sheet to put back")
def _put_back(f: Finding, w: Wording) -> Said:
    sheet = f.text("sheet")
    other = w.by_command(", or name another with 'curewindow log correct --sheet'")
    return Said(
        f"sheet '{sheet}' is missing",
        f"the sheet of its last coat, '{sheet}', is missing: put it back into 'sheets'{other}. "
        "Till then nobody can tell whether its vapour burns or harms",
    )


@spoken_of("times with vents open")
def _with_vents_open(f: Finding, w: Wording) -> Said:
    usual = "" if f.flag("known") else " (a usual figure: sheet or job lack one)"
    space, flow = f.text("space"), f"{f.number('flow_m3_h'):.0f} m³/h"
    return Said(
        f"times and limits hold with {flow} through the {space}, and with it shut",
        f"times and limits hold with {flow} of outside air{usual} through the {space} until the "
        "film is touch dry, and with the space shut",
    )


@spoken_of("times with space shut")
def _with_space_shut(f: Finding, w: Wording) -> Said:
    text = f"times and limits hold for the {f.text('space')} shut"
    return Said(
        text,
        f"{text}: with the vents open for the vapour the air is nearer to that outside until the "
        "film is dry; read the surface again once they are open",
    )


@spoken_of("own water counted")
def _own_water(f: Finding, w: Wording) -> str:
    return "the water the coat itself gives off is counted"


_FETCHED = {"home": "aboard", "deck": "in from the deck"}


@spoken_of("bring tin in")
def _bring_in(f: Finding, w: Wording) -> Said:
    at, space = w.near(f.time("at")), f.text("space")
    where = _FETCHED.get(f.text("state"), f"over from the {space}" if space else "in")
    text = f"bring the tin {where} by {at}"
    return Said(text, f"{text}: it warms up with the air there until the start", act=text)


@spoken_of("carry tin warm")
def _carry_warm(f: Finding, w: Wording) -> Said:
    hours, warm = f.maybe("hours"), w.temp(f.number("temp_c"))
    if f.flag("known"):
        text = "carry the tin aboard warm"
        lasts = "" if hours is None else f", warm enough for {span(min(hours, _A_DAY_H))}"
        return Said(text, f"{text}, right before the start: taken as {warm}{lasts}", act=text)
    text = "keep the tin at home and carry it warm"
    write = w.by_command('; then tins_kept = "home" in boat.toml', "")
    return Said(text, f"{text} ({warm}) right before the start{write}", act=text)


@spoken_of("wipe and log")
def _wipe(f: Finding, w: Wording) -> Said:
    job = f.text("job")
    named = f'"{job}"' if " " in job else job
    log = w.by_command(f"`curewindow log dry {named}`", "log that")
    text = f"wipe the surface dry and air it, then {log}"
    return Said("wipe the surface dry", f"water lies on the surface, or will: {text}", act=text)


@spoken_of("hands-on time assumed")
def _hands_on(f: Finding, w: Wording) -> str:
    area = f.maybe("area_m2")
    basis = f"for {area:g} m²" if area is not None else "as neither area nor hands_on is given"
    return (
        f"{span(f.number('hours'))} hands-on is assumed {basis}: give the step its own hands_on "
        "or rate"
    )


@spoken_of("steps not logged")
def _not_logged(f: Finding, w: Wording) -> str:
    which = ", ".join(f.texts("names"))
    return f"not logged as done: step {which}; a later step is, so they count as done"


@spoken_of("steps renumbered")
def _renumbered(f: Finding, w: Wording) -> str:
    if "do" not in f.about:
        there = "no such step"
    else:
        there = f"{f.text('thing') or repr(f.text('do'))} there"
    return (
        f"the record has {f.text('sheet')} in step {round(f.number('count'))}, work.toml has "
        f"{there}: see that the steps still have their numbers"
    )


@spoken_of("step before not possible")
def _step_before(f: Finding, w: Wording) -> str:
    return "the step before it is not possible now"


@spoken_of("plan out of date")
def _out_of_date(f: Finding, w: Wording) -> str:
    other, at = f.text("other_job"), f.moment("at")
    if f.text("state") == "done otherwise" and other:
        return f"'{other}' was done otherwise than planned"
    if f.text("state") == "spoilt" and other:
        return f"a coat of '{other}' was found spoilt since the plan was made"
    if f.text("state") == "weather" and at is not None:
        return f"the plan was made {w.when(at)}, for the weather known then"
    return "work.toml, boat.toml or a sheet was changed since the plan was made"


@spoken_of("waits in plan")
def _waits_in_plan(f: Finding, w: Wording) -> str:
    return f"waits for {short(f.because[0], w)} until {w.when(f.time('until'))}"


@spoken_of("last start")
def _last_start(f: Finding, w: Wording) -> str:
    return f"last start {w.when(f.time('last_start'))}"


@spoken_of("one pair of hands")
def _one_pair(f: Finding, w: Wording) -> Said:
    return Said(
        "each job is judged by itself",
        "each job is judged by itself: two that may go on may not fit one pair of hands",
    )


@spoken_of("no jobs")
def _no_jobs(f: Finding, w: Wording) -> str:
    form = w.by_command("; 'curewindow schema work' gives its form")
    return f"no jobs yet: put them into work.toml{form}"
